"""A failure on record of a part that is still where it failed: whoever meets it again completes it, never doubles it.

A part fails once in the place it was fitted to, unless something showed that it worked again in between: a reading, a
passed check, a roll call. Sailing shows nothing: a gun may hang dead all season.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date
from typing import Any, NoReturn

import sqlalchemy as sa

from maintain.core.names import quoted
from maintain.core.when import When
from maintain.errors import InvalidRecord
from maintain.records import evidence, places
from maintain.records import tables as t
from maintain.records.journal import Recorder
from maintain.services.failures import Found, Symptoms, circumstances
from maintain.services.handover.heard import added, names
from maintain.services.placements import Moment

Row = sa.Row[Any]
_SAID = ("mode", "cause", "effect", "found_by")
_CIRCUMSTANCES = {"last_good_on": "last good day", "caused_by_id": "cause, a failure, No."}


@dataclass(frozen=True)
class OpenFailure:
    """
    A failure on record.

    Attributes
    ----------
    row : row of the failure table
    part : row of the part table
    there : row of `places`
        Where it failed, and has been since.
    by : str
        Who logged it.
    """

    row: Row
    part: Row
    there: Row
    by: str

    @property
    def moment(self) -> Moment:
        """When it was found."""
        return Moment(When(self.row.found_on), self.row.found_sortie, counted=True)

    def __str__(self) -> str:
        return (
            f"{self.part.tag}'s failure No. {self.row.id} ({self.row.mode}), found {self.moment}, logged by {self.by}"
        )


def of(connection: sa.Connection, part: Row, there: Row, by: date) -> OpenFailure | None:
    """The failure of a part in a place it was or is at, unless something showed it to work between that and a day."""
    failure = t.failure.c
    query = (
        sa.select(t.failure)
        .where(failure.part_id == part.id, failure.position_id.is_not_distinct_from(there.position_id))
        .order_by(failure.found_on.desc(), failure.found_sortie.desc(), failure.id.desc())
    )
    for row in connection.execute(query):
        found = (row.found_on, row.found_sortie)
        over = there.until_on is not None and found > (there.until_on, there.until_sortie)
        between = min(row.found_on, by), max(row.found_on, by)
        if over or found < (there.from_on, there.from_sortie):
            continue
        if not evidence.worked_between(connection, part.id, there.position_id, between):
            return OpenFailure(row, part, there, _logged_by(connection, row))
    return None


def aboard(connection: sa.Connection, part: Row, today: date) -> OpenFailure | None:
    """The failure of a part that is still fitted where it failed."""
    history = places.of_part(connection, part.id)
    if not history or history[-1].place != "installed" or history[-1].until_on is not None:
        return None
    return of(connection, part, history[-1], today)


def _logged_by(connection: sa.Connection, row: Row) -> str:
    """The captain whose phone told of it, else whoever made the change."""
    if told := names(row.note):
        return ", ".join(dict.fromkeys(told))
    line = t.change_row.c
    query = (
        sa.select(t.change.c.who)
        .join(t.change_row)
        .where(line.table_name == "failure", line.row_uid == row.uid, line.action == "insert")
    )
    return str(connection.execute(query.limit(1)).scalar() or "nobody named")


def complete(recorder: Recorder, known: OpenFailure, symptoms: Symptoms) -> tuple[Found, Symptoms]:
    """
    Add to a failure on record what it leaves unknown; returns it, and how it is told now.

    Raises
    ------
    InvalidRecord
        If something contradicts it.
    """
    row = known.row
    told = {key: getattr(symptoms, key) for key in _SAID if getattr(symptoms, key) != "unknown"}
    told |= circumstances(recorder.connection, known.part, known.there.ship_id, known.moment, symptoms)
    for key, what in {**{each: each.replace("_", " ") for each in _SAID}, **_CIRCUMSTANCES}.items():
        _require_agreement(known, what, getattr(row, key), told.get(key))
    new = {key: value for key, value in told.items() if getattr(row, key) in (None, False, "unknown")}
    recorder.update(t.failure, row.id, **new, note=added(row.note, *filter(None, [symptoms.note])) or None)
    now = replace(symptoms, mode=row.mode, cause=told.get("cause", row.cause))
    return Found(row.id, known.moment, places.spoken(known.there)), now


def _require_agreement(known: OpenFailure, what: str, recorded: Any, given: Any) -> None:
    if given is not None and recorded not in (None, "unknown", given):
        raise InvalidRecord(
            f"{known}, is on record; its {what} is {recorded}, not {given}",
            hint=f"leave that out; or correct it first: maintain failure correct {known.row.id}; "
            f"or add --another, if {known.part.tag} worked again in between and failed anew",
        )


def refuse(known: OpenFailure) -> NoReturn:
    """
    Refuse to log a failure a second time.

    Raises
    ------
    InvalidRecord
    """
    out, there = "", known.there
    if there.until_on is None:
        pull = f"maintain part pull {quoted(known.part.tag)} --to scrapped"
        swap = f"; with a spare going in: maintain swap {quoted(places.spoken(there))}" if there.position_id else ""
        out = f"it goes out with: {pull}{swap}; "
    raise InvalidRecord(
        f"{known}, is on record already",
        hint=f"{out}more is told of it with: maintain failure correct {known.row.id}; "
        f"add --another if it worked again in between and failed anew",
    )
