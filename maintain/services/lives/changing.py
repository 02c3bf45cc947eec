"""What changes during a life: one row for each stretch in which it stays the same."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from maintain.core.exposure import LAST_SLOT, Ints, moment
from maintain.core.grouped import ALIVE
from maintain.core.lives import Floats, Lives
from maintain.services.lives.columns import first_rows, places
from maintain.services.lives.history import History
from maintain.services.lives.labels import renewals_of
from maintain.services.lives.table import Cohort, days_at, history_rows
from maintain.vocabulary import CLOCKS

RENEWALS = "renewals"
_CALLED = {"sinkings": "immersions"}
CHANGING = (*CLOCKS[1:], *_CALLED, RENEWALS)


@dataclass(frozen=True)
class _Gains:
    """What was added to a count of each life, and at which of its days."""

    life: Ints
    age: Floats
    gain: Floats


@dataclass(frozen=True)
class Stretches:
    """
    Lives cut into stretches, in order of life and time.

    Attributes
    ----------
    life : array of int
        Which life each row is a stretch of.
    lives : Lives
        On days; a failure counts when it was found.
    interval : array of int
        ALIVE, or for the stretches in which a part failed, after it was last known to work, which failure it was.
    counts : dict of array
        What each count had come to in that stretch.
    """

    life: Ints
    lives: Lives
    interval: Ints
    counts: dict[str, Floats]

    def from_age(self, ages: Floats) -> Stretches:
        """Return what was watched from an age of each life on; counts keep what they had come to by then."""
        entry = np.maximum(self.lives.entry, ages[self.life])
        kept = self.lives.lower > entry
        lives = Lives(entry[kept], self.lives.lower[kept], self.lives.upper[kept])
        counts = {name: each[kept] for name, each in self.counts.items()}
        return Stretches(self.life[kept], lives, self.interval[kept], counts)


def stretches(past: History, lived: Cohort, names: tuple[str, ...]) -> Stretches:
    """
    Cut lives on the clock of days wherever one of the counts changes, and where those that failed last worked for sure.

    Parameters
    ----------
    past : History
    lived : Cohort
        On the clock of days.
    names : tuple of str
        In CHANGING. What was added on the day a part failed counts for that failure; ages are whole days, so a count
        holds from the day before it is first seen.
    """
    rows = places(past.part, lived.part)
    entry = lived.lives.entry
    end = np.where(lived.lives.failed, lived.lives.upper, lived.lives.lower)
    gains = {name: _gains(past, name, rows, lived) for name in names}
    dying = np.flatnonzero(lived.lives.failed)
    life = np.concatenate([np.arange(rows.size), dying, *(each.life for each in gains.values())])
    start = np.concatenate([entry, lived.lives.lower[dying], *(each.age - 1 for each in gains.values())])
    here = (start >= entry[life]) & (start < end[life])
    cut = np.unique(np.column_stack((life[here], start[here])), axis=0)
    life, start = cut[:, 0].astype(np.int64), cut[:, 1]
    last = np.append(first_rows(life)[1:], life.size) - 1
    stop = np.append(start[1:], 0.0)
    stop[last] = end
    failed = np.zeros(life.size, dtype=bool)
    failed[last] = lived.lives.failed
    counts = {name: _counted(each, life, start) for name, each in gains.items()}
    number = np.cumsum(lived.lives.failed) - 1
    between = lived.lives.failed[life] & (start >= np.maximum(lived.lives.lower, entry)[life])
    interval = np.where(between, number[life], ALIVE)
    return Stretches(life, Lives(start, stop, np.where(failed, stop, np.inf)), interval, counts)


def _gains(past: History, name: str, rows: Ints, lived: Cohort) -> _Gains:
    place = np.full(past.part.size, -1)
    place[rows] = np.arange(rows.size)
    if name == RENEWALS:
        owner, day = renewals_of(past)
        age = days_at(past, owner, moment(day, LAST_SLOT))
        kept = place[owner] >= 0
        return _Gains(place[owner[kept]], age[kept], np.ones(int(kept.sum())))
    told = history_rows(past)
    days = np.cumsum(told.gain[:, 0])
    first = first_rows(told.part)
    before = np.repeat(days[first] - told.gain[first, 0], np.diff(np.append(first, told.part.size)))
    life, gain = place[told.part], told.gain[:, CLOCKS.index(_CALLED.get(name, name))]
    kept = (life >= 0) & (gain > 0)
    age = lived.lives.entry[life[kept]] + (days - before)[kept]
    return _Gains(life[kept], age, gain[kept])


def _counted(gains: _Gains, life: Ints, start: Floats) -> Floats:
    """The sum of what was added up to the day after each stretch began."""
    order = np.lexsort((gains.age, gains.life))
    keys = np.column_stack((gains.life, gains.age))[order]
    running = np.concatenate(([0.0], np.cumsum(gains.gain[order])))
    span = max(float(np.max(gains.age, initial=0.0)), float(start.max(initial=0.0))) + 3
    upto = np.searchsorted(keys[:, 0] * span + keys[:, 1], life * span + start + 1, side="right")
    since = np.searchsorted(keys[:, 0], life, side="left")
    return np.asarray(running[upto] - running[since])
