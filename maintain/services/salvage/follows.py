"""What follows from an answer: how far the water came, a test that showed a part to work, what the log says."""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import date
from typing import Any

import sqlalchemy as sa

from maintain.core.names import quoted
from maintain.core.when import When
from maintain.errors import InvalidRecord
from maintain.records import find, places
from maintain.records import salvage as rows
from maintain.records import tables as t
from maintain.records.journal import Recorder
from maintain.records.wetted_parts import AT_HAND
from maintain.services import failures, placements
from maintain.services.battle_day import follows as tests
from maintain.services.battle_day import withdrawn
from maintain.services.battle_day.withdrawn import Doubt
from maintain.services.failures import Symptoms
from maintain.services.placements import Moment, Spot
from maintain.services.pulls import open_suspicion
from maintain.services.salvage.begun import Salvage, Step

NOTE = "salvage"
_BOX = "sealed box"
_A_WEEK_IN_MINUTES, _A_DAY, _W4_FROM = 7 * 1440, 1440, 10
_MOST_MINUTES = 520 * _A_WEEK_IN_MINUTES  # ten years; beyond it is a slip of the hand


def look(recorder: Recorder, found: Salvage, step: Step, seen: tuple[str, bool], today: date) -> tuple[int, list[str]]:
    """
    Write down how far the water came into a part, or into the box: the opening that tells it, and what to say.

    `seen` is the finding, and whether it was dried. An opening logged by hand before is put right, not doubled.
    """
    answer, dried = seen
    zone = step.zone or _BOX
    before = rows.opening(recorder.connection, found.sortie.id, zone, step.position_id)
    if before is None:
        opening_id = recorder.insert(
            t.opening,
            ship_id=found.ship.id,
            sortie_id=found.sortie.id,
            zone=zone,
            position_id=step.position_id,
            opened_on=today,
            found=answer,
            dried=dried,
            note=NOTE,
        )
        return opening_id, []
    mine = before.note == NOTE
    said = [] if mine or before.found == answer else [f"in place of {before.found}, logged on {before.opened_on}"]
    recorder.update(t.opening, before.id, found=answer, dried=dried if mine else dried or before.dried)
    return before.id, said


def forget_look(recorder: Recorder, opening_id: int) -> None:
    """Take back what a look wrote of the water; what was logged by hand before stays."""
    note = recorder.connection.execute(sa.select(t.opening.c.note).where(t.opening.c.id == opening_id)).scalar()
    if note == NOTE:
        recorder.delete(t.opening, opening_id)


def passed(recorder: Recorder, found: Salvage, step: Step, by_id: int | None, today: date) -> int:
    """Write down that a part was tried, and worked, wherever it is by now."""
    there = require_at_hand(recorder, found, step)
    return tests.passed(recorder, there.position_id, there.part_id, by_id, today, NOTE)


def condemned(recorder: Recorder, found: Salvage, step: Step, doubt: Doubt, today: date) -> list[str]:
    """Take a part away that does not work; what it did between its last test and today nobody saw."""
    there = require_at_hand(recorder, found, step)
    since = found.row.begun_on if found.row else today
    last_good = rows.last_seen(recorder.connection, there.part_id, there.position_id, (since, today))
    late = replace(doubt, last_good=last_good)
    if there.place != "installed":
        return _from_the_shelf(recorder, there.tag, late, today)
    ship = find.ship(recorder.connection, there.ship)
    return withdrawn.withdraw(recorder, today, ship, (there.position_id, there.position), late)


def _from_the_shelf(recorder: Recorder, tag: str, doubt: Doubt, today: date) -> list[str]:
    """Condemn or withdraw a part that is fitted nowhere."""
    part, moment = find.part(recorder.connection, tag), Moment(When(today))
    if doubt.opens == "failure":
        symptoms = Symptoms(
            mode=doubt.mode, cause=doubt.cause, found_by=doubt.found_by, last_good=doubt.last_good, note=doubt.note
        )
        failures.insert(recorder, part, moment, symptoms)
        placements.move(recorder, part, Spot("scrapped"), moment, reason="failed")
        return [f"{part.tag} failed ({doubt.mode}) and is out"]
    placements.move(recorder, part, Spot("suspect"), moment, reason="suspect")
    open_suspicion(recorder, part, today, doubt.mode, doubt.note)
    test = f"test it, then: maintain retest {quoted(part.tag)} pass (or fail)"
    return [f"{part.tag} is suspect ({doubt.mode}) and is out", test]


def require_at_hand(recorder: Recorder, found: Salvage, step: Step) -> Any:
    """
    Where the part of a step is by now: in a ship, the pool, with its captain or on loan.

    Raises
    ------
    InvalidRecord
        If the step is about no part, or the part is where nobody tries it.
    """
    if step.part_id is None:
        raise InvalidRecord(f"step {step.step} is about no part", hint="name it with: maintain failure log PART")
    history = places.of_part(recorder.connection, step.part_id)
    there = history[-1] if history and history[-1].until_on is None else None
    if there is not None and there.place in AT_HAND:
        return there
    now = f": it is {places.being(there)}" if there is not None else ""
    raise InvalidRecord(
        f"{step.part} is no longer in {found.ship.name}/{step.position}{now}",
        hint=f"log what became of it with: maintain failure log {quoted(step.part or 'PART')}, "
        "or take back the answer that took it out",
    )


def timed(recorder: Recorder, found: Salvage, figure: str | None) -> tuple[str, list[str]]:
    """Write into the log how long she was under; a time that makes the sinking another one says so."""
    minutes = None if figure is None else _minutes(figure)
    if minutes is None:
        recorder.update(t.sortie, found.sortie.id, minutes_under=None)
        return "", []
    lay = "W3" if minutes < _W4_FROM else "W4" if minutes <= _A_DAY else "W5"
    recorder.update(t.sortie, found.sortie.id, minutes_under=minutes, wetness=lay)
    moved = lay != found.sortie.wetness
    return f", {minutes:g} min", [f"that makes it {lay}, not {found.sortie.wetness}"] if moved else []


def _minutes(written: str) -> float:
    try:
        minutes = float(written.strip().removesuffix("min").replace(",", "."))
    except ValueError:
        raise InvalidRecord(f"{written.strip()!r} is no number of minutes", hint="write for example 4") from None
    if not (math.isfinite(minutes) and 0 <= minutes <= _MOST_MINUTES):
        raise InvalidRecord(f"she can't have been under for {minutes:g} min", hint="write the minutes, for example 4")
    return minutes


def explained(recorder: Recorder, found: Salvage, cause: str, system: str | None) -> str:
    """Write into the log why she sank."""
    recorder.update(t.sortie, found.sortie.id, sinking_cause=cause, sinking_system=system)
    return f", {system}" if system else ""
