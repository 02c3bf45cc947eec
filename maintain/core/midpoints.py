"""Failures known only to an interval, counted at its middle: what that does to a life curve."""

from __future__ import annotations

import numpy as np

from maintain.core.curve import survival_curve
from maintain.core.lives import Lives
from maintain.core.turnbull import interval_curve

READINGS = 1000


def at_middle(lives: Lives) -> Lives:
    """Return the same lives, with every failure at the middle of the interval in which it was watched and failed."""
    watched = np.maximum(lives.lower, lives.entry)
    middle = np.where(lives.failed, watched / 2 + np.where(lives.failed, lives.upper, 0) / 2, lives.lower)
    return Lives(lives.entry, middle, np.where(lives.failed, middle, np.inf))


def moved_by_intervals(lives: Lives) -> float:
    """
    Return how far a life curve moves where intervals are allowed for in full rather than counted at their middles.

    Parameters
    ----------
    lives : Lives
        With at least one failure.

    Returns
    -------
    float
        The difference between both shares still working, without its sign, on average from the first entry to the
        longest time seen. Failures are spread evenly within innermost intervals.

    Examples
    --------
    >>> from maintain.core.lives import lives_from_intervals
    >>> round(moved_by_intervals(lives_from_intervals([0, 10], [10, 20])), 3)  # a quarter: half of each half
    0.125
    """
    full, middles = interval_curve(lives), survival_curve(at_middle(lives))
    step = (full.end - full.start) / READINGS
    times = full.start + step * (np.arange(READINGS) + 0.5)
    shares = middles.survival_at(np.minimum(times, middles.end)).survival
    return float(np.mean(np.abs(full.spread_evenly(times) - shares)))
