"""Tasks listed by how they stand, and one with its history."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import sqlalchemy as sa

from maintain.core.recurrence import told
from maintain.core.wording import count
from maintain.errors import NotFound
from maintain.records import find, upkeep
from maintain.results.base import Column, Listing
from maintain.results.tasks import TaskPage, TaskState, TaskTime
from maintain.services.horizon import Horizon, until_battle, until_day
from maintain.services.tasks.standing import Standing, standings
from maintain.services.tasks.targets import Target, scope_of
from maintain.services.unit import Desk, reading
from maintain.vocabulary import TASK_STATES

_ON_SCREEN = 40
_COLUMNS = (
    Column("title", "Task"),
    Column("state", "State"),
    Column("on", "On"),
    Column("ship", "Ship", on_screen=False),
    Column("position", "Position", on_screen=False),
    Column("part", "Part", on_screen=False),
    Column("every", "How often"),
    Column("last_done", "Last done"),
    Column("due_on", "Due", on_screen=False),
    Column("counted", "Day or count"),
    Column("why", "Why", on_screen=False),
    Column("work_minutes", "Minutes", numeric=True, on_screen=False),
    Column("source", "Source", on_screen=False),
    Column("decider", "Who decides", on_screen=False),
)


@dataclass(frozen=True)
class Filter:
    """Which tasks: of a ship, on parts of a category, overdue only, and how many at the most."""

    ship: str | None = None
    category: str | None = None
    overdue: bool = False
    limit: int | None = None


def listing(desk: Desk, wanted: Filter) -> Listing:
    """Every open task on everything it is done on, the most pressing first; due soon is by the next battle's end."""
    with reading(desk) as connection:
        ship = find.ship(connection, wanted.ship).name if wanted.ship else None
        horizon = ahead(connection, desk)
        every = standings(connection, horizon)
    found = [each for each in every if _asked(each, ship, wanted)]
    late = sum(each.reckoned.state == "overdue" for each in found)
    footer = [f"{count(late, 'task')} overdue"] if late and not wanted.overdue else []
    empty = "none that is asked for" if every else "none yet; see what is usual: maintain task suggest"
    rows = tuple(_row(each) for each in sorted(found, key=_pressing))
    made = Listing("Tasks", _COLUMNS, rows, tuple(footer), empty=empty, on_screen=_ON_SCREEN)
    return made if wanted.limit is None else made.cut(wanted.limit)


def ahead(connection: sa.Connection, desk: Desk) -> Horizon:
    """What lies before the end of the next battle; today alone, where none is planned."""
    try:
        return until_battle(connection, desk.today, None)[1]
    except NotFound:
        return until_day(connection, desk.today, desk.today)


def _asked(standing: Standing, ship: str | None, wanted: Filter) -> bool:
    on = standing.target or Target(category=standing.task.category, ship=standing.task.ship)
    return (
        ship in (None, on.ship)
        and wanted.category in (None, on.category)
        and (not wanted.overdue or standing.reckoned.state == "overdue")
    )


def _pressing(standing: Standing) -> tuple[Any, ...]:
    on = standing.target or Target()
    where = ((on.ship or "").lower(), standing.task.title.lower(), on.position or "", on.part or "")
    return TASK_STATES.index(standing.reckoned.state), *where


def _row(standing: Standing) -> dict[str, Any]:
    task, on, reckoned = standing.task, standing.target, standing.reckoned
    place = f"{on.ship}/{on.position}" if on and on.position else on.ship if on else None
    return {
        "title": task.title,
        "state": reckoned.state,
        "on": place or scope_of(task),
        "ship": on.ship if on else None,
        "position": on.position if on else None,
        "part": on.part if on else None,
        "every": told(standing.intervals) or "once",
        "due_on": reckoned.next_on,
        "last_done": standing.done.done_on if standing.done else None,
        "counted": reckoned.counted,
        "why": reckoned.why,
        "work_minutes": task.work_minutes,
        "source": task.source,
        "decider": task.decider,
    }


def page(desk: Desk, *, title: str) -> TaskPage:
    """A task, open or closed, with how it stands and every time it was done; of several of a title, the latest."""
    with reading(desk) as connection:
        known = [row for row in upkeep.tasks(connection) if row.starts_on <= desk.today]
        named = find.match(sorted({row.title for row in known}), title, "task", "maintain task list")
        task = max((row for row in known if row.title == named), key=lambda row: (row.closed_on is None, row.id))
        often = upkeep.intervals(connection).get(task.id, ())
        now = [each for each in standings(connection, ahead(connection, desk)) if each.task.id == task.id]
        times = upkeep.completions(connection, desk.today, task.id)
    closed = task.closed_on is not None and task.closed_on <= desk.today
    facts = ("due_on", "starts_on", "source", "decider", "work_minutes", "note")
    return TaskPage(
        title=task.title,
        every=told(often) or None,
        on=scope_of(task),
        closed_on=task.closed_on if closed else None,
        why_closed=task.why_closed if closed else None,
        states=tuple(_state(each) for each in sorted(now, key=_pressing)),
        times=tuple(TaskTime(row.done_on, row.ship, row.tag, row.by, row.note) for row in times),
        **{key: getattr(task, key) for key in facts},
    )


def _state(standing: Standing) -> TaskState:
    on, reckoned = standing.target or Target(), standing.reckoned
    return TaskState(
        ship=on.ship,
        position=on.position,
        part=on.part,
        state=reckoned.state,
        due_on=reckoned.next_on,
        counted=reckoned.counted,
        why=reckoned.why,
        last_done=standing.done.done_on if standing.done else None,
    )
