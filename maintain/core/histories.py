"""Failures of units that are repaired and go on: who was watched, when it failed, and what shares its luck.

One sinking kills five pumps of a ship on one day: such failures are not five pieces of news. Where it is known which
units share their luck, spread is taken between whole clusters of them, never between units.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from maintain.core.at_risk import Codes, codes_of, name_rows, total_by
from maintain.core.lives import Bools, Floats
from maintain.errors import InvalidRecord, NotEnoughData

LEAST_CLUSTERS = 5  # with failures, to see how unlike they are; common practice, no source


@dataclass(frozen=True)
class Histories:
    """
    Failures of several units, each watched over one window of its own time.

    Attributes
    ----------
    units : tuple of str
    start, end : array, shape = (n_units,)
        Each unit was watched over (start, end]; a failure at the very end counts.
    unit : array of int, shape = (n_failures,)
        Place of the failing unit in `units`.
    time : array, shape = (n_failures,)
        Time of each failure on the unit's own clock, in order of unit, then time.
    cluster : array of int, shape = (n_units,), optional
        Units with the same number share their luck, as those of one ship do. None: each unit has its own.
    event : array of int, shape = (n_failures,), optional
        Failures of a cluster with the same number came together, as those of one sinking do. None: those at one time.
    """

    units: tuple[str, ...]
    start: Floats
    end: Floats
    unit: Codes
    time: Floats
    cluster: Codes | None = None
    event: Codes | None = None

    @property
    def failures(self) -> int:
        """Number of failures of all units."""
        return int(self.time.size)

    def take(self, units: Bools) -> Histories:
        """Return the histories of some units only."""
        failed, place = units[self.unit], np.cumsum(units) - 1
        return Histories(
            tuple(name for name, chosen in zip(self.units, units.tolist(), strict=True) if chosen),
            self.start[units],
            self.end[units],
            place[self.unit[failed]].astype(np.intp),
            self.time[failed],
            None if self.cluster is None else self.cluster[units],
            None if self.event is None else self.event[failed],
        )


@dataclass(frozen=True)
class Sharing:
    """
    Which failures are one piece of news.

    Attributes
    ----------
    whole : bool
        True: all failures of a cluster; False: there are too few clusters to tell how unlike they are, and failures
        of one event are taken together.
    code : array of int, shape = (n_failures,)
        The cluster or event of each failure, from 0 up without gaps.
    count : int
    """

    whole: bool
    code: Codes
    count: int


def sharing(watched: Histories) -> Sharing | None:
    """Return which failures are one piece of news; None if each is its own, as far as is known."""
    if watched.cluster is None:
        return None
    cluster = watched.cluster[watched.unit]
    shared, code = np.unique(cluster, return_inverse=True)
    if shared.size >= LEAST_CLUSTERS:
        return Sharing(True, code.astype(np.intp), shared.size)
    code = events_of(watched)
    events = int(code.max(initial=-1)) + 1
    return Sharing(False, code, events) if events < watched.failures else None


def events_of(watched: Histories) -> Codes:
    """Number the events from 0 up, by failure: what came together in one cluster, or in one unit without clusters."""
    cluster = watched.unit if watched.cluster is None else watched.cluster[watched.unit]
    moment = watched.time if watched.event is None else watched.event
    code = np.unique(np.column_stack((cluster, moment)), axis=0, return_inverse=True)[1]
    return code.reshape(-1).astype(np.intp)


def histories(
    unit: ArrayLike,
    time: ArrayLike,
    failed: ArrayLike | None = None,
    *,
    start: ArrayLike | None = None,
    cluster: ArrayLike | None = None,
    event: ArrayLike | None = None,
) -> Histories:
    """
    Make histories from one row per failure and one row per unit for the end of its watch.

    Parameters
    ----------
    unit : array-like, shape = (n_rows,)
        Label of the ship, position or pump.
    time : array-like, shape = (n_rows,)
        Its own clock at the failure, or at the end of its watch.
    failed : array-like of bool, shape = (n_rows,), optional
        True for a failure, False for the end of the watch. A unit without such a row was watched up to its last
        failure. Default: all are failures.
    start : array-like, shape = (n_rows,), optional
        Clock when the watch of the row's unit began; one value a unit. Default: 0.
    cluster : array-like, shape = (n_rows,), optional
        Label of what the row's unit shares its luck with, such as its ship; one value a unit.
    event : array-like of int, shape = (n_rows,), optional
        Failures with the same number came together; not looked at where a watch ends.

    Raises
    ------
    InvalidRecord
        If a time is missing, negative or outside its unit's watch, or a unit has two ends, two starts or
        two clusters; names
        the rows (from 1).
    NotEnoughData
        If there is no row.

    Examples
    --------
    >>> watched = histories(["a", "a", "b"], [3, 9, 9], [True, False, False])
    >>> watched.units, watched.end.tolist(), watched.time.tolist()
    (('a', 'b'), [9.0, 9.0], [3.0])
    """
    labels, when = np.asarray(unit).astype(str), np.asarray(time, dtype=np.float64)
    is_failure = np.ones(when.shape, dtype=bool) if failed is None else np.asarray(failed, dtype=bool)
    since = np.zeros(when.shape) if start is None else np.asarray(start, dtype=np.float64)
    if not (when.ndim == 1 and labels.shape == when.shape == is_failure.shape == since.shape):
        raise InvalidRecord(f"repeat failures need columns of one length: {labels.shape}, {when.shape}")
    if not when.size:
        raise NotEnoughData(
            "no rows: nothing was watched", hint="give a file with a row for each failure, or widen the choice"
        )
    _refuse(~np.isfinite(when) | (when < 0) | ~np.isfinite(since) | (since < 0), "time or start is missing or negative")
    units, codes = np.unique(labels, return_inverse=True)
    begun = np.full(units.size, np.inf)
    np.minimum.at(begun, codes, since)
    _refuse(since != begun[codes], "the unit has two different starts of watch")
    _refuse(~is_failure & (total_by(codes, (~is_failure).astype(float))[codes] > 1), "the unit has two ends of watch")
    last = np.zeros(units.size)
    np.maximum.at(last, codes, when)
    ended = last.copy()
    ended[codes[~is_failure]] = when[~is_failure]
    _refuse(when > ended[codes], "failure after the end of the unit's watch")
    _refuse(when <= begun[codes], "time is not after the start of the unit's watch")
    order = np.flatnonzero(is_failure)[np.lexsort((when[is_failure], codes[is_failure]))]
    return Histories(
        tuple(units.tolist()),
        begun,
        ended,
        codes[order].astype(np.intp),
        when[order],
        None if cluster is None else _shared(cluster, codes),
        None if event is None else np.asarray(event)[order].astype(np.intp),
    )


def _shared(cluster: ArrayLike, unit: Codes) -> Codes:
    """The cluster of each unit, from that of its rows."""
    code = codes_of(cluster, unit.size, "cluster")[1]
    first = np.unique(unit, return_index=True)[1]
    _refuse(code != code[first][unit], "the unit is in two clusters")
    return code[first]


def _refuse(bad: np.ndarray, why: str) -> None:
    if bad.any():
        rows = (np.flatnonzero(bad) + 1).tolist()
        raise InvalidRecord(f"{name_rows(rows)}: {why}", hint="mend or leave out these rows", rows=rows)
