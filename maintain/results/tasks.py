"""A task and its history, and what the trade would do again and again."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from maintain.results.base import Result


@dataclass(frozen=True)
class TaskState:
    """A task on one thing it is done on: where, how it stands, by what day or count, why, and when it was last done."""

    ship: str | None
    position: str | None
    part: str | None
    state: str
    due_on: date | None
    counted: str
    why: str
    last_done: date | None


@dataclass(frozen=True)
class TaskTime:
    """One time a task was done; None of a ship or part: on all it is done on."""

    done_on: date
    ship: str | None
    part: str | None
    by: str | None
    note: str | None


@dataclass(frozen=True)
class TaskPage(Result):
    """
    All that is known of a task.

    Attributes
    ----------
    every : str, optional
        How often, in words; None: once.
    on : str, optional
        What it is done on; None: the club as a whole.
    source, decider : str, optional
        Who says so, and who decides.
    states : tuple of TaskState
        The most pressing first; none of a closed task.
    times : tuple of TaskTime
        The last first.
    """

    title: str
    every: str | None
    on: str | None
    due_on: date | None
    starts_on: date
    closed_on: date | None
    why_closed: str | None
    source: str | None
    decider: str | None
    work_minutes: int | None
    note: str | None
    states: tuple[TaskState, ...]
    times: tuple[TaskTime, ...]
