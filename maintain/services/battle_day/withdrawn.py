"""A part that failed a test at the pond: condemned, or withdrawn as suspect."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from maintain.core.names import quoted
from maintain.errors import InvalidRecord
from maintain.records import find
from maintain.records.journal import Recorder
from maintain.services import failures, placements
from maintain.services.battle_day.begun import Check, Step
from maintain.services.battle_day.morning import BY_NAME
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
    mode : str, optional
        None: what its kind most likely did.
    note : str, optional
    """

    opens: str
    mode: str | None
    note: str | None


def withdraw(recorder: Recorder, today: date, check: Check, step: Step, doubt: Doubt) -> tuple[str, ...]:
    """
    Take the part out: a failure is logged and it is scrapped, a suspect awaits its retest.

    Raises
    ------
    InvalidRecord
        If no part is known to be there.
    """
    connection = recorder.connection
    part = None if step.position_id is None else find.installed_in(connection, step.position_id)
    if part is None:
        where = f"{check.ship.name}/{step.position}" if step.position else "the ship as a whole"
        raise InvalidRecord(
            f"no part of {where} is known that could be a {doubt.opens}",
            hint="answer fail alone, and name the part with: maintain failure log PART",
        )
    topic = BY_NAME.get(step.topic or "")
    mode = doubt.mode or (topic.mode if topic else "dead")
    moment = placements.leaving_moment(connection, check.ship.id, Timing(), today)
    where = quoted(f"{check.ship.name}/{step.position}")
    if doubt.opens == "failure":
        failures.insert(recorder, part, moment, Symptoms(mode=mode, found_by="pre-battle check", note=doubt.note))
        placements.move(recorder, part, Spot("scrapped"), moment, reason="failed")
        return (f"{part.tag} failed ({mode}) and is out; fit a spare: maintain part install TAG {where}",)
    placements.move(recorder, part, Spot("suspect"), moment, reason="suspect")
    open_suspicion(recorder, part, moment.when.on, mode, doubt.note)
    return (
        f"{part.tag} is suspect ({mode}) and is out; fit a spare: maintain part install TAG {where}",
        f"test it, then: maintain retest {quoted(part.tag)} pass (or fail)",
    )
