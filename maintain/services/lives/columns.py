"""Columns as the driver hands them over, made into arrays."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from maintain.core.exposure import NONE, Ints
from maintain.core.lives import Floats

Words = NDArray[np.object_]

NO_DAY = int(np.iinfo(np.int64).min)  # what numpy makes of a missing day
_PART = 2**40


def whole(values: Sequence[Any]) -> Ints:
    """Return whole numbers."""
    return np.array(values, dtype=np.int64)


def measured(values: Sequence[Any]) -> Floats:
    """Return measured values; nan where missing."""
    return np.array(values, dtype=np.float64)


def days(values: Sequence[Any]) -> Ints:
    """Return days since 1970 from ISO texts or dates; NO_DAY where missing."""
    return np.array(values, dtype="datetime64[D]").astype(np.int64)


def day_number(day: date) -> int:
    """Return days since 1970."""
    return int(days([day])[0])


def as_date(day: int) -> date:
    """Return the day of a number of days since 1970."""
    found: date = np.datetime64(day, "D").astype(object)
    return found


def words(values: Sequence[Any]) -> Words:
    """Return texts; "" where missing."""
    found = np.empty(len(values), dtype=object)
    found[:] = [value or "" for value in values]
    return found


def coded(values: Iterable[Any], vocabulary: Sequence[str]) -> Ints:
    """Return the place of each word in its vocabulary; NONE where missing."""
    place = {word: code for code, word in enumerate(vocabulary)}
    return np.array([place.get(value, NONE) for value in values], dtype=np.int64)


def places(ids: Ints, wanted: Ints) -> Ints:
    """Return the place of each wanted id among rising ids; NONE where it is not."""
    if not ids.size:
        return np.full(wanted.shape, NONE)
    at = np.minimum(np.searchsorted(ids, wanted), ids.size - 1)
    return np.where(ids[at] == wanted, at, NONE)


def last_up_to(owner: Ints, when: Ints, asked_owner: Ints, asked: Ints) -> Ints:
    """
    Return the row of each asked owner's last event at or before the asked time; NONE where there is none.

    Parameters
    ----------
    owner, when : array of int, shape = (n,)
        Sorted by owner, then time; times are days or moments.
    asked_owner, asked : array of int, shape = (m,)
    """
    row = np.searchsorted(owner * _PART + when, asked_owner * _PART + asked, side="right") - 1
    found = row >= 0
    found[found] = owner[row[found]] == asked_owner[found]
    return np.where(found, row, NONE)


def first_rows(owner: ArrayLike) -> NDArray[np.intp]:
    """Return the first row of each run of equal owners."""
    column = np.asarray(owner)
    return np.flatnonzero(np.append(True, column[1:] != column[:-1])) if column.size else np.empty(0, dtype=np.intp)
