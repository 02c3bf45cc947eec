"""When work that comes round falls due next: by the calendar, or by what was sailed since it was last done."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from maintain.core.recurrence import Interval, amount, days_later, season_part, told
from maintain.core.wording import count
from maintain.records.use import Trip
from maintain.services.horizon import Horizon
from maintain.services.tasks.targets import Target
from maintain.vocabulary import A_SEASON, TASK_STATES

_CALENDAR = ("days", A_SEASON)
_LATER = "later"
_PRESSING = (*TASK_STATES[:3], _LATER)


@dataclass(frozen=True)
class Since:
    """
    From when days and use count.

    Attributes
    ----------
    done : date, optional
        When the work was last done.
    fitted : date, optional
        When the part first served, if that is since the task was set up: it does not bear the use of the one before.
    set_up : date
        When the task was.
    after : int, optional
        Of that day, how many sorties were over when the work was done; None: all.
    """

    done: date | None
    fitted: date | None
    set_up: date
    after: int | None = None

    @classmethod
    def of(cls, task: Any, target: Target, last: Any) -> Since:
        """What is known of a task on a target, and the row of when it was last done on it."""
        first = target.first_fitted_on
        fitted = first if first and first > task.starts_on else None
        if last is None:
            return cls(None, fitted, task.starts_on)
        return cls(last.done_on, fitted, task.starts_on, last.done_sortie)

    def counts(self, trip: Trip) -> bool:
        """Whether a sortie is use since then."""
        later_that_day = self.after is not None and trip.sailed_on == self.day and trip.number > self.after
        return trip.sailed_on > self.day or later_that_day

    @property
    def day(self) -> date:
        """The day from which they count."""
        return self.done or self.fitted or self.set_up

    @property
    def fresh(self) -> bool:
        """Whether all was as it should be on that day."""
        return bool(self.done or self.fitted)

    def __str__(self) -> str:
        if self.done:
            return f"last done {self.done}"
        if self.fitted:
            return f"fitted {self.fitted}, not done since"
        return f"not done since {self.set_up}, when it was set up"


@dataclass(frozen=True)
class Reckoned:
    """How work stands: a state, the day that decides it, the next day of its calendar, what was counted, and why."""

    state: str
    due_on: date | None
    next_on: date | None
    counted: str
    why: str


def reckon(task: Any, intervals: Sequence[Interval], since: Since, trips: Sequence[Trip], horizon: Horizon) -> Reckoned:
    """The most pressing of a task's clocks; what is not due by the horizon is done, or not yet to be done."""
    next_on = _next_day(task, intervals, since)
    sailed = [trip for trip in trips if since.counts(trip)]
    counted = [_counted(each, sailed, horizon) for each in intervals if each.clock not in _CALENDAR]
    dated = [] if next_on is None else [(_state_of(next_on, horizon), f"by {next_on}")]
    worst = min((state for state, _ in (*dated, *counted)), key=_PRESSING.index, default=_LATER)
    decisive = ", ".join(words for state, words in (*dated, *counted) if state == worst)
    by_count = any(state != _LATER for state, _ in counted)
    decides = next_on is not None and next_on <= horizon.until and not (by_count and next_on > horizon.today)
    often = (told(intervals), decisive, str(since)) if intervals else ("to be done once", decisive)
    return Reckoned(
        state=("done" if since.done else "not yet") if worst == _LATER else worst,
        due_on=next_on if decides else None,
        next_on=next_on,
        counted=decisive,
        why="; ".join(filter(None, often)),
    )


def _next_day(task: Any, intervals: Sequence[Interval], since: Since) -> date | None:
    """The next day of the calendar clocks; a day that the task names is that of the first time, or of the only one."""
    if task.due_on is not None and since.done is None:
        first: date = task.due_on
        return first
    return min((_day(each, since) for each in intervals if each.clock in _CALENDAR), default=None)


def _day(interval: Interval, since: Since) -> date:
    if interval.clock == "days":
        return days_later(since.day, interval.every)
    _, last = season_part(since.day, interval.every)
    return season_part(days_later(last, 1), interval.every)[1] if since.fresh else last


def _state_of(day: date, horizon: Horizon) -> str:
    if day <= horizon.today:
        return "overdue" if day < horizon.today else "due"
    return "due soon" if day <= horizon.until else _LATER


def _counted(interval: Interval, trips: list[Trip], horizon: Horizon) -> tuple[str, str]:
    """How a clock of use stands, and its count in words."""
    now, unknown = _used(interval.clock, trips)
    ahead = {"sorties": horizon.sorties, "battle days": horizon.battle_days}.get(interval.clock, 0)
    # a sortie of which nobody noted the water may have been wet; how many shots an unknown one fired nobody can say
    perhaps = unknown if interval.clock in ("wet sorties", "immersions") else 0
    counted = f"{amount(round(now), interval.clock)} since"
    if unknown:
        counted = f"at least {counted} ({count(unknown, 'sortie')} of which nobody knows)"
    if now + perhaps >= interval.every:
        return ("overdue" if now > interval.every else "due"), counted
    if now + perhaps + ahead >= interval.every:
        return "due soon", f"{counted}, {ahead} more by then"
    return _LATER, counted


def _used(clock: str, trips: list[Trip]) -> tuple[float, int]:
    """Use on a clock, and sorties that may have added to it unrecorded."""
    if clock == "battle days":
        return len({trip.sailed_on for trip in trips}), 0
    each = [_use(clock, trip) for trip in trips]
    return sum(use for use in each if use is not None), each.count(None)


def _use(clock: str, trip: Trip) -> float | None:
    """What one sortie adds to a clock; None where nobody knows."""
    if clock == "minutes under":
        return trip.minutes_under if trip.covered else None if trip.covered is None else 0
    return {
        "sorties": 1,
        "minutes afloat": trip.minutes_afloat,
        "wet sorties": trip.wet,
        "immersions": trip.covered,
        "shots": trip.shots,
    }[clock]
