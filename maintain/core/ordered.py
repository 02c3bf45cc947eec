"""Times in order, and counts along them: fast enough for a million lives."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor

import numpy as np
from numpy.typing import NDArray

from maintain.core.lives import Floats

Counts = NDArray[np.int64]

_KEYS = 2**16  # numpy sorts keys of 16 bits by counting, many times faster than floats by comparing
_MANY = 2**16  # times for which that is worth the trouble
_SAMPLED = 4096


def all_in_order(*columns: Floats) -> list[Floats]:
    """Return each column sorted; numpy frees the interpreter while it sorts, so large ones are sorted side by side."""
    if sum(each.size for each in columns) < _MANY:
        return [np.sort(each) for each in columns]
    with ThreadPoolExecutor(2) as workers:
        return list(workers.map(in_order, columns))


def in_order(times: Floats) -> Floats:
    """
    Return times sorted.

    Times written down to the hour or day stand each for many: they are counted, not sorted. Others are sorted by keys
    of 24 bits in two passes, and the little that shares a key is put right at the end.

    Examples
    --------
    >>> in_order(np.array([3.0, 1.5, 3.0])).tolist()
    [1.5, 3.0, 3.0]
    """
    if times.size < _MANY:
        return np.sort(times)
    low, high = float(times.min()), float(times.max())
    if not high - low > 1e-270:
        return np.sort(times)
    scaled = times - low
    scaled *= (_KEYS * 2.0**8 - 1) / (high - low)
    key = scaled.astype(np.uint32)
    upper = (key >> 8).astype(np.uint16)
    counted = _counted(times, upper)
    if counted is not None:
        return counted
    by_lower = np.argsort(key.astype(np.uint8), kind="stable")
    found = times.take(by_lower.take(np.argsort(upper.take(by_lower), kind="stable")))
    return found if (found[1:] >= found[:-1]).all() else np.sort(found, kind="stable")


def _counted(times: Floats, key: NDArray[np.uint16]) -> Floats | None:
    """Return times sorted if each key stands for one time only, else None; a sample tells most others at once."""
    some = slice(None, None, times.size // _SAMPLED)
    if _time_of_key(times[some], key[some]) is None:
        return None
    time_of = _time_of_key(times, key)
    return None if time_of is None else np.repeat(time_of, np.bincount(key, minlength=_KEYS))


def _time_of_key(times: Floats, key: NDArray[np.uint16]) -> Floats | None:
    time_of = np.zeros(_KEYS)
    time_of[key] = times
    return time_of if (time_of.take(key) == times).all() else None


def distinct(ordered: Floats) -> tuple[Floats, Counts]:
    """Return the distinct values of sorted times, and how often each occurs."""
    starts = np.flatnonzero(np.concatenate(([True], ordered[1:] != ordered[:-1]))[: ordered.size])
    return ordered[starts], np.diff(np.append(starts, ordered.size))


def before(bounds: Floats, times: Floats) -> Counts:
    """
    Return how many of `bounds` are less than each of `times`; both are sorted.

    Where both are long they are merged: numpy's stable sort sees that they are two sorted runs.

    Examples
    --------
    >>> before(np.array([1.0, 2.0, 2.0]), np.array([1.0, 2.0, 3.0])).tolist()
    [0, 1, 3]
    """
    if min(bounds.size, times.size) < _MANY:
        return np.searchsorted(bounds, times, side="left")
    merged = np.argsort(np.concatenate((times, bounds)), kind="stable")
    found = np.flatnonzero(merged < times.size)
    found -= np.arange(times.size)
    return found
