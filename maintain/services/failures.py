"""Failures: a part ceased to do its job."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Any

import sqlalchemy as sa

from maintain.core.names import quoted
from maintain.errors import InvalidRecord, NotFound
from maintain.records import find, places
from maintain.records import tables as t
from maintain.records.journal import Recorder
from maintain.results.base import Column, Listing
from maintain.services import placements
from maintain.services.placements import Moment
from maintain.services.sorties import sailed_that_day
from maintain.services.unit import Desk, reading
from maintain.vocabulary import BATTLE_DAMAGE

Row = sa.Row[Any]


@dataclass(frozen=True)
class Symptoms:
    """
    How a part failed, as far as anybody knows.

    Attributes
    ----------
    mode, cause, effect, found_by : str
        Words of the vocabulary; "unknown" is an answer.
    last_good : date, optional
        The last day it was known to work.
    secondary_to : str, optional
        The number of the failure that brought this one about, or the part or position that failed.
    note : str, optional
    anew : bool
        True if the part worked again after the failure on record, and this is another.
    """

    mode: str
    cause: str = "unknown"
    effect: str = "unknown"
    found_by: str = "unknown"
    last_good: date | None = None
    secondary_to: str | None = None
    note: str | None = None
    anew: bool = False


@dataclass(frozen=True)
class Found:
    """A failure as it was recorded: its number, when it was found, and where the part was."""

    number: int
    moment: Moment
    where: str


def insert(recorder: Recorder, part: Row, moment: Moment, symptoms: Symptoms) -> Found:
    """
    Write the row of a failure.

    Raises
    ------
    InvalidRecord
        If the part was not there yet, had been scrapped or lost, or was known to be good later.
    """
    connection = recorder.connection
    where = placements.place_at(recorder, part, moment)
    _refuse_the_gone(part, where, moment)
    number = recorder.insert(
        t.failure,
        part_id=part.id,
        position_id=where.position_id,
        sortie_id=sortie_of(connection, where.ship_id, moment),
        found_on=moment.when.on,
        found_sortie=moment.sortie,
        mode=symptoms.mode,
        cause=symptoms.cause,
        effect=symptoms.effect,
        found_by=symptoms.found_by,
        note=symptoms.note,
        **{"secondary": False, **circumstances(connection, part, where.ship_id, moment, symptoms)},
    )
    return Found(number, moment, places.spoken(where))


def _refuse_the_gone(part: Row, where: Row, moment: Moment) -> None:
    if where.place in ("scrapped", "lost") and where.from_on < moment.when.on:
        raise InvalidRecord(
            f"{part.tag} was {where.place} on {where.from_on}: it can't have failed on {moment.when.on}",
            hint=f"give the day it was found, with --on, or, if it is back in use: "
            f"maintain part pull {quoted(part.tag)} --to pool",
        )


def told(part: Row, symptoms: Symptoms) -> str:
    """The failure in a phrase."""
    return f"{part.tag} failed ({symptoms.mode}, {symptoms.cause})"


def battle_damage_note(symptoms: Symptoms) -> tuple[str, ...]:
    """What to say when a ball did it."""
    hit = symptoms.cause == BATTLE_DAMAGE
    return ("battle damage: counted beside the failures, not as one of the part's own",) if hit else ()


def circumstances(
    connection: sa.Connection, part: Row, ship_id: int | None, moment: Moment, symptoms: Symptoms
) -> dict[str, Any]:
    """Columns that tell when it last worked and what brought it about, as far as the symptoms say."""
    facts: dict[str, Any] = {}
    if symptoms.last_good is not None:
        facts["last_good_on"], facts["last_good_sortie"] = _last_good(connection, ship_id, moment, symptoms.last_good)
    if symptoms.secondary_to is not None:
        facts |= {"secondary": True, "caused_by_id": _culprit(connection, part, symptoms.secondary_to)}
    return facts


def _last_good(connection: sa.Connection, ship_id: int | None, moment: Moment, day: date) -> tuple[date, int]:
    """The last moment the part was known to work: after that day's sorties, or on the day itself in the morning."""
    if day > moment.when.on:
        raise InvalidRecord(
            f"found on {moment.when} but known to be good on {day}",
            hint="the failure must be found on or after that day",
        )
    if day == moment.when.on or ship_id is None:
        return day, 0
    return day, sailed_that_day(connection, ship_id, day)


def sortie_of(connection: sa.Connection, ship_id: int | None, moment: Moment) -> int | None:
    """The sortie after which a failure was found, if one is recorded."""
    on, number = moment.key
    query = sa.select(t.sortie.c.id).where(
        t.sortie.c.ship_id == ship_id, t.sortie.c.sailed_on == on, t.sortie.c.number == number
    )
    return connection.execute(query).scalar()


def _culprit(connection: sa.Connection, part: Row, text: str) -> int:
    """The failure meant by its number, or the last one of a part or position."""
    failure = t.failure
    last = sa.select(failure.c.id).order_by(
        failure.c.found_on.desc(), failure.c.found_sortie.desc(), failure.c.id.desc()
    )
    if text.isdigit():
        query = last.where(failure.c.id == int(text))
    elif "/" in text:
        query = last.where(failure.c.position_id == find.position(connection, text).id)
    else:
        query = last.where(failure.c.part_id == find.part(connection, text).id)
    found = connection.execute(query.where(failure.c.part_id != part.id).limit(1)).scalar()
    if found is None:
        raise NotFound(
            f"no failure of {text} is recorded that could have caused this one",
            hint="log it first, or see: maintain failure list",
        )
    return int(found)


def listing(desk: Desk, *, ship: str | None, family: str | None, since: date | None) -> Listing:
    """Failures, newest first."""
    failure, cause = t.failure, t.part.alias("culprit")
    caused_by = t.failure.alias("caused_by")
    query = (
        sa.select(
            failure.c.id.label("number"),
            failure.c.found_on,
            failure.c.found_sortie,
            t.ship.c.name.label("ship"),
            t.position.c.name.label("position"),
            t.part.c.tag.label("part"),
            t.family.c.name.label("family"),
            failure.c.mode,
            failure.c.cause,
            failure.c.effect,
            failure.c.found_by,
            failure.c.last_good_on,
            cause.c.tag.label("secondary_to"),
            failure.c.note,
        )
        .join(t.part, t.part.c.id == failure.c.part_id)
        .join(t.family, t.family.c.id == t.part.c.family_id)
        .outerjoin(t.position, t.position.c.id == failure.c.position_id)
        .outerjoin(t.ship, t.ship.c.id == t.position.c.ship_id)
        .outerjoin(caused_by, caused_by.c.id == failure.c.caused_by_id)
        .outerjoin(cause, cause.c.id == caused_by.c.part_id)
        .order_by(failure.c.found_on.desc(), failure.c.found_sortie.desc(), failure.c.id.desc())
    )
    if since:
        query = query.where(failure.c.found_on >= since)
    with reading(desk) as connection:
        if ship:
            query = query.where(t.ship.c.id == find.ship(connection, ship).id)
        if family:
            query = query.where(t.family.c.id == find.family(connection, family).id)
        rows = tuple(dict(row) for row in connection.execute(query).mappings())
    empty = "none recorded; log one with: maintain swap SHIP/POSITION or maintain failure log PART"
    return Listing("Failures, newest first", _COLUMNS, rows, empty=empty)


_HEADINGS = {
    "number": "No.",
    "found_on": "Found",
    "found_sortie": "After sortie",
    "ship": "Ship",
    "position": "Position",
    "part": "Part",
    "family": "Family",
    "mode": "Mode",
    "cause": "Cause",
    "effect": "Effect",
    "found_by": "Found by",
    "last_good_on": "Last good",
    "secondary_to": "Secondary to",
    "note": "Note",
}
_COLUMNS = tuple(Column(key, heading, numeric=key in ("number", "found_sortie")) for key, heading in _HEADINGS.items())
