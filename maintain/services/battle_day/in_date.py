"""A bottle said to be in date, held against the dates on record."""

from __future__ import annotations

from datetime import date
from typing import Any

import sqlalchemy as sa

from maintain.core.names import quoted
from maintain.errors import InvalidRecord
from maintain.records import upkeep

Row = sa.Row[Any]


def require(connection: sa.Connection, part: Row, today: date, battle: Row) -> list[str]:
    """
    What the records say of the dates of a part that is passed as in date.

    Raises
    ------
    InvalidRecord
        If a date is over.
    """
    told = []
    dates = [each for each in upkeep.certificates(connection) if each.part_id == part.id]
    for each in dates:
        by = f"{each.source}: the {each.decider} decides"
        if each.expires_on < today:
            raise InvalidRecord(
                f"{part.tag} is out of date: its {each.kind} ran out on {each.expires_on} ({by})",
                hint=f"neither filled nor used: answer fail or not done; if it was tested since, read the new stamp: "
                f"maintain certificate add {quoted(part.tag)} --expires DATE --source RULE",
            )
        if each.expires_on < battle.until_on:
            told.append(f"{part.tag}: its {each.kind} runs out on {each.expires_on}, before {battle.name} ends ({by})")
    return told if dates else [f"no date of {part.tag} is on record: read its stamp, maintain certificate add"]
