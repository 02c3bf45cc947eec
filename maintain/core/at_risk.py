"""Who was under observation when: the counts from which every non-parametric estimate and test is built."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from maintain.core.lives import Bools, Floats, Lives
from maintain.core.wording import count
from maintain.errors import InvalidRecord, NotEnoughData

Codes = NDArray[np.intp]

MOST_NAMED = 20


@dataclass(frozen=True)
class Observed:
    """
    Lives as exact times: under observation in (entry, exit].

    Attributes
    ----------
    entry, exit : array, shape = (n,)
    failed : array of bool, shape = (n,)
        True if it failed at `exit`. A failure known only to an interval counts when it was found.
    """

    entry: Floats
    exit: Floats
    failed: Bools

    def at_risk(self, times: Floats) -> Floats:
        """Return how many were under observation just before each of `times` (entry < t <= exit)."""
        return still_in(self.exit, times) - still_in(self.entry, times)


def observed(lives: Lives) -> Observed:
    """Return the lives as exact times; `found_late_caution` says what that does to interval-censored failures."""
    return Observed(lives.entry, np.where(lives.failed, lives.upper, lives.lower), lives.failed)


def found_late_caution(lives: Lives) -> list[str]:
    """Return the caution owed to the reader where failures were seen only at a check, else nothing."""
    late, failures = int(np.sum(lives.failed & (lives.lower < lives.upper))), count(lives.failures, "failure")
    return (
        [f"{late} of {failures} {'is' if late == 1 else 'are'} known only to an interval; each counts when found"]
        if late
        else []
    )


def refuse_overlaps(lives: Lives, part: ArrayLike) -> None:
    """
    Refuse rows in which one part is under observation twice at once, or goes on after it failed.

    Parameters
    ----------
    lives : Lives
        Several rows a part are right where its circumstances change: each from a start to a stop.
    part : array-like, shape = (n,)
        Label of each row's part.

    Raises
    ------
    InvalidRecord
        Naming both rows (from 1) of each pair; `rows` are the later ones, `others` the earlier ones.

    Examples
    --------
    >>> from maintain.core.lives import lives_from_times
    >>> refuse_overlaps(lives_from_times([5, 9], [False, True], [0, 5]), ["S7", "S7"])
    """
    seen, code = observed(lives), codes_of(part, lives.n, "part")[1]
    order = np.lexsort((seen.exit, seen.entry, code))
    same = code[order][1:] == code[order][:-1]
    early = seen.entry[order][1:] < seen.exit[order][:-1]
    bad = same & (early | seen.failed[order][:-1])
    if bad.any():
        pairs = sorted(zip((order[1:][bad] + 1).tolist(), (order[:-1][bad] + 1).tolist(), strict=True))
        shown = "; ".join(f"row {row}: {overlap_words(other)}" for row, other in pairs[:MOST_NAMED])
        raise InvalidRecord(
            shown + (" ..." if len(pairs) > MOST_NAMED else ""),
            hint="give each part one row, or rows that follow one another",
            rows=[row for row, _ in pairs],
            others=[other for _, other in pairs],
        )


def overlap_words(other: int) -> str:
    """Say what is wrong with a row, by the row that it does not go with."""
    return f"the same part is already under observation, or had failed, in row {other}"


def still_in(bounds: Floats, times: Floats) -> Floats:
    """Return how many of `bounds` are at or after each of `times`."""
    ordered = np.sort(bounds)
    return (ordered.size - np.searchsorted(ordered, times, side="left")).astype(np.float64)


def step_at(times: Floats, values: Floats, wanted: ArrayLike, *, start: float = 0.0, before: bool = False) -> Floats:
    """Return the right-continuous step function (times, values) at `wanted`, or just `before` it; `start` at first."""
    places = np.searchsorted(times, np.asarray(wanted, dtype=np.float64), side="left" if before else "right")
    steps: Floats = np.concatenate(([start], values))
    return steps[places]


def total_by(codes: Codes, values: Floats, size: int = 0) -> Floats:
    """Return the sum of `values` for each code from 0 up (at least `size` of them)."""
    return np.bincount(codes, values, size).astype(np.float64, copy=False)


def total_while(first: Codes, last: Codes, values: Floats, size: int) -> Floats:
    """Return, for each of `size` failure times j, the sum of `values` over the lives with first <= j < last."""
    leaving, coming = (total_by(codes, values, size + 1) for codes in (last, first))
    total: Floats = (np.cumsum(leaving[::-1]) - np.cumsum(coming[::-1]))[::-1][1:]
    return total


def codes_of(labels: ArrayLike, n: int, what: str) -> tuple[tuple[str, ...], Codes]:
    """
    Return the sorted distinct labels and the place of each life's label among them.

    Raises
    ------
    InvalidRecord
        If there is not one label a life, or one is missing; names the rows (from 1).
    """
    column = np.asarray(labels)
    if column.shape != (n,):
        raise InvalidRecord(f"{what}: {n} lives need {n} labels, got an array of shape {column.shape}")
    refuse_missing(column, what)
    values, codes = np.unique(column.astype(str) if column.dtype.kind == "O" else column, return_inverse=True)
    return tuple(str(value) for value in values.tolist()), codes.astype(np.intp)


def require_two(names: tuple[str, ...]) -> None:
    """Raise NotEnoughData unless there are two groups or more to compare."""
    if len(names) < 2:
        raise NotEnoughData(
            f"only one group ({', '.join(names) or 'no lives'}): nothing to compare it with",
            hint="group them by something that differs among these lives, or leave fewer lives out",
        )


def refuse_missing(column: NDArray[Any], what: str) -> None:
    """Raise InvalidRecord naming the rows (from 1) in which a column holds no value."""
    if column.dtype.kind == "f":
        missing = ~np.isfinite(column)
    elif column.dtype.kind == "O":
        missing = np.array([value is None or str(value) == "nan" for value in column], dtype=bool)
    else:
        return
    if missing.any():
        rows = (np.flatnonzero(missing) + 1).tolist()
        raise InvalidRecord(
            f"{what} is missing in {name_rows(rows)}", hint="fill it in or leave these rows out", rows=rows
        )


def name_rows(rows: Sequence[int]) -> str:
    """Return "row 3" or "rows 3, 7, 9 ..." for a message; at most twenty are named."""
    shown = ", ".join(str(row) for row in rows[:20]) + (" ..." if len(rows) > 20 else "")
    return f"row{'s' if len(rows) > 1 else ''} {shown}"
