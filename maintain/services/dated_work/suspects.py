"""Parts withdrawn, and what is still to be found out about them."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

import sqlalchemy as sa

from maintain.records import upkeep
from maintain.services.dated_work.work import DatedWork
from maintain.services.salvage.to_come import kept_apart


def suspect_work(connection: sa.Connection, today: date) -> Iterator[DatedWork]:
    """Parts withdrawn and judged by nobody yet: a working one is a spare, a dead one is not."""
    apart = {row.tag for row, _ in kept_apart(connection, today).values()}
    for row in upkeep.suspects(connection, today):
        if row.tag in apart:  # said of it already, and it is not to be tried
            continue
        yield DatedWork(
            kind="task",
            what="retest the suspect, or condemn it",
            ship=row.ship,
            position=None,
            part=row.tag,
            system=None,
            due_on=None,
            why=f"{row.tag}, {row.family}, withdrawn on {row.raised_on} ({row.mode}); not judged since",
            source="common practice, no source",
            decider=None,
        )
