"""Parts wetted in a sinking: what works while wet may be dead by spring, so they are tried after a day and a week."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import sqlalchemy as sa

from maintain.records import salvage as rows
from maintain.services.dated_work.work import DatedWork
from maintain.services.horizon import Horizon
from maintain.services.salvage.care import care_of
from maintain.services.salvage.questions import TRIED_AFTER
from maintain.services.salvage.wetted import wetted
from maintain.vocabulary import OPENED_FINDINGS


def salvage_work(connection: sa.Connection, horizon: Horizon) -> Iterator[DatedWork]:
    """The next retest of each part that was wetted, as far as it is due by the end of the horizon."""
    told: set[int] = set()
    for row in rows.retests(connection, horizon.today, horizon.until):
        if row.part_id not in told and wetted(row.zone, row.wetness, row.box, row.found):
            told.add(row.part_id)
            yield _work(row, horizon)


def _work(row: Any, horizon: Horizon) -> DatedWork:
    care = care_of(row.category)
    found = f"found {row.found}" if row.found in OPENED_FINDINGS else "taken to be wet, nobody looked"
    return DatedWork(
        kind="task",
        what=f"try {row.tag} again, {TRIED_AFTER[row.topic]}",
        ship=row.ship,
        position=row.position,
        part=row.tag,
        system=row.system,
        due_on=row.due_on,
        why=f"{found} after she sank on {row.sailed_on}: worked wet, dead by spring; step {row.step} of her salvage",
        source="common practice, no source",
        decider=care.decider,
        overdue=row.due_on < horizon.today,
    )
