"""Swap: a part failed and a spare went in, recorded in one go."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import sqlalchemy as sa

from maintain.errors import InvalidRecord
from maintain.records import find
from maintain.records.journal import Recorder
from maintain.results.base import Done
from maintain.services import failures, open_failures, parts, placements
from maintain.services.failures import Found, Symptoms
from maintain.services.open_failures import OpenFailure
from maintain.services.placements import Moment, Spot, Timing
from maintain.services.pool import spares
from maintain.services.pool.spares import Spare
from maintain.services.pulls import open_suspicion
from maintain.services.salvage import to_come
from maintain.services.unit import Desk, reading, writing

Row = sa.Row[Any]


@dataclass(frozen=True)
class Known:
    """What a failure on record says already; None: there is none, and somebody must say."""

    mode: str | None = None
    cause: str | None = None


def look_up(desk: Desk, where: str, *, another: bool) -> Known:
    """Refuse a position that isn't there or holds no part, before anybody is asked how the part failed."""
    with reading(desk) as connection:
        parts.require_in_service(connection, find.position(connection, where))
        known = open_failures.aboard(connection, find.part(connection, where), desk.today)
        return Known() if known is None or another else Known(known.row.mode, known.row.cause)


def swap(desk: Desk, *, where: str, symptoms: Symptoms, spare: Spare, timing: Timing, to: str) -> Done:
    """Log the failure, put the dead part away, issue the spare and fit it: all or nothing."""
    with writing(desk, "swap") as recorder:
        connection = recorder.connection
        position = find.position(connection, where)
        parts.require_in_service(connection, position)
        dead = find.part(connection, where)
        moment = placements.leaving_moment(connection, position.ship_id, timing, desk.today)
        found, symptoms, taken = _failed(recorder, dead, (moment, timing), symptoms)
        reason = "suspect" if to == "suspect" else "failed"
        moment, closed = placements.move(recorder, dead, Spot(to), moment, reason=reason)
        if to == "suspect":
            open_suspicion(recorder, dead, found.moment.when.on, symptoms.mode, symptoms.note)
        new, source, minded = spares.issue(recorder, position, dead, spare, moment)
        # a spare that came to the pool later that day, from another ship, is still the one that went in
        arrives = Moment(moment.when, moment.sortie)
        _, moved = placements.move(recorder, new, Spot("installed", position_id=position.id), arrives)
        when = f"after sortie {moment.sortie}" if moment.sortie else f"on {moment.when}"
        did = f"{found.where}: {failures.told(dead, symptoms)} {when}; fitted {new.tag} {source}"
        recorder.summarise(did)
        wetted = to_come.said_of(connection, new.id, desk.today)
    record = {
        "failed": dead.tag,
        "fitted": new.tag,
        "failure": found.number,
        "found": found.moment.when.on,
        "place": to,
    }
    notes = (*taken, f"{dead.tag} is now {to}", *failures.battle_damage_note(symptoms), *minded, *wetted)
    return Done(did, closed=(*closed, *moved), notes=notes, record=record)


def _failed(
    recorder: Recorder, dead: Row, left: tuple[Moment, Timing], symptoms: Symptoms
) -> tuple[Found, Symptoms, tuple[str, ...]]:
    """Log the failure, or complete the one on record; `left`: when the part came out, and what was said of that."""
    known = None if symptoms.anew else open_failures.aboard(recorder.connection, dead, left[0].when.on)
    if known is None:
        return failures.insert(recorder, dead, left[0], symptoms), symptoms, ()
    _require_order(known, *left)
    found, now = open_failures.complete(recorder, known, symptoms)
    return found, now, (f"takes {known}, instead of logging a second",)


def _require_order(known: OpenFailure, moment: Moment, timing: Timing) -> None:
    """Refuse a day found that contradicts the failure on record, and a swap before it."""
    named = timing.when
    if (named is None or named.on == known.row.found_on) and moment.key >= known.moment.key:
        return
    raise InvalidRecord(
        f"{known}, is on record: it wasn't found {moment}",
        hint="leave out --found and --after-sortie; --on DAY says when the spare went in; "
        f"or correct it first: maintain failure correct {known.row.id}; or add --another if it failed anew",
    )
