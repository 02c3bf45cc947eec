"""Log a failure without a spare going in, and correct one that is on record."""

from __future__ import annotations

from datetime import date
from typing import Any

import sqlalchemy as sa

from maintain.core.names import quoted
from maintain.core.when import When
from maintain.errors import InvalidRecord, NotFound
from maintain.records import find, places
from maintain.records import tables as t
from maintain.records.journal import Recorder
from maintain.results.base import Done
from maintain.services import changes, failures, open_failures, placements
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


def correct(
    desk: Desk, *, number: int, facts: dict[str, Any], timing: Timing, known: tuple[date | None, str | None]
) -> Done:
    """
    Correct a failure on record; facts that are None stay.

    `known` are the last day the part was known to work, and the failure that brought this one about.
    """
    with writing(desk, "failure correct") as recorder:
        connection = recorder.connection
        row = _numbered(connection, number)
        part = connection.execute(sa.select(t.part).where(t.part.c.id == row.part_id)).one()
        ship_id = _ship_of(connection, row)
        moment = _found(connection, row, ship_id, timing, desk.today)
        symptoms = Symptoms(mode=facts["mode"] or row.mode, last_good=known[0], secondary_to=known[1])
        told = {
            **facts,
            "found_on": moment.when.on,
            "found_sortie": moment.sortie,
            **failures.circumstances(connection, part, ship_id, moment, symptoms),
        }
        named = f"failure {number} of {part.tag}"
        new = changes.differing(row, named, told)
        if "found_on" in new or "found_sortie" in new:
            _require_stay(connection, part, row, moment)
        _require_alive_before(row, new)
        _keep_doubt(recorder, row, new)
        recorder.update(t.failure, row.id, **new, sortie_id=failures.sortie_of(connection, ship_id, moment))
        did = f"changed {named}: {changes.told(row, new)}"
        recorder.summarise(did)
    return Done(did, record={"failure": number, "part": part.tag, **new})


def _numbered(connection: sa.Connection, number: int) -> Row:
    row = connection.execute(sa.select(t.failure).where(t.failure.c.id == number)).one_or_none()
    if row is None:
        raise NotFound(f"no failure has the number {number}", hint="see: maintain failure list")
    return row


def _ship_of(connection: sa.Connection, row: Row) -> int | None:
    return connection.execute(sa.select(t.position.c.ship_id).where(t.position.c.id == row.position_id)).scalar()


def _found(connection: sa.Connection, row: Row, ship_id: int | None, timing: Timing, today: date) -> Moment:
    """When it was found, where that is to be different; a sortie alone is one of the same day."""
    if timing.when is None and timing.after_sortie is None:
        return Moment(When(row.found_on), row.found_sortie, counted=True)
    named = Timing(timing.when or When(row.found_on), timing.after_sortie)
    return placements.leaving_moment(connection, ship_id, named, today)


def _require_stay(connection: sa.Connection, part: Row, row: Row, moment: Moment) -> None:
    """Refuse to move a failure out of the time in which the part was where it failed."""
    for stay in places.of_part(connection, part.id):
        begun, ended = (stay.from_on, stay.from_sortie), (stay.until_on, stay.until_sortie)
        old = (row.found_on, row.found_sortie)
        if stay.position_id != row.position_id or old < begun or (stay.until_on is not None and old > ended):
            continue
        if begun <= moment.key and (stay.until_on is None or moment.key <= ended):
            return
        until = "" if stay.until_on is None else f" until {Moment(When(stay.until_on), stay.until_sortie)}"
        raise InvalidRecord(
            f"{part.tag} was {places.being(stay)} from {placements.start_of(stay)}{until}: "
            f"its failure there can't have been found {moment}",
            hint=f"if those dates are wrong: maintain part change {quoted(part.tag)} --from WHEN",
        )


def _require_alive_before(row: Row, new: dict[str, Any]) -> None:
    """Refuse a day found before the part was known to work, unless that is changed with it."""
    good = new.get("last_good_on", row.last_good_on), new.get("last_good_sortie", row.last_good_sortie)
    found = new.get("found_on", row.found_on), new.get("found_sortie", row.found_sortie)
    if good[0] is not None and good > found:
        raise InvalidRecord(
            f"found on {found[0]} but known to be good on {good[0]}", hint="correct --last-good with it"
        )


def _keep_doubt(recorder: Recorder, row: Row, new: dict[str, Any]) -> None:
    """A doubt raised with the failure, to be judged by a retest, is known by its day and mode: it changes with it."""
    doubt = t.suspicion.c
    same = (doubt.part_id == row.part_id, doubt.raised_on == row.found_on, doubt.mode == row.mode)
    values = {"raised_on": new.get("found_on", row.found_on), "mode": new.get("mode", row.mode)}
    for doubt_id in recorder.connection.execute(sa.select(doubt.id).where(*same)).scalars().all():
        recorder.update(t.suspicion, doubt_id, **values)


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
