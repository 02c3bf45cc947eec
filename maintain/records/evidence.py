"""What shows that a part worked on a day: readings, passed checks and retests, and the answer of a roll call."""

from __future__ import annotations

from datetime import date

import sqlalchemy as sa

from maintain.records import tables as t
from maintain.vocabulary import DEMAND_TEST

NONE = -1  # stands for a missing id, so that columns of ids are whole numbers throughout


def seen_working() -> sa.CompoundSelect[tuple[int, int, date]]:
    """
    Return the query of all of it: `part_id`, `position_id`, `seen_on`.

    One of the two ids may be NONE: a check asks after a position, whatever part is in it.
    """
    nothing = sa.literal(NONE)
    readings = sa.select(
        _id(t.reading.c.part_id), _id(t.reading.c.position_id), t.reading.c.taken_on.label("seen_on")
    ).where(sa.or_(t.reading.c.measure != DEMAND_TEST, t.reading.c.value > 0))
    answers = (
        sa.select(nothing.label("part_id"), _id(t.check_answer.c.position_id), t.prebattle_check.c.begun_on)
        .join(t.prebattle_check)
        .where(t.check_answer.c.answer == "pass", t.check_answer.c.position_id.is_not(None))
    )
    retests = (
        sa.select(t.suspicion.c.part_id, nothing.label("position_id"), t.retest.c.tested_on)
        .select_from(t.retest)
        .join(t.suspicion)
        .where(t.retest.c.result == "pass")
    )
    return sa.union_all(readings, answers, retests, _called())


def _called() -> sa.Select[tuple[int, int, date]]:
    """Answers of roll calls that no reading repeats, as those from another file, on the first day of the call."""
    answer = t.roll_call_answer.c
    return (
        sa.select(_id(answer.part_id), _id(answer.position_id), t.roll_call.c.begun_on)
        .join(t.roll_call)
        .where(answer.answer == "works", answer.reading_id.is_(None))
    )


def worked_between(connection: sa.Connection, part_id: int, position_id: int | None, days: tuple[date, date]) -> bool:
    """Whether anything shows that a part, in the position it kept meanwhile, worked after one day and by another."""
    seen = seen_working().subquery()
    meant = sa.or_(seen.c.part_id == part_id, sa.and_(seen.c.part_id == NONE, seen.c.position_id == position_id))
    first, last = days
    query = sa.select(seen.c.seen_on).where(meant, seen.c.seen_on > first, seen.c.seen_on <= last)
    return connection.execute(query.limit(1)).first() is not None


def _id(column: sa.Column[int]) -> sa.Label[int]:
    return sa.func.coalesce(column, NONE).label(column.name)
