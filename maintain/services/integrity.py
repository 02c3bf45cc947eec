"""Look through the records for what can't all be true."""

from __future__ import annotations

import sqlalchemy as sa

from maintain.core.wording import count
from maintain.errors import FindingsFound
from maintain.records import tables as t
from maintain.records.integrity import CHECKS, Finding, in_the_future
from maintain.results.base import Done
from maintain.services.battle_day.figures import makes_sense
from maintain.services.unit import Desk, reading
from maintain.vocabulary import MEASURES

SHOWN = 40


def _senseless_readings(connection: sa.Connection) -> list[Finding]:
    """Readings that can't be meant: a slip of the hand or of the unit."""
    query = (
        sa.select(t.reading.c.measure, t.reading.c.value, t.reading.c.taken_on, t.ship.c.name, t.part.c.tag)
        .outerjoin(t.position, t.position.c.id == t.reading.c.position_id)
        .outerjoin(t.ship, t.ship.c.id == t.position.c.ship_id)
        .outerjoin(t.part, t.part.c.id == t.reading.c.part_id)
        .order_by(t.reading.c.taken_on, t.reading.c.id)
    )
    return [
        Finding(
            row.name or row.tag,
            f"{row.measure} of {row.value:g} {MEASURES[row.measure]} on {row.taken_on} can't be meant",
            "mend the value by import",
        )
        for row in connection.execute(query)
        if not makes_sense(row.value, row.measure)
    ]


def check(desk: Desk) -> Done:
    """
    Run every check.

    Raises
    ------
    FindingsFound
        If any has findings; all are in the message, one a line.
    """
    with reading(desk) as connection:
        found = [finding for each in CHECKS for finding in each(connection)]
        found += in_the_future(connection, desk.today)
        found += _senseless_readings(connection)
    if not found:
        checks = len(CHECKS) + 2
        return Done(f"{checks} checks found nothing that can't be true", record={"checks": checks, "findings": 0})
    lines = [f"{each.where}: {each.what} ({each.mend})" for each in found[:SHOWN]]
    more = [f"... and {len(found) - SHOWN} more"] if len(found) > SHOWN else []
    raise FindingsFound(
        f"{count(len(found), 'record')} can't be true",
        hint="mend them by the commands named, or export, correct the files and import them",
        lines=[*lines, *more],
        findings=[each._asdict() for each in found],
    )
