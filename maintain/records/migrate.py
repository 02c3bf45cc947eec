"""Run the packaged migrations; the only module that imports alembic, inside its functions."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import sqlalchemy as sa

import maintain
from maintain.records import engine as dialect

if TYPE_CHECKING:
    from alembic.config import Config


def script_location() -> Path:
    """Folder of the migrations: inside an installed package, beside it in a checkout."""
    package = Path(maintain.__file__).resolve().parent
    for candidate in (package / "_migrations", package.parent / "migrations"):
        if (candidate / "env.py").is_file():
            return candidate
    raise RuntimeError(f"no migrations beside {package}")


def alembic_config() -> Config:
    """Configuration of alembic without a file of its own."""
    from alembic.config import Config

    config = Config()
    config.set_main_option("script_location", str(script_location()).replace("%", "%%"))
    return config


def upgrade(engine: sa.Engine, revision: str = "head") -> None:
    """Bring the schema to `revision`: all of it or nothing."""
    from alembic import command

    _run(engine, command.upgrade, revision)


def downgrade(engine: sa.Engine, revision: str) -> None:
    """Take the schema back to `revision` ("base" for empty)."""
    from alembic import command

    _run(engine, command.downgrade, revision)


def _run(engine: sa.Engine, action: object, revision: str) -> None:
    config = alembic_config()
    with engine.connect() as connection:
        dialect.enforce_foreign_keys(connection, on=False)
        with connection.begin():
            config.attributes["connection"] = connection
            action(config, revision)  # type: ignore[operator]
            broken = dialect.broken_references(connection)
            if broken:
                raise RuntimeError(f"migration to {revision} left rows that refer to nothing in {', '.join(broken)}")
