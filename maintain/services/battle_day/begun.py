"""Which battle and ship a check is of, and its steps: as it was begun, else as her positions would have it today."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Any

import sqlalchemy as sa

from maintain.core.names import quoted
from maintain.errors import InvalidRecord, NotFound
from maintain.records import checks as rows
from maintain.records import find
from maintain.records import tables as t
from maintain.records.journal import Recorder
from maintain.services.battle_day.aboard import Place, aboard
from maintain.services.battle_day.questions import questions
from maintain.vocabulary import being

Row = sa.Row[Any]


@dataclass(frozen=True)
class Step:
    """A question of a check, as it was or would be begun."""

    step: int
    topic: str | None
    question: str
    position_id: int | None
    position: str | None


@dataclass(frozen=True)
class Check:
    """
    A ship before a battle.

    Attributes
    ----------
    row : row of prebattle_check, optional
        None: not begun.
    """

    ship: Row
    battle: Row
    row: Row | None
    places: tuple[Place, ...]
    steps: tuple[Step, ...]


def find_battle(connection: sa.Connection, battle: str | None, today: date) -> Row:
    """
    The battle named, else the one that is on, else the next.

    Raises
    ------
    NotFound
        If there is none.
    """
    if battle is not None:
        return find.battle(connection, battle)
    found = rows.next_battle(connection, today)
    if found is None:
        raise NotFound(
            f"no battle is planned from {today} on", hint="plan one with: maintain battle add NAME --from DATE"
        )
    return found


def look_up(connection: sa.Connection, ship: str, battle: str | None, today: date) -> Check:
    """The check of a ship, begun or not."""
    hull = find.ship(connection, ship)
    fight = find_battle(connection, battle, today)
    return of_ship(connection, hull, fight, rows.of_battle(connection, fight.id).get(hull.id))


def of_ship(connection: sa.Connection, ship: Row, battle: Row, row: Row | None) -> Check:
    """The check of a ship whose row is known."""
    places = aboard(connection, ship.id)
    steps = () if row is None else _as_begun(connection, row.id)
    return Check(ship, battle, row, places, steps or as_of_today(places))


def as_of_today(places: tuple[Place, ...]) -> tuple[Step, ...]:
    """The steps of a check that would begin now."""
    return tuple(
        Step(
            number,
            each.topic.name,
            each.text,
            each.place.id if each.place else None,
            each.place.name if each.place else None,
        )
        for number, each in enumerate(questions(places), start=1)
    )


def _as_begun(connection: sa.Connection, check_id: int) -> tuple[Step, ...]:
    return tuple(
        Step(row.step, row.topic, row.question, row.position_id, row.position)
        for row in rows.questions(connection, check_id)
    )


def begin(recorder: Recorder, ship: str, battle: str | None, today: date) -> Check:
    """
    The check of a ship, begun if it was not: from now on its questions stay.

    Raises
    ------
    InvalidRecord
        If she does not sail, or the battle is called off, over, or the check was begun later than today.
    """
    connection = recorder.connection
    check = look_up(connection, ship, battle, today)
    _require_open(check, today)
    if check.row is None:
        values = {"ship_id": check.ship.id, "battle_id": check.battle.id, "begun_on": today}
        check_id = recorder.insert(t.prebattle_check, **values)
    elif _as_begun(connection, check.row.id):
        return check
    else:
        check_id = check.row.id
    for step in check.steps:
        recorder.insert(
            t.check_step,
            prebattle_check_id=check_id,
            step=step.step,
            topic=step.topic,
            question=step.question,
            position_id=step.position_id,
        )
    return look_up(connection, ship, check.battle.name, today)


def require_sailing(ship: Row) -> None:
    """Refuse a ship that is not in commission."""
    if ship.state != "in commission":
        raise InvalidRecord(
            f"{ship.name} does not sail: she is {being(ship.state)}",
            hint=f"if she does: maintain ship state {quoted(ship.name)} 'in commission'",
        )


def _require_open(check: Check, today: date) -> None:
    require_sailing(check.ship)
    battle = check.battle
    if battle.state == "called off":
        raise InvalidRecord(
            f"{battle.name} was called off",
            hint=f"if it takes place: maintain battle state {quoted(battle.name)} planned",
        )
    if battle.until_on < today:
        raise InvalidRecord(
            f"{battle.name} was over on {battle.until_on}",
            hint="name one to come with --battle, or say which day it is with --on",
        )
    if check.row is not None and today < check.row.begun_on:
        raise InvalidRecord(
            f"this check was begun on {check.row.begun_on}", hint="give that day or a later one with --on"
        )
