"""What shows that a part worked on a day: tests it passed, alone, in a check, after a doubt or in a roll call."""

from __future__ import annotations

from datetime import date
from typing import Any

import sqlalchemy as sa

from maintain.records import tables as t
from maintain.records.usual_limits import LIMITS, FirstShare
from maintain.vocabulary import DEMAND_TEST, SHOWN_BY, SITUATED

NONE = -1  # stands for a missing id, so that columns of ids are whole numbers throughout


def seen_working() -> sa.CompoundSelect[tuple[int, int, date]]:
    """
    Return the query of all of it: `part_id`, `position_id`, `seen_on`.

    One of the two ids may be NONE: a check asks after a position, whatever part is in it.
    """
    nothing = sa.literal(NONE)
    retests = (
        sa.select(t.suspicion.c.part_id, nothing.label("position_id"), t.retest.c.tested_on)
        .select_from(t.retest)
        .join(t.suspicion)
        .where(t.retest.c.result == "pass")
    )
    return sa.union_all(_tried(), _measured(), _checked(), retests, _called())


def _tried() -> sa.Select[tuple[int, int, date]]:
    """Tests passed by demand."""
    reading = t.reading.c
    return sa.select(_id(reading.part_id), _id(reading.position_id), reading.taken_on.label("seen_on")).where(
        reading.measure == DEMAND_TEST, reading.value == 1
    )


def _measured() -> sa.Select[tuple[int, int, date]]:
    """Figures of parts that such a figure can show to work, within their limit, and of no check that was not passed."""
    reading = t.reading.c
    given = sa.select(t.check_answer.c.id).where(
        t.check_answer.c.reading_id == reading.id, t.check_answer.c.answer != "pass"
    )
    fits = sa.or_(
        *(sa.and_(reading.measure == measure, t.family.c.category.in_(shown)) for measure, shown in SHOWN_BY.items())
    )
    return (
        sa.select(_id(reading.part_id), _id(reading.position_id), reading.taken_on)
        .select_from(_limited(t.reading))
        .where(fits, _within(), ~given.exists())
    )


def _checked() -> sa.Select[tuple[int, int, date]]:
    """Steps of checks that were passed, unless with a figure beyond its limit."""
    answer = t.check_answer.c
    return (
        sa.select(sa.literal(NONE).label("part_id"), _id(answer.position_id), t.prebattle_check.c.begun_on)
        .select_from(
            _limited(t.check_answer.join(t.prebattle_check).outerjoin(t.reading, t.reading.c.id == answer.reading_id))
        )
        .where(answer.answer == "pass", answer.position_id.is_not(None))
        .where(sa.func.coalesce(_within(), sa.true()))
    )


_OF_FAMILY, _OF_CATEGORY, _OF_ALL = (
    t.reading_limit.alias(f"limit_of_{each}") for each in ("family", "category", "all")
)


def _limited(readings: sa.FromClause) -> sa.Join:
    """Readings with the family of their part, and what the club holds such figures against, the closest first."""
    family, category, everywhere = _OF_FAMILY.c, _OF_CATEGORY.c, _OF_ALL.c
    measure = t.reading.c.measure
    return (
        readings.outerjoin(t.part, t.part.c.id == t.reading.c.part_id)
        .outerjoin(t.family, t.family.c.id == t.part.c.family_id)
        .outerjoin(_OF_FAMILY, sa.and_(family.measure == measure, family.family_id == t.family.c.id))
        .outerjoin(_OF_CATEGORY, sa.and_(category.measure == measure, category.category == t.family.c.category))
        .outerjoin(
            _OF_ALL,
            sa.and_(everywhere.measure == measure, everywhere.family_id.is_(None), everywhere.category.is_(None)),
        )
    )


def _within() -> sa.ColumnElement[bool]:
    """Whether a figure keeps the closest limit there is, common practice last; NULL where there is none."""
    usual = LIMITS.items()
    shares = {measure: each.percent for measure, each in usual if isinstance(each, FirstShare)}
    values = {measure: each.percent if isinstance(each, FirstShare) else each.value for measure, each in usual}
    bound = _closest("bound", {measure: each.bound for measure, each in usual})
    value = _closest("value", values)
    of_first = _closest("percent_of_first", dict.fromkeys(values, sa.false()) | dict.fromkeys(shares, sa.true()))
    limit = sa.case((of_first, value / 100 * _first()), else_=value)
    figure = t.reading.c.value
    return sa.case((bound == "at most", figure <= limit), (bound == "at least", figure >= limit))


def _closest(column: str, usual: dict[str, Any]) -> sa.ColumnElement[Any]:
    """A column of the closest limit."""
    own = (each.c[column] for each in (_OF_FAMILY, _OF_CATEGORY, _OF_ALL))
    return sa.func.coalesce(*own, sa.case(usual, value=t.reading.c.measure))


def _first() -> sa.ScalarSelect[float]:
    """The first figure of the same part; of what depends on where it sits, in the same position."""
    reading, first = t.reading.c, t.reading.alias("first_reading").c
    same = (first.part_id == reading.part_id, first.measure == reading.measure)
    here = sa.or_(reading.measure.not_in(SITUATED), first.position_id == reading.position_id)
    query = sa.select(first.value).where(*same, here).order_by(first.taken_on, first.id).limit(1)
    return query.correlate(t.reading).scalar_subquery()


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
