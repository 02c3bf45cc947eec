"""Recurring tasks and promises: due by a date, or by use on a clock since they were last done."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

import sqlalchemy as sa

from maintain.records import upkeep
from maintain.services.dated_work.work import DatedWork
from maintain.services.horizon import Horizon


@dataclass(frozen=True)
class _Target:
    ship_id: int | None
    ship: str | None
    position: str | None
    part_id: int | None
    part: str | None
    system: str | None
    fitted_on: date | None = None


@dataclass(frozen=True)
class _Since:
    """From when use counts, and why from then."""

    day: date
    told: str

    @classmethod
    def of(cls, task: Any, done: date | None, target: _Target) -> _Since:
        """A new part does not bear the use of the one before it."""
        if target.fitted_on and target.fitted_on > max(done or task.starts_on, task.starts_on):
            return cls(target.fitted_on, f"fitted {target.fitted_on}, not done since")
        return (
            cls(done, f"last done {done}")
            if done
            else cls(task.starts_on, f"not done since {task.starts_on}, when it was set up")
        )


def recurring_work(connection: sa.Connection, horizon: Horizon) -> Iterator[DatedWork]:
    """Tasks due by the end of the horizon, one for each ship or part they are done on."""
    open_tasks = upkeep.open_tasks(connection)
    if not open_tasks:
        return
    installed = upkeep.installed_parts(connection)
    last_done = {
        (row.task_id, row.ship_id, row.part_id): row.done_on for row in upkeep.completions(connection, horizon.today)
    }
    use = defaultdict(list)
    for row in upkeep.use_of_ships(connection, horizon.today):
        use[row.ship_id].append(row)
    for task in open_tasks:
        for target in _targets(task, installed):
            done = _last_done(last_done, task.id, target)
            due = _due(task, _Since.of(task, done, target), use[target.ship_id], horizon)
            if due is not None:
                due_on, why, overdue = due
                yield DatedWork(
                    kind="task",
                    what=task.title,
                    ship=target.ship,
                    position=target.position,
                    part=target.part,
                    system=target.system,
                    due_on=due_on,
                    why=why,
                    source=task.source,
                    decider=task.decider,
                    overdue=overdue,
                )


def _targets(task: Any, installed: list[Any]) -> list[_Target]:
    if task.part_id is not None or task.family_id is not None or task.category is not None:
        wanted = [
            row
            for row in installed
            if (task.part_id in (None, row.part_id))
            and (task.family_id in (None, row.family_id))
            and (task.category in (None, row.category))
            and (task.ship_id in (None, row.ship_id))
        ]
        return [
            _Target(row.ship_id, row.ship, row.position, row.part_id, row.tag, row.system, row.fitted_on)
            for row in wanted
        ]
    ship_id = task.ship_id or task.position_ship_id
    return [_Target(ship_id, task.ship, task.position, None, None, None)]


def _last_done(last_done: dict[tuple[int, int | None, int | None], date], task_id: int, target: _Target) -> date | None:
    keys = {(target.ship_id, target.part_id), (None, target.part_id), (target.ship_id, None), (None, None)}
    return max((last_done[(task_id, *key)] for key in keys if (task_id, *key) in last_done), default=None)


def _due(task: Any, since: _Since, use: list[Any], horizon: Horizon) -> tuple[date | None, str, bool] | None:
    """Date, reason and whether it is overdue, if it is due by the end of the horizon; else None."""
    if task.clock is None or task.clock == "days":
        due_on = task.due_on if task.clock is None else since.day + timedelta(days=task.every)
        why = "to be done once, by then" if task.clock is None else f"every {task.every} days; {since.told}"
        return (due_on, why, due_on < horizon.today) if due_on <= horizon.until else None
    rows = [row for row in use if row.sailed_on > since.day]
    now, unknown = _used(task.clock, rows)
    ahead = {"sorties": horizon.sorties, "battle days": horizon.battle_days}.get(task.clock, 0)
    # a sortie of which nobody noted the water may have been wet; how many shots an unknown one fired nobody can say
    perhaps = unknown if task.clock in ("wet sorties", "immersions") else 0
    if now + ahead + perhaps < task.every:
        return None
    counted = f"{now} since" if not unknown else f"at least {now} since ({unknown} sorties of which nobody knows)"
    when = counted if now >= task.every or not ahead else f"{counted}, {ahead} more by then"
    return None, f"every {task.every} {task.clock}; {when}; {since.told}", now > task.every


def _used(clock: str, rows: list[Any]) -> tuple[int, int]:
    """Use on a clock, and sorties that may have added to it unrecorded."""
    if clock == "battle days":
        return len(rows), 0
    unknown = {"shots": "unknown_shots", "wet sorties": "unknown_wetness", "immersions": "unknown_wetness"}.get(clock)
    lost = sum(getattr(row, unknown) for row in rows) if unknown else 0
    return sum(getattr(row, clock.replace(" ", "_")) for row in rows), lost
