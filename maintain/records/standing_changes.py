"""Queries on changes that still stand: neither undone nor themselves an undoing."""

from __future__ import annotations

from typing import Any

import sqlalchemy as sa

from maintain.records import tables as t

Row = sa.Row[Any]


def last_change(connection: sa.Connection, table: str, uids: list[str]) -> Row | None:
    """The last change that still stands and wrote one of these rows."""
    query = sa.select(t.change).where(_stands(), t.change.c.id.in_(_wrote(table, uids)))
    return connection.execute(query.order_by(t.change.c.id.desc()).limit(1)).one_or_none()


def built_upon(connection: sa.Connection, change_id: int) -> bool:
    """Whether a later change that still stands touched a row of this one."""
    row, later = t.change_row.c, t.change_row.alias()
    mine = sa.select(row.row_uid).where(row.change_id == change_id)
    touched = sa.select(later.c.change_id).where(later.c.change_id > change_id, later.c.row_uid.in_(mine))
    query = sa.select(sa.func.count()).where(_stands(), t.change.c.id.in_(touched))
    return connection.execute(query).scalar_one() > 0


def _wrote(table: str, uids: list[str]) -> sa.Select[Any]:
    row = t.change_row.c
    return sa.select(row.change_id).where(row.table_name == table, row.row_uid.in_(uids))


def _stands() -> sa.ColumnElement[bool]:
    undoing = t.change.alias()
    undone = sa.select(undoing.c.id).where(undoing.c.undoes_id == t.change.c.id).exists()
    return sa.and_(t.change.c.undoes_id.is_(None), ~undone)
