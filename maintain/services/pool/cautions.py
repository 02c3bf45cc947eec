"""What to mind when a part changes hands: gas and cells hurt people, and a record clears nothing."""

from __future__ import annotations

from datetime import date
from typing import Any

import sqlalchemy as sa

from maintain.records import tables as t

Row = sa.Row[Any]

_BY_CATEGORY = {
    "cylinder": ("a bottle goes out only in date and tested; fill it by weight, never from memory",),
    "regulator": ("nothing with gas goes out untested: check it for leaks and creep before it leaves",),
    "valve": ("nothing with gas goes out untested: check it for leaks before it leaves",),
    "battery": (
        "look for swelling, dents and damp; lithium cells are stored half charged (about 3.8 V a cell), cool, apart "
        "from anything that burns, and never left alone on the charger; the club's safety officer decides",
    ),
}


def of(connection: sa.Connection, family: Row, part: Row | None, today: date) -> tuple[str, ...]:
    """The cautions for a family, and for a bottle the date that decides about it."""
    general = _BY_CATEGORY.get(family.category, ())
    if family.category != "cylinder" or part is None:
        return general
    return (*general, _in_date(connection, part, today))


def _in_date(connection: sa.Connection, part: Row, today: date) -> str:
    query = sa.select(t.certificate).where(t.certificate.c.part_id == part.id).order_by(t.certificate.c.expires_on)
    held = list(connection.execute(query))
    if not held:
        return f"{part.tag}: no test date on record; read the stamp, and have the licensed tester decide"
    latest = {row.kind: row for row in held}  # the newest of each kind stands
    first = min(latest.values(), key=lambda row: row.expires_on)
    if first.expires_on < today:
        return (
            f"{part.tag}: {first.kind} ran out on {first.expires_on} ({first.source}): do not fill or use it; "
            f"the {first.decider} decides"
        )
    return f"{part.tag}: {first.kind} until {first.expires_on} ({first.source}); the {first.decider} decides"
