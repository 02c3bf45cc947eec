"""Swap: a part failed and a spare went in, recorded in one go."""

from __future__ import annotations

from maintain.errors import InvalidRecord
from maintain.records import find
from maintain.results.base import Done
from maintain.services import failures, parts, placements
from maintain.services.failures import Symptoms
from maintain.services.placements import Moment, Spot, Timing
from maintain.services.pool import spares
from maintain.services.pool.spares import Spare
from maintain.services.pulls import open_suspicion
from maintain.services.unit import Desk, reading, writing


def look_up(desk: Desk, where: str) -> None:
    """Refuse a position that isn't there or holds no part, before anybody is asked how the part failed."""
    with reading(desk) as connection:
        parts.require_in_service(connection, find.position(connection, where))
        find.part(connection, where)


def swap(desk: Desk, *, where: str, symptoms: Symptoms, spare: Spare, timing: Timing, to: str) -> Done:
    """Log the failure, put the dead part away, issue the spare and fit it: all or nothing."""
    if spare.part and spare.lender:
        raise InvalidRecord("the spare is either --with a part or --borrowed-from a member", hint="give one of them")
    with writing(desk, "swap") as recorder:
        connection = recorder.connection
        position = find.position(connection, where)
        parts.require_in_service(connection, position)
        dead = find.part(connection, where)
        moment = placements.leaving_moment(connection, position.ship_id, timing, desk.today)
        found = failures.insert(recorder, dead, moment, symptoms)
        reason = "suspect" if to == "suspect" else "failed"
        moment, closed = placements.move(recorder, dead, Spot(to), moment, reason=reason)
        if to == "suspect":
            open_suspicion(recorder, dead, moment.when.on, symptoms.mode, symptoms.note)
        new, source, minded = spares.issue(recorder, position, dead, spare, moment)
        # a spare that came to the pool later that day, from another ship, is still the one that went in
        arrives = Moment(moment.when, moment.sortie)
        _, moved = placements.move(recorder, new, Spot("installed", position_id=position.id), arrives)
        when = f"after sortie {moment.sortie}" if moment.sortie else f"on {moment.when}"
        did = f"{found.where}: {failures.told(dead, symptoms)} {when}; fitted {new.tag} {source}"
        recorder.summarise(did)
    record = {"failed": dead.tag, "fitted": new.tag, "failure": found.number, "found": moment.when.on, "place": to}
    notes = (f"{dead.tag} is now {to}", *failures.battle_damage_note(symptoms), *minded)
    return Done(did, closed=(*closed, *moved), notes=notes, record=record)
