"""Proportional hazards where failures are known only between two looks and circumstances change between them too.

Cox's model takes a failure at the moment it was found. Whatever is done to parts that were seen to work (a renewal, a
season more) has by then been done to the others and not to the one that failed, and seems to help. Here a failure is
worth what its whole interval is worth: 1 - exp(-hazard between the two looks), each stretch of it with its own
covariates, over a hazard that is level within pieces of age.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from maintain.core.at_risk import Codes, total_by
from maintain.core.lives import Bools, Floats
from maintain.core.log_rank import FEW_CLUSTERS

ALIVE = -1  # the interval of a stretch that a part is known to have come through
# In simulated clubs, with more, the rise of the hazard within a piece was laid to counts that grow with age.
FAILURES_A_PIECE = 3
MOST_PIECES = 8
WIDEST = 12.0  # log hazard ratio between the ends of a covariate: no estimate any more
VAGUEST = 1e4  # variance of that: the likelihood is flat there
MOST_STEPS = 100
LEAST, MOST = 1e-12, 600.0  # hazards between looks


@dataclass(frozen=True)
class Looks:
    """
    Stretches between looks, all arrays by stretch.

    Attributes
    ----------
    start, stop : array
        Age.
    interval : array of int
        ALIVE, or the number (from 0 up) of the failure that came somewhere in this stretch or in others of that number.
    table : array, shape = (n, p)
        Covariates.
    strata, cluster : array of int, or None
        What may differ in the shape of its hazard, and what shares its luck (at least two).
    """

    start: Floats
    stop: Floats
    interval: Codes
    table: Floats
    strata: Codes | None = None
    cluster: Codes | None = None


@dataclass(frozen=True)
class Grouped:
    """
    The fit.

    Attributes
    ----------
    coefficients : array, shape = (p,)
        Log hazard ratio of a unit of each covariate.
    covariance : array, shape = (p, p)
        By the sandwich where there are clusters; by leaving out each in turn where these are few.
    log_likelihood, null_log_likelihood : float
    """

    coefficients: Floats
    covariance: Floats
    log_likelihood: float
    null_log_likelihood: float


@dataclass(frozen=True)
class _Cells:
    """Each stretch in each piece of age that it reaches into."""

    design: Floats  # (cells, levels + p)
    log_length: Floats
    interval: Codes
    cluster: Codes

    def take(self, rows: Bools) -> _Cells:
        interval = self.interval[rows]
        failed = interval != ALIVE
        interval[failed] = np.unique(interval[failed], return_inverse=True)[1]
        return _Cells(self.design[rows], self.log_length[rows], interval, self.cluster[rows])


@dataclass(frozen=True)
class _Value:
    value: float
    scores: Floats  # (cells, levels + p)
    hessian: Floats


def fit_grouped(looks: Looks) -> Grouped | None:
    """
    Fit by maximum likelihood.

    Returns
    -------
    Grouped, or None if nothing has failed or the likelihood rises for ever, as where some group has no failure.

    References
    ----------
    Prentice and Gloeckler (1978), Biometrics 34, 57-67, for intervals; Friedman (1982), Ann. Statist. 10, 101-113, for
    hazards level in pieces; few clusters: Lipsitz, Dear and Zhao (1994), Biometrics 50, 842-846.
    """
    centre, scale = looks.table.mean(axis=0), looks.table.std(axis=0)
    scale = np.where(scale > 0, scale, 1.0)
    cells, levels = _cells(looks, (looks.table - centre) / scale)
    if not levels:
        return None
    wide = cells.design.shape[1]
    here, found = _maximise(cells, _start(cells, levels, wide), wide)
    _, null = _maximise(cells, _start(cells, levels, wide), levels)
    slopes = here[levels:]
    spread: Floats = np.asarray(np.linalg.pinv(-found.hessian, rcond=1e-12, hermitian=True), dtype=np.float64)
    reach, variance = np.ptp(looks.table, axis=0) / scale, np.diag(spread)[levels:]
    if np.any(np.abs(slopes) * reach > WIDEST) or not np.all((variance > 0) & (variance * reach**2 < VAGUEST)):
        return None
    if looks.cluster is not None:
        spread = _robust(cells, here, found, spread)
    return Grouped(
        coefficients=slopes / scale,
        covariance=spread[levels:, levels:] / np.outer(scale, scale),
        log_likelihood=found.value,
        null_log_likelihood=null.value,
    )


def _cells(looks: Looks, table: Floats) -> tuple[_Cells, int]:
    """Cut the stretches into pieces of age, of each stratum's own; strata without failures say nothing."""
    strata = np.zeros(looks.start.size, dtype=np.intp) if looks.strata is None else looks.strata
    cluster = np.zeros(looks.start.size, dtype=np.intp) if looks.cluster is None else looks.cluster
    row: list[NDArray[np.intp]] = []
    level: list[NDArray[np.intp]] = []
    length: list[Floats] = []
    levels = 0
    for stratum in np.unique(strata[looks.interval != ALIVE]).tolist():
        here = np.flatnonzero(strata == stratum)
        edges = _edges(looks.start[here], looks.stop[here], looks.interval[here])
        low = np.maximum(looks.start[here, None], edges[None, :-1])
        high = np.minimum(looks.stop[here, None], edges[None, 1:])
        place, piece = np.nonzero(high > low)
        row.append(here[place])
        level.append(levels + piece)
        length.append((high - low)[place, piece])
        levels += edges.size - 1
    if not levels:
        return _Cells(np.empty((0, 0)), np.empty(0), np.empty(0, dtype=np.intp), np.empty(0, dtype=np.intp)), 0
    rows = np.concatenate(row)
    baseline = np.zeros((rows.size, levels))
    baseline[np.arange(rows.size), np.concatenate(level)] = 1.0
    unit = float(looks.stop.max())
    design = np.column_stack((baseline, table[rows]))
    cells = _Cells(design, np.log(np.concatenate(length) / unit), looks.interval[rows], cluster[rows])
    return cells.take(np.ones(rows.size, dtype=bool)), levels


def _edges(start: Floats, stop: Floats, interval: Codes) -> Floats:
    """Cut ages so that about as many failures were found in each piece."""
    dying = interval != ALIVE
    found = np.full(int(interval.max()) + 1, -np.inf)
    np.maximum.at(found, interval[dying], stop[dying])
    found = found[np.isfinite(found)]
    pieces = int(np.clip(found.size // FAILURES_A_PIECE, 1, MOST_PIECES))
    inner = np.quantile(found, np.arange(1, pieces) / pieces)
    return np.unique(np.concatenate(([start.min()], inner, [stop.max()])))


def _start(cells: _Cells, levels: int, wide: int) -> Floats:
    failures = int(cells.interval.max()) + 1
    here = np.zeros(wide)
    here[:levels] = np.log(failures / np.exp(cells.log_length).sum())
    return here


def _value(cells: _Cells, theta: Floats) -> _Value:
    hazard = np.exp(np.clip(cells.log_length + cells.design @ theta, -MOST, 60.0))
    dying = cells.interval != ALIVE
    own, interval = cells.design[dying] * hazard[dying, None], cells.interval[dying]
    count = int(cells.interval.max(initial=ALIVE)) + 1
    total = np.clip(total_by(interval, hazard[dying], count), LEAST, MOST)
    pull = 1 / np.expm1(total)
    weight = -hazard
    weight[dying] = hazard[dying] * pull[interval]
    sums = np.column_stack([total_by(interval, column, count) for column in own.T])
    hessian = (cells.design * weight[:, None]).T @ cells.design - (sums * (pull * (1 + pull))[:, None]).T @ sums
    value = float(np.log(-np.expm1(-total)).sum() - hazard[~dying].sum())
    return _Value(value, cells.design * weight[:, None], np.asarray(hessian, dtype=np.float64))


def _maximise(cells: _Cells, start: Floats, free: int) -> tuple[Floats, _Value]:
    """Find the maximum over the first `free` parameters by Newton's method with step halving."""
    here, now = start, _value(cells, start)
    for _ in range(MOST_STEPS):
        gradient = now.scores.sum(axis=0)[:free]
        step = np.zeros(here.size)
        step[:free] = np.linalg.lstsq(-now.hessian[:free, :free], gradient, rcond=1e-12)[0]
        step *= min(1.0, 3.0 / max(float(np.abs(step).max()), 1e-300))
        following = _value(cells, here + step)
        while following.value < now.value - 1e-10 and np.abs(step).max() > 1e-10:
            step = step / 2
            following = _value(cells, here + step)
        gain = following.value - now.value
        here, now = here + step, following
        if gain < 1e-11 * (1 + abs(now.value)) or np.abs(here).max() > 3 * WIDEST:
            break
    return here, now


def _robust(cells: _Cells, here: Floats, found: _Value, plain: Floats) -> Floats:
    sums = np.column_stack([total_by(cells.cluster, column) for column in found.scores.T])
    count = sums.shape[0]
    moves = sums @ plain
    if count < FEW_CLUSTERS:
        for one in range(count):
            own = _value(cells.take(cells.cluster == one), here)
            rest = own.hessian - found.hessian
            moves[one] = np.linalg.lstsq(rest, -sums[one], rcond=1e-10)[0] * np.sqrt(1 - 1 / count)
    return np.asarray(moves.T @ moves, dtype=np.float64)
