"""What is still to come for parts that were wetted in a sinking, wherever they are by now."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from typing import Any

import sqlalchemy as sa

from maintain.core.names import quoted
from maintain.records import wetted_parts as rows
from maintain.services.salvage.apart import DECIDER, WHAT_THEN, why_apart
from maintain.services.salvage.questions import TRIED_AFTER
from maintain.services.salvage.wetted import wetted

Row = sa.Row[Any]


def kept_apart(connection: sa.Connection, today: date) -> dict[int, tuple[Row, str]]:
    """By part: the sinking that wetted a battery which is neither charged nor tried, and why it is not."""
    packs = [row for row in rows.packs(connection, today) if wetted(row.zone, row.wetness, row.box, row.found)]
    if not packs:
        return {}
    told = rows.told_of_packs(connection)
    why = ((row, why_apart(told[row.part_id], row.water)) for row in packs)
    return {row.part_id: (row, reason) for row, reason in why if reason is not None}


def next_retests(connection: sa.Connection, today: date, until: date) -> Iterator[Row]:
    """The next retest of each part that was wetted and may be tried, as far as it is due by a day."""
    told = set(kept_apart(connection, today))
    for row in rows.retests(connection, today, until):
        if row.part_id not in told and wetted(row.zone, row.wetness, row.box, row.found):
            told.add(row.part_id)
            yield row


def said_of(connection: sa.Connection, part_id: int, today: date) -> tuple[str, ...]:
    """What to say when a part is moved that a sinking has left something to do about."""
    apart = kept_apart(connection, today).get(part_id)
    if apart is not None:
        row, why = apart
        return (f"{row.tag} {why}: {WHAT_THEN}; {DECIDER} decides what becomes of it",)
    for row in next_retests(connection, today, date.max):
        if row.part_id == part_id:
            see = f"maintain salvage show {quoted(row.sunk)} --day {row.sailed_on} --number {row.number}"
            return (
                f"{row.tag} was under water when {row.sunk} sank on {row.sailed_on}: to be tried again, "
                f"{TRIED_AFTER[row.topic]}, from {row.due_on} on (step {row.step}: {see})",
            )
    return ()
