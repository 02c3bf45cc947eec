"""Look through the records for what can't all be true."""

from __future__ import annotations

from maintain.core.wording import count
from maintain.errors import FindingsFound
from maintain.records.integrity import CHECKS, in_the_future
from maintain.results.base import Done
from maintain.services.unit import Desk, reading

SHOWN = 40


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
    if not found:
        did = f"{len(CHECKS) + 1} checks found nothing that can't be true"
        return Done(did, record={"checks": len(CHECKS) + 1, "findings": 0})
    lines = [f"{each.where}: {each.what} ({each.mend})" for each in found[:SHOWN]]
    more = [f"... and {len(found) - SHOWN} more"] if len(found) > SHOWN else []
    raise FindingsFound(
        f"{count(len(found), 'record')} can't be true",
        hint="mend them by the commands named, or export, correct the files and import them",
        lines=[*lines, *more],
        findings=[each._asdict() for each in found],
    )
