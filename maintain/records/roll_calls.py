"""Queries on roll calls: which were held, and what was found at each position."""

from __future__ import annotations

from datetime import date
from typing import Any

import sqlalchemy as sa

from maintain.records import tables as t

Row = sa.Row[Any]


def latest(connection: sa.Connection, first: date, last: date) -> dict[int, Row]:
    """The last roll call of each ship begun from one day to another, by the ship's id."""
    call = t.roll_call.c
    query = sa.select(t.roll_call).where(call.begun_on.between(first, last)).order_by(call.begun_on)
    return {row.ship_id: row for row in connection.execute(query)}


def answers(connection: sa.Connection, roll_call_id: int) -> dict[int, Row]:
    """Answers of a roll call by position, with the tag of the part that was there and who answered."""
    answer = t.roll_call_answer
    query = (
        sa.select(answer, t.part.c.tag, t.member.c.name.label("by"))
        .outerjoin(t.part, t.part.c.id == answer.c.part_id)
        .outerjoin(t.member, t.member.c.id == answer.c.by_id)
        .where(answer.c.roll_call_id == roll_call_id)
    )
    return {row.position_id: row for row in connection.execute(query)}


def ever(connection: sa.Connection, last: date) -> dict[int, date]:
    """When each ship was last called up to a day, by her id."""
    call = t.roll_call.c
    query = sa.select(call.ship_id, sa.func.max(call.begun_on).label("on")).where(call.begun_on <= last)
    return {row.ship_id: row.on for row in connection.execute(query.group_by(call.ship_id))}
