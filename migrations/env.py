"""Runs migrations on the connection it is handed, or, for developers, on the database named by MAINTAIN_DB."""

from __future__ import annotations

import os

import sqlalchemy as sa
from alembic import context

from maintain.records.tables import metadata


def _run(connection: sa.Connection) -> None:
    context.configure(connection=connection, target_metadata=metadata, transactional_ddl=True, render_as_batch=True)
    with context.begin_transaction():
        context.run_migrations()


given = context.config.attributes.get("connection")
if given is not None:
    _run(given)
else:
    from maintain.records.engine import make_engine

    with make_engine(os.environ["MAINTAIN_DB"]).connect() as fresh:
        _run(fresh)
        fresh.commit()
