"""A part that failed when it was tried: condemned, or withdrawn as suspect."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Any

from maintain.core.names import quoted
from maintain.errors import InvalidRecord
from maintain.records import find
from maintain.records.journal import Recorder
from maintain.services import failures, open_failures, placements
from maintain.services.failures import Symptoms
from maintain.services.placements import Spot, Timing
from maintain.services.pulls import open_suspicion


@dataclass(frozen=True)
class Doubt:
    """
    What is made of a part that failed.

    Attributes
    ----------
    opens : str
        "failure" or "suspect".
    mode : str
        What it did.
    found_by : str
    note : str, optional
    cause : str
        What is blamed.
    last_good : date, optional
        The last day it was seen to work.
    """

    opens: str
    mode: str
    found_by: str
    note: str | None
    cause: str = "unknown"
    last_good: date | None = None


def withdraw(
    recorder: Recorder, today: date, ship: Any, where: tuple[int | None, str | None], doubt: Doubt
) -> list[str]:
    """
    Take the part out: a failure is logged and it is scrapped, a suspect awaits its retest.

    Parameters
    ----------
    recorder : Recorder
    today : date
    ship : row of the ship table
    where : (int, str)
        Id and name of the position; None: the ship as a whole.
    doubt : Doubt

    Raises
    ------
    InvalidRecord
        If no part is known to be there.
    """
    position_id, position = where
    part = None if position_id is None else find.installed_in(recorder.connection, position_id)
    if part is None:
        raise InvalidRecord(
            f"no part of {ship.name}{f'/{position}' if position else ' as a whole'} is known to be a {doubt.opens}",
            hint="leave that out, and name the part with: maintain failure log PART",
        )
    moment = placements.leaving_moment(recorder.connection, ship.id, Timing(), today)
    fit = f"fit a spare: maintain part install TAG {quoted(f'{ship.name}/{position}')}"
    if doubt.opens == "failure":
        symptoms = Symptoms(
            mode=doubt.mode, cause=doubt.cause, found_by=doubt.found_by, last_good=doubt.last_good, note=doubt.note
        )
        known = open_failures.aboard(recorder.connection, part, today)
        if known is None:
            failures.insert(recorder, part, moment, symptoms)
        else:  # on record before anybody tried the part: what it did and who found it stand there
            open_failures.complete(recorder, known, Symptoms(known.row.mode, doubt.cause, note=doubt.note))
        placements.move(recorder, part, Spot("scrapped"), moment, reason="failed")
        told = f"{part.tag} failed ({doubt.mode}) and" if known is None else f"takes {known}; {part.tag}"
        return [f"{told} is out; {fit}"]
    placements.move(recorder, part, Spot("suspect"), moment, reason="suspect")
    open_suspicion(recorder, part, moment.when.on, doubt.mode, doubt.note)
    test = f"test it, then: maintain retest {quoted(part.tag)} pass (or fail)"
    return [f"{part.tag} is suspect ({doubt.mode}) and is out; {fit}", test]
