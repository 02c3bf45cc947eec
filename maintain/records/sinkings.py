"""Queries on what the logs say of sinkings."""

from __future__ import annotations

from typing import Any

import sqlalchemy as sa

from maintain.records import tables as t

Row = sa.Row[Any]


def sorties(connection: sa.Connection, battle_ids: list[int]) -> list[Row]:
    """Sorties of battles, in the order they were sailed."""
    query = sa.select(t.sortie).where(t.sortie.c.battle_id.in_(battle_ids))
    return list(connection.execute(query.order_by(t.sortie.c.sailed_on, t.sortie.c.number, t.sortie.c.id)))
