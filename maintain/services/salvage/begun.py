"""Which sinking a salvage is of, and its steps: as it was begun, else as it would be begun now."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date, timedelta
from typing import Any

import sqlalchemy as sa

from maintain.core.names import quoted
from maintain.core.wording import count, whose
from maintain.errors import InvalidRecord, NotFound
from maintain.records import find
from maintain.records import salvage as rows
from maintain.records import tables as t
from maintain.records.journal import Recorder
from maintain.services.battle_day.aboard import Place, as_places
from maintain.services.salvage.questions import Question, Sinking, questions

Row = sa.Row[Any]

_NAMED = 5  # days named, the last first
_DRIED_WITHIN = 2  # days after a sinking, up to which retests count from it (common practice, no source)


@dataclass(frozen=True)
class Which:
    """A ship, and which of her sinkings: of a day, and of a sortie of that day; None: the last."""

    ship: str
    day: date | None = None
    number: int | None = None


@dataclass(frozen=True)
class Step:
    """A step of a salvage, as it was or would be begun."""

    step: int
    topic: str
    question: str
    position_id: int | None = None
    position: str | None = None
    zone: str | None = None
    part_id: int | None = None
    part: str | None = None
    category: str | None = None
    due_on: date | None = None
    id: int | None = None


@dataclass(frozen=True)
class Salvage:
    """
    A ship after a sinking.

    Attributes
    ----------
    sortie : row
        The one that sank her.
    row : row of salvage, optional
        None: not begun.
    since : int
        Sorties she has sailed since.
    places : tuple of Place
        Her positions with what was in them then.
    """

    ship: Row
    sortie: Row
    row: Row | None
    since: int
    places: tuple[Place, ...]
    steps: tuple[Step, ...]

    @property
    def sank(self) -> bool:
        """Whether the log still says that she sank."""
        return bool(self.sortie.ending == "sank")

    @property
    def told(self) -> str:
        """The sinking in a few words."""
        return f"{self.ship.name} after she sank in sortie {self.sortie.number} of {self.sortie.sailed_on}"


def look_up(connection: sa.Connection, which: Which, today: date) -> Salvage:
    """
    The salvage after a sinking, begun or not.

    Raises
    ------
    NotFound, InvalidRecord
        If she did not sink then, or no sinking of hers is recorded.
    """
    ship = find.ship(connection, which.ship)
    sailed = rows.sorties(connection, ship.id, today)
    sortie = _sinking(connection, ship, sailed, which, today)
    row = rows.of_sortie(connection, sortie.id)
    places = as_places(connection, ship.id, rows.aboard_then(connection, sortie))
    steps = _as_begun(connection, row) if row is not None else _as_of_today(places, sortie, today)
    return Salvage(ship, sortie, row, sailed.index(sortie), places, steps)


def _sinking(connection: sa.Connection, ship: Row, sailed: list[Row], which: Which, today: date) -> Row:
    log = quoted(f"{ship.name}=W3")
    which = _dated(ship, sailed, which, today)
    meant = [each for each in sailed if which.day in (None, each.sailed_on) and which.number in (None, each.number)]
    sunk = [each for each in meant if each.ending == "sank" or rows.of_sortie(connection, each.id) is not None]
    if sunk:
        return sunk[0]
    if which.day is not None and meant:
        raise InvalidRecord(
            f"{ship.name} did not sink on {which.day} as far as the logs say",
            hint=f"if she did: maintain sortie correct {log} --day {which.day} --number {meant[0].number}",
        )
    if which.day is not None:
        raise NotFound(
            f"{ship.name} has no such sortie on {which.day}",
            hint=f"see: maintain sortie list --ship {quoted(ship.name)}",
        )
    later = rows.sorties(connection, ship.id, date.max)
    if any(each.ending == "sank" for each in later):
        raise NotFound(
            f"{ship.name} had not sunk by {today} as far as the logs say; she did later",
            hint="if today is another day, name it with --on",
        )
    if not sailed:
        raise NotFound(f"no sortie of {ship.name} is recorded", hint=f"log the sinking: maintain sortie log {log}")
    last = sailed[0]
    raise NotFound(
        f"no sinking of {ship.name} is recorded; her last sortie was {last.number} of {last.sailed_on}",
        hint=f"log it: maintain sortie log {log}; if that one sank her: "
        f"maintain sortie correct {log} --day {last.sailed_on} --number {last.number}",
    )


def _dated(ship: Row, sailed: list[Row], which: Which, today: date) -> Which:
    """A number without a day is of today, if she sank today; else the days she sank are named."""
    if which.number is None or which.day is not None:
        return which
    days = list(dict.fromkeys(each.sailed_on for each in sailed if each.ending == "sank"))
    if today in days:
        return replace(which, day=today)
    named = f"; {ship.name} sank on {', '.join(map(str, days[:_NAMED]))}" if days else ""
    raise InvalidRecord(f"a sortie has its number on a day{named}", hint="name the day as well with --day")


def _as_begun(connection: sa.Connection, row: Row) -> tuple[Step, ...]:
    return tuple(
        Step(
            each.step,
            each.topic,
            each.question,
            each.position_id,
            each.position,
            each.zone,
            each.part_id,
            each.tag,
            each.category,
            each.due_on,
            each.id,
        )
        for each in rows.steps(connection, row.id)
    )


def _as_of_today(places: tuple[Place, ...], sortie: Row, today: date) -> tuple[Step, ...]:
    sinking = Sinking(sortie.water, sortie.minutes_under is not None, sortie.sinking_cause != "unknown")
    since = _counted_from(sortie.sailed_on, today)
    return tuple(_step(number, each, since) for number, each in enumerate(questions(places, sinking), start=1))


def _counted_from(sank_on: date, today: date) -> date:
    """From which day retests count: the sinking, unless the salvage begins so late that nothing was dried before."""
    return sank_on if (today - sank_on).days <= _DRIED_WITHIN else today


def _step(number: int, asked: Question, since: date) -> Step:
    due_on = None if asked.after_days is None else since + timedelta(days=asked.after_days)
    place = asked.place
    if place is None:
        return Step(number, asked.topic, asked.text, due_on=due_on)
    category = next(iter(place.kinds), None)
    of = (place.id, place.name, place.zone, place.part_id, place.tag, category)
    return Step(number, asked.topic, asked.text, *of, due_on)


def begin(recorder: Recorder, which: Which, today: date) -> Salvage:
    """
    The salvage after a sinking, begun if it was not: from now on its steps stay.

    Raises
    ------
    InvalidRecord
        If she has sailed since and nobody named the sinking, or it was begun later than today.
    """
    connection = recorder.connection
    found = look_up(connection, which, today)
    if found.row is not None:
        if today < found.row.begun_on:
            raise InvalidRecord(
                f"this salvage was begun on {found.row.begun_on}", hint="give that day or a later one with --on"
            )
        return found
    _require_the_last(found, which)
    salvage_id = recorder.insert(t.salvage, sortie_id=found.sortie.id, begun_on=today)
    for step in found.steps:
        recorder.insert(
            t.salvage_step,
            salvage_id=salvage_id,
            step=step.step,
            topic=step.topic,
            question=step.question,
            position_id=step.position_id,
            part_id=step.part_id,
            due_on=step.due_on,
        )
    return look_up(connection, which, today)


def _require_the_last(found: Salvage, which: Which) -> None:
    if found.since and which.day is None and which.number is None:
        name, sortie = found.ship.name, found.sortie
        raise InvalidRecord(
            f"{whose(name)} last sortie did not sink her; she last sank in sortie {sortie.number} of "
            f"{sortie.sailed_on}, {count(found.since, 'sortie')} before",
            hint=f"if that is the one, add --day {sortie.sailed_on} --number {sortie.number}; log another sinking "
            f"with: maintain sortie log {quoted(f'{name}=W3')}, or mend the last with: maintain sortie correct",
        )
