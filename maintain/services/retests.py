"""Retests: a suspect part is cleared or condemned."""

from __future__ import annotations

from datetime import date
from typing import Any

import sqlalchemy as sa

from maintain.core.names import quoted
from maintain.core.when import When
from maintain.errors import InvalidRecord
from maintain.records import find, places
from maintain.records import tables as t
from maintain.records.journal import Recorder
from maintain.results.base import Done
from maintain.services import failures, placements
from maintain.services.failures import Symptoms
from maintain.services.placements import Moment, Spot
from maintain.services.unit import Desk, writing

Row = sa.Row[Any]


def retest(desk: Desk, *, part: str, result: str, cause: str, note: str | None) -> Done:
    """
    Close all suspicions of a part: a pass sends it home with no failure found, a fail condemns it.

    It may be doubted twice: tapped on a phone while it was fitted, and again by whoever took it out.
    """
    with writing(desk, "retest") as recorder:
        row = find.part(recorder.connection, part)
        doubts = _open_suspicions(recorder.connection, row)
        doubt = doubts[-1]
        if desk.today < doubt.raised_on:
            raise InvalidRecord(f"{row.tag} is suspect only since {doubt.raised_on}", hint="give a later day with --on")
        recorder.insert(t.retest, suspicion_id=doubt.id, tested_on=desk.today, result=result, note=note)
        outcome = "no failure found" if result == "pass" else "condemned"
        for each in doubts:
            recorder.update(t.suspicion, each.id, closed_on=desk.today, outcome=outcome)
        finish = _clear if result == "pass" else _condemn
        told = finish(recorder, row, doubts, Symptoms(mode=doubt.mode, cause=cause, found_by="bench", note=note))
        spot = placements.home(row) if result == "pass" else Spot("scrapped")
        closed = _put(recorder, row, spot, desk.today)
        there = places.being(places.of_part(recorder.connection, row.id)[-1])
        did = f"{row.tag} retested on {desk.today}: {outcome}; it is now {there}"
        recorder.summarise(did)
    return Done(did, closed=(*closed, *told), record={"part": row.tag, "result": result, "outcome": outcome})


def _put(recorder: Recorder, part: Row, spot: Spot, today: date) -> tuple[str, ...]:
    """Move the part out of quarantine, unless records from elsewhere have it somewhere else already."""
    history = places.of_part(recorder.connection, part.id)
    if history and history[-1].place != "suspect":
        return ()
    return placements.move(recorder, part, spot, Moment(When(today))).closed


def _open_suspicions(connection: sa.Connection, part: Row) -> list[Row]:
    """What makes a part doubtful, the latest last."""
    doubts = sa.select(t.suspicion).where(t.suspicion.c.part_id == part.id, t.suspicion.c.closed_on.is_(None))
    found = list(connection.execute(doubts.order_by(t.suspicion.c.raised_on, t.suspicion.c.id)))
    if not found:
        raise InvalidRecord(
            f"{part.tag} is not suspect",
            hint=f"withdraw it first with: maintain part pull {quoted(part.tag)} --reason suspect",
        )
    return found


def _logged(connection: sa.Connection, part: Row, doubt: Row) -> Row | None:
    """The failure recorded when the part was withdrawn, if there was one."""
    failure = t.failure
    same = (failure.c.part_id == part.id, failure.c.found_on == doubt.raised_on, failure.c.mode == doubt.mode)
    return connection.execute(sa.select(failure).where(*same).order_by(failure.c.id.desc()).limit(1)).one_or_none()


def _clear(recorder: Recorder, part: Row, doubts: list[Row], _: Symptoms) -> tuple[str, ...]:
    """Take back the failures logged when the part was withdrawn: there was none. The journal keeps them."""
    told = []
    for logged in filter(None, (_logged(recorder.connection, part, doubt) for doubt in doubts)):
        caused = sa.select(t.failure.c.id).where(t.failure.c.caused_by_id == logged.id)
        for failure_id in recorder.connection.execute(caused).scalars().all():
            recorder.update(t.failure, failure_id, caused_by_id=None)
        recorder.delete(t.failure, logged.id)
        told.append(f"its failure of {logged.found_on} ({logged.mode}) no longer counts")
    return tuple(told)


def _condemn(recorder: Recorder, part: Row, doubts: list[Row], symptoms: Symptoms) -> tuple[str, ...]:
    """Record the failure, unless that was done when the part was withdrawn; it is dated by the withdrawal."""
    if any(_logged(recorder.connection, part, doubt) is not None for doubt in doubts):
        return ()
    history = places.of_part(recorder.connection, part.id)
    withdrawn = next((row for row in reversed(history) if row.place == "suspect"), None)
    moment = Moment(When(doubts[-1].raised_on)) if withdrawn is None else _start(withdrawn)
    found = failures.insert(recorder, part, moment, symptoms)
    return (f"its failure ({symptoms.mode}, {symptoms.cause}) counts from {moment}, in {found.where}",)


def _start(row: Row) -> Moment:
    return Moment(placements.start_of(row), row.from_sortie)
