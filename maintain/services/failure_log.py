"""Log a failure without a spare going in, and correct one that is on record."""

from __future__ import annotations

from typing import Any

import sqlalchemy as sa

from maintain.records import find, places
from maintain.records.journal import Recorder
from maintain.results.base import Done
from maintain.services import failures, open_failures, placements
from maintain.services.failures import Symptoms
from maintain.services.placements import Moment, Spot, Timing
from maintain.services.pulls import open_suspicion
from maintain.services.unit import Desk, reading, writing

Row = sa.Row[Any]


def look_up(desk: Desk, part: str, *, another: bool) -> None:
    """Refuse a part that isn't there, or whose failure is on record, before anybody is asked how it failed."""
    with reading(desk) as connection:
        known = open_failures.aboard(connection, find.part(connection, part), desk.today)
        if known is not None and not another:
            open_failures.refuse(known)


def log(desk: Desk, *, part: str, symptoms: Symptoms, timing: Timing, to: str) -> Done:
    """Log a failure without fitting another part; the failed one is scrapped, held as suspect, or stays."""
    with writing(desk, "failure log") as recorder:
        connection = recorder.connection
        row = find.part(connection, part)
        history = places.of_part(connection, row.id)
        ship_id = history[-1].ship_id if history else None
        moment = placements.leaving_moment(connection, ship_id, timing, desk.today)
        known = open_failures.of(connection, row, placements.place_at(recorder, row, moment), moment.when.on)
        if known is not None and not symptoms.anew:
            open_failures.refuse(known)
        found = failures.insert(recorder, row, moment, symptoms)
        closed, went = _put_away(recorder, row, moment, symptoms, to)
        did = f"{found.where}: {failures.told(row, symptoms)} {found.moment}{went}"
        recorder.summarise(did)
    record = {"part": row.tag, "failure": found.number, "found": found.moment.when.on, "place": to}
    return Done(did, closed=closed, notes=failures.battle_damage_note(symptoms), record=record)


def _put_away(
    recorder: Recorder, part: Row, moment: Moment, symptoms: Symptoms, to: str
) -> tuple[tuple[str, ...], str]:
    now = places.of_part(recorder.connection, part.id)[-1]
    later = (now.from_on, now.from_sortie) > moment.key and now.from_precision == "day"
    if to in ("stays", now.place) or now.until_on is not None:
        return (), f"; it stays {places.being(now)}"
    if later:
        return (), f"; it is {places.being(now)} since {placements.start_of(now)} and stays there"
    reason = "suspect" if to == "suspect" else "failed"
    _, closed = placements.move(recorder, part, Spot(to), moment, reason=reason)
    if to == "suspect":
        open_suspicion(recorder, part, moment.when.on, symptoms.mode, symptoms.note)
    return closed, f"; it is now {to}"
