"""How each task stands on each thing it is done on: when it was last done, and whether it falls due by some day."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from typing import Any

import sqlalchemy as sa

from maintain.core.recurrence import Interval
from maintain.records import upkeep, use
from maintain.records.use import Trip
from maintain.services.horizon import Horizon
from maintain.services.tasks.reckoning import Reckoned, Since, reckon
from maintain.services.tasks.targets import Target, targets

Row = Any
_NOTHING = "nothing to do it on"
_FALLS_DUE = ("overdue", "due", "due soon")


@dataclass(frozen=True)
class Standing:
    """
    A task on one thing it is done on.

    Attributes
    ----------
    task : row
    intervals : tuple of Interval
        Empty: to be done once.
    target : Target, optional
        None: no such part is fitted, or the ship is gone.
    done : row of a completion, optional
        The last time.
    reckoned : Reckoned
    """

    task: Row
    intervals: tuple[Interval, ...]
    target: Target | None
    done: Row | None
    reckoned: Reckoned

    @property
    def falls_due(self) -> bool:
        """Whether it is to be done by the end of the horizon."""
        return self.reckoned.state in _FALLS_DUE

    @property
    def key(self) -> str:
        """What names it for ever: the uids of the task and of what it is done on."""
        return f"task-{self.task.uid}-{self.target.uid if self.target else ''}"


def standings(connection: sa.Connection, horizon: Horizon) -> list[Standing]:
    """Every task that is open on the day, on everything it is done on."""
    tasks = upkeep.open_tasks(connection, horizon.today)
    return list(_each(connection, tasks, horizon)) if tasks else []


def _each(connection: sa.Connection, tasks: list[Row], horizon: Horizon) -> Iterator[Standing]:
    often = upkeep.intervals(connection)
    installed = upkeep.installed_parts(connection)
    found = [(task, often.get(task.id, ()), targets(task, installed)) for task in tasks]
    done: dict[int, list[Row]] = {}
    for row in upkeep.completions(connection, horizon.today):
        done.setdefault(row.task_id, []).append(row)
    sailed = _trips(connection, [target for _, _, on in found for target in on], horizon.today)
    for task, intervals, on in found:
        if not on:
            yield Standing(task, intervals, None, None, Reckoned("not yet", None, None, _NOTHING, _NOTHING))
        for target in on:
            last = last_done(done.get(task.id, []), target)
            since = Since.of(task, target, last)
            reckoned = reckon(task, intervals, since, sailed[_lives(target)], horizon)
            yield Standing(task, intervals, target, last, reckoned)


def last_done(rows: list[Row], target: Target) -> Row | None:
    """
    The last time a task was done on a target.

    What was done on a ship was done on the parts she had then; what was done on a part goes with it.
    """
    for row in rows:
        if row.part_id is not None:
            if row.part_id == target.part_id:
                return row
        elif row.ship_id in (None, target.ship_id) and not (target.fitted_on and target.fitted_on > row.done_on):
            return row
    return None


_Life = tuple[int | None, int | None, str]


def _lives(target: Target) -> _Life:
    """By what a target lives through sorties: a part by itself, else a zone of a ship."""
    return (target.part_id, None, "") if target.part_id is not None else (None, target.ship_id, target.zone)


def _trips(connection: sa.Connection, on: list[Target], today: date) -> dict[_Life, list[Trip]]:
    """The sorties that each target lived through."""
    parts = sorted({each.part_id for each in on if each.part_id is not None})
    places = {(each.ship_id, each.zone) for each in on if each.part_id is None and each.ship_id is not None}
    found: dict[_Life, list[Trip]] = {_lives(each): [] for each in on}
    if parts:
        found |= {(part, None, ""): trips for part, trips in use.trips(connection, parts, today).items()}
    if places:
        zones = upkeep.trips_in_zones(connection, places, today)
        found |= {(None, ship, zone): trips for (ship, zone), trips in zones.items()}
    return found
