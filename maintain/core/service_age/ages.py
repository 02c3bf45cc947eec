"""What parts had been through when they were first seen, last known to work, and found failed: the sample of a fit."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from maintain.core.exposure_rows import ExposureRows
from maintain.core.lives import Bools, Floats
from maintain.errors import InvalidRecord

Index = NDArray[np.intp]
NO_EFFECT = -1


@dataclass(frozen=True)
class Kinds:
    """
    What scales each part's hazard, by part.

    Attributes
    ----------
    family, zone, method : array of int, shape = (n,)
        Numbered from 0; NO_EFFECT where it has none (as it is for the untreated, to whom methods are compared).
    """

    family: Index
    zone: Index
    method: Index

    @classmethod
    def alike(cls, n: int) -> Kinds:
        """Return the kinds of parts that do not differ."""
        return cls(*(np.full(n, NO_EFFECT, dtype=np.intp) for _ in range(3)))

    def take(self, rows: Index | Bools | slice) -> Kinds:
        """Return those in `rows`."""
        return Kinds(self.family[rows], self.zone[rows], self.method[rows])


@dataclass(frozen=True)
class Ages:
    """
    Use of parts on several clocks at the ends of what was seen of them.

    As a part's hazard depends on its use alone, all the moments in between at which it worked cancel out of the
    likelihood: exp(-dH) of every interval multiplies up to that of the whole good time.

    Attributes
    ----------
    entry, alive, end : array, shape = (n, n_clocks)
        Use when observation began, when it was last known to work, and when it was found failed (for a part never
        found failed, `end` is `alive`). The first clock counts 1 a unit: days.
    failed : array of bool, shape = (n,)
    kinds : Kinds
    pace : array, shape = (n, n_clocks), optional
        Use in a day of service before first sight, of parts that had served by then nobody knows how long: their use
        counts from first sight. 0 for parts whose use is known; default: it is known of all.
    """

    entry: Floats
    alive: Floats
    end: Floats
    failed: Bools
    kinds: Kinds
    pace: Floats | None = None

    @property
    def n(self) -> int:
        """Parts."""
        return int(self.failed.size)

    @property
    def failures(self) -> int:
        """Parts found failed."""
        return int(self.failed.sum())

    @classmethod
    def none(cls, n_clocks: int) -> Ages:
        """Return no parts at all."""
        nothing = np.empty((0, n_clocks))
        return cls(nothing, nothing, nothing, np.empty(0, dtype=np.bool_), Kinds.alike(0))

    def take(self, rows: Index | Bools | slice) -> Ages:
        """Return the parts in `rows`."""
        pace = None if self.pace is None else self.pace[rows]
        return Ages(self.entry[rows], self.alive[rows], self.end[rows], self.failed[rows], self.kinds.take(rows), pace)

    @property
    def paces(self) -> Floats:
        """Use in a day of service before first sight, 0 of parts whose use is known."""
        return np.zeros_like(self.entry) if self.pace is None else self.pace

    @property
    def strangers(self) -> Index:
        """Rows of parts that had served nobody knows how long."""
        return np.flatnonzero(self.paces.any(axis=1))

    @property
    def acquainted(self) -> Index:
        """Rows of parts whose use is known."""
        return np.flatnonzero(~self.paces.any(axis=1))

    def on(self, clocks: list[int]) -> Ages:
        """Return the same parts on some of the clocks."""
        pace = None if self.pace is None else self.pace[:, clocks]
        return Ages(self.entry[:, clocks], self.alive[:, clocks], self.end[:, clocks], self.failed, self.kinds, pace)

    def checked(self) -> Ages:
        """
        Refuse what cannot be, naming the rows.

        Raises
        ------
        InvalidRecord
            If use is negative, missing or falls, or a failure took no time on any clock.
        """
        steps = np.stack([self.entry, self.alive - self.entry, self.end - self.alive])
        wrong = ~np.isfinite(steps).all(axis=(0, 2)) | (steps < 0).any(axis=(0, 2))
        wrong |= self.failed & ~(steps[2] > 0).any(axis=1)
        if wrong.any():
            rows = np.flatnonzero(wrong).tolist()
            raise InvalidRecord(f"use is negative, missing, falls, or a failure took none: parts {rows[:5]}", rows=rows)
        return self


def ages_from_rows(rows: ExposureRows, columns: list[int], entry: Floats, kinds: Kinds) -> Ages:
    """
    Add up exposure rows: one sweep over them, whatever their number.

    Parameters
    ----------
    rows : ExposureRows
        Sorted by part; a failing row is the last of its part.
    columns : list of int
        Clocks wanted, by their place in vocabulary.CLOCKS.
    entry : array, shape = (n_parts, len(columns))
        Use before the first row, by part number as in `rows.part`.
    kinds : Kinds
        By part number.

    Returns
    -------
    Ages
        One for each part that has rows, in order.
    """
    first = np.flatnonzero(np.append(True, rows.part[1:] != rows.part[:-1]))[: rows.part.size]
    part = rows.part[first]
    last = np.append(first[1:], rows.part.size) - 1
    failed = rows.failed[last]
    begun = entry[part]
    used = np.stack([np.add.reduceat(rows.gain[:, column], first) for column in columns], axis=1)
    dying = np.where(failed[:, None], rows.gain[last][:, columns], 0.0)
    return Ages(begun, begun + used - dying, begun + used, failed, kinds.take(part))
