"""Recurring tasks and promises: due by a date, or by use on a clock since they were last done."""

from __future__ import annotations

from collections.abc import Iterator

import sqlalchemy as sa

from maintain.services.dated_work.work import DatedWork
from maintain.services.horizon import Horizon
from maintain.services.tasks.standing import Standing, standings
from maintain.services.tasks.targets import Target


def recurring_work(connection: sa.Connection, horizon: Horizon) -> Iterator[DatedWork]:
    """Tasks due by the end of the horizon, one for each ship or part they are done on."""
    return (_work(each) for each in standings(connection, horizon) if each.falls_due)


def _work(standing: Standing) -> DatedWork:
    task, on, reckoned = standing.task, standing.target or Target(), standing.reckoned
    return DatedWork(
        kind="task",
        what=task.title,
        ship=on.ship,
        position=on.position,
        part=on.part,
        system=on.system,
        due_on=reckoned.due_on,
        why=reckoned.why,
        source=task.source,
        decider=task.decider,
        overdue=reckoned.state == "overdue",
        key=standing.key,
    )
