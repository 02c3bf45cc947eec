"""Tasks set up, mended and stopped: work that comes round on one clock or several, and promises for a day."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

import sqlalchemy as sa

from maintain.core.recurrence import Interval, parse_intervals, told
from maintain.errors import InvalidRecord, NotFound
from maintain.records import find, upkeep
from maintain.records import tables as t
from maintain.records.journal import Recorder
from maintain.results.base import Done
from maintain.services import changes
from maintain.services.tasks.targets import scope_of
from maintain.services.unit import Desk, writing

_FAR_AHEAD = timedelta(days=3653)  # a promise for a day beyond is a slip of the year


@dataclass(frozen=True)
class Scope:
    """What a task is done on, as people call it: parts that are all that is named, a position, a ship, or the club."""

    ship: str | None = None
    position: str | None = None
    part: str | None = None
    family: str | None = None
    category: str | None = None

    def ids(self, connection: sa.Connection) -> dict[str, Any]:
        """The columns of a task that name it."""
        names = {"ship": find.ship, "position": find.position, "part": find.part, "family": find.family}
        found = {
            f"{key}_id": look_up(connection, text).id for key, look_up in names.items() if (text := vars(self)[key])
        }
        return {**found, "category": self.category}


def add(desk: Desk, *, title: str, scope: Scope, every: Sequence[str], **facts: Any) -> Done:
    """
    Add work that comes round, or a promise for a day.

    Parameters
    ----------
    desk : Desk
    title : str
    scope : Scope
    every : sequence of str
        How often: "2 battle days", "1 immersion"; due as soon as any is reached.
    **facts
        Columns of the task: due_on (of a promise; else of the first time), source, decider, work_minutes, note.

    Raises
    ------
    InvalidRecord
        If it never falls due, or an open task has that title.
    """
    intervals = parse_intervals(every)
    due_on = facts["due_on"]
    if not intervals and due_on is None:
        raise InvalidRecord(
            f"{title!r} has neither --every nor --due", hint="write --every '2 battle days', or --due DATE"
        )
    with writing(desk, "task add") as recorder:
        title = new_title(recorder.connection, title)
        notes = _odd_day(due_on, desk.today)
        insert(recorder, intervals, title=title, starts_on=desk.today, **scope.ids(recorder.connection), **facts)
        often = f", {told(intervals)}" if intervals else f", by {due_on}"
        did = f"added task {title!r}{often}"
        recorder.summarise(did)
    return Done(did, notes=notes, record={"task": title, "every": told(intervals) or None, "due_on": due_on})


def insert(recorder: Recorder, intervals: Sequence[Interval], **values: Any) -> int:
    """Add the row of a task, and one for each further clock."""
    first = {"every": intervals[0].every, "clock": intervals[0].clock} if intervals else {}
    task_id = recorder.insert(t.task, **values, **first)
    for each in intervals[1:]:
        recorder.insert(t.task_interval, task_id=task_id, every=each.every, clock=each.clock)
    return task_id


def new_title(connection: sa.Connection, text: str, but: str | None = None) -> str:
    """
    A title as it is kept, that no open task has (`but` the one that is renamed).

    Raises
    ------
    InvalidRecord
        If it can't be read in a line, or is taken.
    """
    title = " ".join(filter(None, text.split(" ")))
    if not title or not title.isprintable():
        raise InvalidRecord(f"{text!r} is no title of a task", hint="write what is to be done, in one line")
    titles = [row.title for row in upkeep.open_tasks(connection) if row.title != but]
    same = next((each for each in titles if each.lower() == title.lower()), None)
    if same is not None:
        raise InvalidRecord(
            f"there is an open task {same!r} already", hint="choose another title, or mend it: maintain task change"
        )
    return title


def find_open(connection: sa.Connection, title: str) -> list[Any]:
    """The open tasks that a text means: one, unless several have the very same title."""
    tasks = upkeep.open_tasks(connection)
    named = find.match(sorted({row.title for row in tasks}), title, "open task", "maintain task list")
    return [row for row in tasks if row.title == named]


def the_open(connection: sa.Connection, title: str) -> Any:
    """
    The one open task that a text means.

    Raises
    ------
    NotFound
        If there is none, or several of that title.
    """
    found = find_open(connection, title)
    if len(found) > 1:
        raise NotFound(
            f"{len(found)} open tasks are called {found[0].title!r}",
            hint="name the ship or part they are done on; rename them in tasks.csv: maintain export, then import",
        )
    return found[0]


def _odd_day(due_on: date | None, today: date) -> tuple[str, ...]:
    """
    What is odd about the day of a promise, if anything.

    Raises
    ------
    InvalidRecord
        If it can only be a slip.
    """
    if due_on is None:
        return ()
    if due_on > today + _FAR_AHEAD:
        raise InvalidRecord(f"{due_on} is more than ten years ahead", hint="check the year")
    return (f"{due_on} is past: it is overdue from the start",) if due_on < today else ()


def change(desk: Desk, *, title: str, every: Sequence[str], facts: dict[str, Any]) -> Done:
    """
    Mend an open task: how often it comes round, and facts of it; those that are None stay as they are.

    Raises
    ------
    NotFound, InvalidRecord
        If there is no such task, or nothing is to be different.
    """
    intervals = parse_intervals(every)
    with writing(desk, "task change") as recorder:
        connection = recorder.connection
        row = the_open(connection, title)
        before = upkeep.intervals(connection).get(row.id, ())
        renewed = bool(intervals) and intervals != before
        if facts.get("title") is not None:
            facts = {**facts, "title": new_title(connection, facts["title"], but=row.title)}
        named = any(value is not None for value in facts.values())
        if intervals and not (renewed or named):
            raise InvalidRecord(f"{row.title}: is so already", hint="see: maintain task show")
        new = changes.differing(row, row.title, facts) if named or not intervals else {}
        notes = _odd_day(new.get("due_on"), desk.today)
        recorder.update(t.task, row.id, **new)
        said = [changes.told(row, new)] if new else []
        if renewed:
            _set_intervals(recorder, row.id, intervals)
            said.append(f"{told(before) or 'once'} to {told(intervals)}")
        did = f"changed {row.title}: {', '.join(said)}"
        recorder.summarise(did)
    return Done(
        did, notes=notes, record={"task": new.get("title", row.title), "every": told(intervals or before) or None}
    )


def _set_intervals(recorder: Recorder, task_id: int, intervals: Sequence[Interval]) -> None:
    """Put a task on other clocks; a promise that is put on one comes round from now on."""
    first, *further = intervals
    more = t.task_interval
    for row_id in recorder.connection.execute(sa.select(more.c.id).where(more.c.task_id == task_id)).scalars().all():
        recorder.delete(more, row_id)
    recorder.update(t.task, task_id, every=first.every, clock=first.clock)
    for each in further:
        recorder.insert(more, task_id=task_id, every=each.every, clock=each.clock)


def close(desk: Desk, *, title: str, reason: str) -> Done:
    """Stop a task; what was done stays on record."""
    with writing(desk, "task close") as recorder:
        row = the_open(recorder.connection, title)
        why = reason.strip()
        if not why:
            raise InvalidRecord(f"why is {row.title!r} to stop?", hint="say it with --reason")
        recorder.update(t.task, row.id, closed_on=desk.today, why_closed=why)
        on = scope_of(row)
        did = f"closed {row.title}" + (f" ({on})" if on else "") + f": {why}"
        recorder.summarise(did)
    return Done(did, record={"task": row.title, "closed_on": desk.today})
