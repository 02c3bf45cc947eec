"""Who answered, and when."""

from __future__ import annotations

from datetime import date

import sqlalchemy as sa

from maintain.records import find
from maintain.records import tables as t
from maintain.records.journal import stamp


def by_whom(connection: sa.Connection, named: str | None, who: str) -> int | None:
    """The member named; else the one who is at the desk, if that is a member."""
    if named is not None:
        return int(find.member(connection, named).id)
    found = connection.execute(sa.select(t.member.c.id, t.member.c.name))
    return next((row.id for row in found if row.name.lower() == who.strip().lower()), None)


def moment(today: date) -> str:
    """Now, on the day that counts as today."""
    return f"{today}{stamp()[10:]}"
