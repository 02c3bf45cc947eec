"""What follows from an answer: how far the water came, a test that showed a part to work, what the log says."""

from __future__ import annotations

import math
from datetime import date
from typing import Any

import sqlalchemy as sa

from maintain.core.names import quoted
from maintain.errors import InvalidRecord
from maintain.records import find, places
from maintain.records import salvage as rows
from maintain.records import tables as t
from maintain.records.journal import Recorder
from maintain.services.battle_day import follows as tests
from maintain.services.battle_day import withdrawn
from maintain.services.battle_day.withdrawn import Doubt
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
    """Write down that a part was tried, and worked."""
    require_aboard(recorder, found, step)
    assert step.position_id is not None
    assert step.part_id is not None
    return tests.passed(recorder, step.position_id, step.part_id, by_id, today, NOTE)


def condemned(recorder: Recorder, found: Salvage, step: Step, doubt: Doubt, today: date) -> list[str]:
    """Take a part out that does not work; what it did between its last test and today nobody saw."""
    part = require_aboard(recorder, found, step)
    assert step.position_id is not None
    since = found.row.begun_on if found.row else today
    last_good = rows.last_seen(recorder.connection, part.id, step.position_id, (since, today))
    late = Doubt(doubt.opens, doubt.mode, doubt.found_by, doubt.note, doubt.cause, last_good)
    return withdrawn.withdraw(recorder, today, found.ship, (step.position_id, step.position), late)


def require_aboard(recorder: Recorder, found: Salvage, step: Step) -> Any:
    """
    The part of a step, if it is still where it was.

    Raises
    ------
    InvalidRecord
        If the step is about no part, or the part has left.
    """
    connection = recorder.connection
    if step.part_id is None or step.position_id is None:
        raise InvalidRecord(f"step {step.step} is about no part", hint="name it with: maintain failure log PART")
    there = find.installed_in(connection, step.position_id)
    if there is not None and there.id == step.part_id:
        return there
    history = places.of_part(connection, step.part_id)
    now = f": it is {places.being(history[-1])}" if history and history[-1].until_on is None else ""
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
