"""Parts known not to do their job that are still fitted."""

from __future__ import annotations

from datetime import date
from typing import Any

import sqlalchemy as sa

from maintain.records import evidence, places, ship_layout
from maintain.records import tables as t
from maintain.vocabulary import DEMAND_TEST

Row = sa.Row[Any]

_NO_FAULT_OF_THE_PART = "operator"
_CHECK = "pre-battle check"


def failed_aboard(connection: sa.Connection, today: date) -> list[Row]:
    """
    Parts of ships in commission found failed where they are fitted, and shown by nothing to work since.

    Whatever the mode but an operator's mistake: a failure is a part that ceased to do its job. Sailing shows nothing: a
    gun may hang dead all season. A part taken out and put back counts as mended.

    Returns
    -------
    list of row
        One a part, as last found: `part_id`, `tag`, `position_id`, `position`, `system`, `ship`, `found_on`, `mode`
        (None where nobody logged a failure) and `topic`, of what it failed at a check (None elsewhere).
    """
    found, placed = _found().subquery(), t.placement.c
    query: sa.Select[Any] = (
        sa.select(
            placed.part_id,
            t.part.c.tag,
            placed.position_id,
            t.position.c.name.label("position"),
            t.position.c.system,
            t.ship.c.name.label("ship"),
            found.c.found_on,
            found.c.mode,
            found.c.topic,
            found.c.uid,
        )
        .join(t.placement, placed.id == found.c.placement_id)
        .join(t.part, t.part.c.id == placed.part_id)
        .join(t.position, t.position.c.id == placed.position_id)
        .join(t.ship, sa.and_(t.ship.c.id == t.position.c.ship_id, ship_layout.sailing_on(today)))
        .where(found.c.found_on <= today, places.held_on(today))
        .order_by(found.c.found_on, found.c.mode.is_not(None), found.c.id)
    )
    last = {row.part_id: row for row in connection.execute(query)}
    still = (row for row in last.values() if not _works_again(connection, row, today))
    return sorted(still, key=lambda row: (row.ship.lower(), row.position))


def _found() -> sa.CompoundSelect[Any]:
    """Failures, demand tests and steps of checks not passed, each with the stay of the part it tells of."""
    failure, reading, placed = t.failure.c, t.reading.c, t.placement.c
    before = sa.tuple_(placed.from_on, placed.from_sortie) <= sa.tuple_(failure.found_on, failure.found_sortie)
    of_it = sa.and_(placed.part_id == failure.part_id, placed.position_id == failure.position_id, before)
    logged = (
        sa.select(
            failure.id,
            failure.uid,
            failure.found_on,
            failure.mode,
            sa.null().label("topic"),
            placed.id.label("placement_id"),
        )
        .select_from(t.failure.join(t.placement, of_it))
        .where(failure.mode != _NO_FAULT_OF_THE_PART)
    )
    here = sa.and_(reading.part_id == placed.part_id, sa.func.coalesce(reading.position_id == placed.position_id, True))
    of_nobody_knows_which = sa.and_(reading.part_id.is_(None), reading.position_id == placed.position_id)
    return sa.union_all(logged, _tried(here), _tried(of_nobody_knows_which), _checked())


def _tried(there: sa.ColumnElement[bool]) -> sa.Select[Any]:
    reading, placed = t.reading.c, t.placement.c
    return (
        sa.select(reading.id, reading.uid, reading.taken_on, sa.null(), sa.null(), placed.id)
        .select_from(t.reading.join(t.placement, sa.and_(there, placed.from_on <= reading.taken_on)))
        .where(reading.measure == DEMAND_TEST, reading.value == 0)
    )


def _checked() -> sa.Select[Any]:
    """Steps of checks that failed, with what was in the position when they were answered."""
    answer, step, placed = t.check_answer.c, t.check_step.c, t.placement.c
    answered_on = sa.func.date(sa.func.substr(answer.answered_at, 1, 10), type_=sa.Date)
    that_day = sa.and_(placed.from_on == answered_on, _written(placed.uid) < _written(answer.uid))
    there = sa.and_(placed.position_id == answer.position_id, sa.or_(placed.from_on < answered_on, that_day))
    asked = sa.and_(step.prebattle_check_id == answer.prebattle_check_id, step.step == answer.step)
    topic = sa.func.coalesce(step.topic, answer.question)
    return (
        sa.select(answer.id, answer.uid, answered_on, sa.null(), topic, placed.id)
        .select_from(t.check_answer.join(t.placement, there).outerjoin(t.check_step, asked))
        .where(answer.answer == "fail")
    )


def _written(uid: sa.ColumnElement[str]) -> sa.ScalarSelect[int]:
    """When a row was first written down, or an answer last given, as its place in the journal."""
    line = t.change_row.c
    given = sa.or_(line.action == "insert", line.table_name == t.check_answer.name)
    return sa.select(sa.func.coalesce(sa.func.max(line.id), 0)).where(line.row_uid == uid, given).scalar_subquery()


def _works_again(connection: sa.Connection, row: Row, today: date) -> bool:
    """Whether something of a later day shows it, or a test passed that was written down later on the same day."""
    if evidence.worked_between(connection, row.part_id, row.position_id, (row.found_on, today)):
        return True
    reading, line = t.reading.c, t.change_row.c
    passed = sa.select(reading.uid).where(
        reading.part_id == row.part_id,
        reading.taken_on == row.found_on,
        reading.measure == DEMAND_TEST,
        reading.value == 1,
    )
    if row.topic is not None:  # another step that the same check passed says less of it than its own
        passed = passed.where(sa.func.coalesce(reading.note, "") != _CHECK)
    written = _written(sa.literal(row.uid))
    query = sa.select(line.id).where(line.row_uid.in_(passed), line.action == "insert", line.id > written)
    return connection.execute(query.limit(1)).first() is not None
