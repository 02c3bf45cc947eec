"""Queries on checks before a battle: which battle, what was asked and answered, what was promised."""

from __future__ import annotations

from datetime import date
from typing import Any

import sqlalchemy as sa

from maintain.records import tables as t
from maintain.records.ship_layout import as_fitted
from maintain.vocabulary import DEMAND_TEST

Row = sa.Row[Any]

DUE = "Due "  # begins the question under which an answer of what is due is kept
PROMISE = "promise at the pre-battle check"  # the source of a task that began as one


def next_battle(connection: sa.Connection, today: date) -> Row | None:
    """The battle that is on, or else the next one; called-off ones don't count."""
    battle = t.battle.c
    query = sa.select(t.battle).where(battle.state != "called off", battle.until_on >= today)
    return connection.execute(query.order_by(battle.from_on, battle.id).limit(1)).one_or_none()


def battle_after(connection: sa.Connection, last_day: date) -> Row | None:
    """The first battle that begins after a day, as far as it is planned."""
    battle = t.battle.c
    query = sa.select(t.battle).where(battle.state != "called off", battle.from_on > last_day)
    return connection.execute(query.order_by(battle.from_on, battle.id).limit(1)).one_or_none()


def places(connection: sa.Connection, ship_id: int) -> list[Row]:
    """Positions of a ship with the part in each, what kind of part it is or would be, and whether its failing hides."""
    query = (
        sa.select(
            t.position.c.id,
            t.position.c.name,
            t.position.c.system,
            t.position.c.zone,
            t.position.c.dependence,
            t.position.c.bank,
            t.position.c.bank_needs,
            t.part.c.id.label("part_id"),
            t.part.c.tag,
            t.family.c.category,
            t.family.c.hidden,
        )
        .select_from(as_fitted())
        .where(t.position.c.ship_id == ship_id)
        .order_by(t.position.c.name)
    )
    return list(connection.execute(query))


def fitting(connection: sa.Connection, ship_id: int) -> list[Row]:
    """Categories of the families that fit each position of a ship, and whether their failing hides."""
    query = (
        sa.select(t.position_family.c.position_id, t.family.c.category, t.family.c.hidden)
        .join(t.position, t.position.c.id == t.position_family.c.position_id)
        .join(t.family, t.family.c.id == t.position_family.c.family_id)
        .where(t.position.c.ship_id == ship_id)
        .order_by(t.position_family.c.id)
    )
    return list(connection.execute(query))


def of_battle(connection: sa.Connection, battle_id: int) -> dict[int, Row]:
    """The check of each ship before a battle, by the ship's id."""
    query = sa.select(t.prebattle_check).where(t.prebattle_check.c.battle_id == battle_id)
    return {row.ship_id: row for row in connection.execute(query)}


def questions(connection: sa.Connection, check_id: int) -> list[Row]:
    """The steps a check was begun with, and those answered from elsewhere, in order; `topic` is None of the latter."""
    step, answer = t.check_step, t.check_answer
    begun = sa.select(step.c.step, step.c.topic, step.c.question, step.c.position_id).where(
        step.c.prebattle_check_id == check_id
    )
    known = sa.select(step.c.step).where(step.c.prebattle_check_id == check_id)
    others = sa.select(
        answer.c.step, sa.null().cast(sa.String).label("topic"), answer.c.question, answer.c.position_id
    ).where(answer.c.prebattle_check_id == check_id, answer.c.step.not_in(known))
    both = sa.union_all(begun, others).subquery()
    query = (
        sa.select(both, t.position.c.name.label("position"))
        .outerjoin(t.position, t.position.c.id == both.c.position_id)
        .order_by(both.c.step)
    )
    return list(connection.execute(query))


def answers(connection: sa.Connection, check_id: int) -> dict[int, Row]:
    """Answers of a check by step, with the figure, who answered and the promise."""
    query = (
        sa.select(
            t.check_answer,
            t.reading.c.value.label("figure"),
            t.member.c.name.label("by"),
            t.task.c.title.label("promise"),
            t.task.c.due_on.label("promise_due_on"),
            t.task.c.closed_on.label("promise_closed_on"),
        )
        .outerjoin(t.reading, t.reading.c.id == t.check_answer.c.reading_id)
        .outerjoin(t.member, t.member.c.id == t.check_answer.c.by_id)
        .outerjoin(t.task, t.task.c.id == t.check_answer.c.task_id)
        .where(t.check_answer.c.prebattle_check_id == check_id)
    )
    return {row.step: row for row in connection.execute(query)}


def witnessed(connection: sa.Connection, position_ids: set[int], answered_at: str, note: str) -> list[int]:
    """Readings that a passed answer wrote of positions beside its own, on the day it was given."""
    reading = t.reading.c
    written = (
        reading.measure == DEMAND_TEST,
        reading.note == note,
        reading.taken_on == date.fromisoformat(answered_at[:10]),
    )
    return list(
        connection.execute(sa.select(reading.id).where(reading.position_id.in_(position_ids), *written)).scalars()
    )


def promises(connection: sa.Connection, ship_id: int, today: date, but_of: int | None = None) -> list[Row]:
    """Promises of a ship's earlier checks still open on a day, the earliest due first; not those of check `but_of`."""
    given = sa.select(t.check_answer.c.task_id).where(t.check_answer.c.task_id.is_not(None))
    mine = given if but_of is None else given.where(t.check_answer.c.prebattle_check_id == but_of)
    task = t.task.c
    still = sa.or_(task.closed_on.is_(None), task.closed_on > today)
    made = sa.or_(task.id.in_(given), task.source == PROMISE)
    query = sa.select(t.task).where(made, still, task.starts_on <= today, task.clock.is_(None))
    owner = sa.select(t.position.c.ship_id).where(t.position.c.id == task.position_id).scalar_subquery()
    query = query.where(sa.func.coalesce(task.ship_id, owner) == ship_id)
    if but_of is not None:
        query = query.where(task.id.not_in(mine))
    return list(connection.execute(query.order_by(task.due_on, task.id)))


def last_readings(connection: sa.Connection, ship_id: int, today: date) -> dict[tuple[int, str], Row]:
    """The last reading of each position and measure up to a day."""
    query: sa.Select[Any] = (
        sa.select(t.reading.c.position_id, t.reading.c.measure, t.reading.c.value, t.reading.c.taken_on)
        .join(t.position, t.position.c.id == t.reading.c.position_id)
        .where(t.position.c.ship_id == ship_id, t.reading.c.taken_on <= today)
        .order_by(t.reading.c.taken_on, t.reading.c.id)
    )
    found: dict[tuple[int, str], Row] = {}
    for row in connection.execute(query):
        found[row.position_id, row.measure] = row
    return found


def kept_dues(connection: sa.Connection) -> list[Row]:
    """Answers of what is due that are kept, the newest first, whatever became of the records since."""
    kept = t.fitted.c
    query = sa.select(kept.question, kept.payload, kept.made_at).where(kept.question.startswith(DUE, autoescape=True))
    return list(connection.execute(query.order_by(t.fitted.c.made_at.desc())))
