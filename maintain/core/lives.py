"""The one shape in which every estimator takes its data: lives on one clock, and the one validator that makes them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from maintain.errors import InvalidRecord

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]

GREATEST = 1e280  # whatever the unit of time, numbers stay within this and its inverse


@dataclass(frozen=True)
class Lives:
    """
    Lives of parts on one clock.

    Attributes
    ----------
    entry : array, shape = (n,)
        Use already on the part when observation began (left truncation); 0 where it was seen from new.
    lower, upper : array, shape = (n,)
        The failure lies in (lower, upper]. Exact failure: lower == upper. Still working when last seen
        (right-censored): upper is inf.
    """

    entry: Floats
    lower: Floats
    upper: Floats

    @property
    def n(self) -> int:
        """Number of lives."""
        return int(self.lower.size)

    @property
    def failed(self) -> Bools:
        """True where the part failed (at an exact time or within an interval)."""
        return np.isfinite(self.upper)

    @property
    def failures(self) -> int:
        """Number of failures."""
        return int(self.failed.sum())

    @property
    def interval_censored(self) -> bool:
        """True if any failure is known only to an interval."""
        return bool(np.any(self.failed & (self.lower < self.upper)))

    def take(self, rows: NDArray[np.intp] | Bools) -> Lives:
        """Return the lives in `rows` (indices or mask)."""
        return Lives(self.entry[rows], self.lower[rows], self.upper[rows])


def lives_from_times(time: ArrayLike, failed: ArrayLike | None = None, entry: ArrayLike | None = None) -> Lives:
    """
    Make lives from exact times.

    Parameters
    ----------
    time : array-like, shape = (n,)
        Use on the part when it failed or was last seen working.
    failed : array-like of bool, shape = (n,), optional
        True if it failed then, False if it was still working (right-censored). Default: all failed.
    entry : array-like, shape = (n,), optional
        Use already on it when observation began. Default: 0.

    Raises
    ------
    InvalidRecord
        If any time is missing, infinite or not positive, or any entry is negative or not before its time;
        names all such rows (from 1).

    Examples
    --------
    >>> lives_from_times([5, 8], [True, False]).upper.tolist()
    [5.0, inf]
    """
    out = np.asarray(time, dtype=np.float64)
    fail = np.ones(out.shape, dtype=bool) if failed is None else np.asarray(failed, dtype=bool)
    return lives_from_intervals(out, np.where(fail, out, np.inf), entry)


def lives_from_intervals(lower: ArrayLike, upper: ArrayLike, entry: ArrayLike | None = None) -> Lives:
    """
    Make lives whose failures lie in (lower, upper].

    Parameters
    ----------
    lower : array-like, shape = (n,)
        Last use at which the part was known to work; equal to `upper` for an exact time.
    upper : array-like, shape = (n,)
        Use at which it was found failed; inf if it was still working when last seen.
    entry : array-like, shape = (n,), optional
        Use already on it when observation began. Default: 0.

    Raises
    ------
    InvalidRecord
        As `lives_from_times`; also if lower exceeds upper.
    """
    low, high = np.asarray(lower, dtype=np.float64), np.asarray(upper, dtype=np.float64)
    into = np.zeros(low.shape) if entry is None else np.asarray(entry, dtype=np.float64)
    if not (low.ndim == 1 and low.shape == high.shape == into.shape):
        raise InvalidRecord(f"lives need columns of one length: {low.shape}, {high.shape}, {into.shape}")
    faults = life_faults(into, low, high)
    if faults:
        shown = "; ".join(f"row {row}: {why}" for row, why in faults[:20]) + (" ..." if len(faults) > 20 else "")
        raise InvalidRecord(
            f"{len(faults)} of {low.size} lives refused: {shown}",
            hint="mend or leave out these rows; nothing was computed",
            rows=[{"row": row, "reason": why} for row, why in faults],
        )
    return Lives(into, low, high)


def _unwieldy(times: Floats) -> Bools:
    """Tell times whose multiples and sums would leave the floats."""
    return np.isfinite(times) & (times > 0) & ~((times > 1 / GREATEST) & (times < GREATEST))


def life_faults(entry: Floats, lower: Floats, upper: Floats) -> list[tuple[int, str]]:
    """List every (row from 1, reason) that keeps these columns from being lives; one reason a row, in row order."""
    censored = np.isposinf(upper)
    reasons = (
        (np.isnan(lower) | np.isnan(upper) | np.isinf(lower), "time is missing or not a number"),
        (np.isnan(entry) | np.isinf(entry), "entry is missing or not a number"),
        ((lower < 0) | (upper < 0), "time is negative"),
        (entry < 0, "entry is negative"),
        (lower > upper, "lower is after upper"),
        ((upper == 0) | (censored & (lower == 0)), "time is zero: nothing was observed"),
        (_unwieldy(lower) | _unwieldy(upper) | _unwieldy(entry), "time is too large or small a number: choose a unit"),
        (
            np.where(censored | (lower == upper), lower, upper) <= entry,
            "entry is not before the time of exit",
        ),
    )
    found: dict[int, str] = {}
    for bad, why in reasons:
        for row in np.flatnonzero(bad).tolist():
            found.setdefault(row + 1, why)
    return sorted(found.items())
