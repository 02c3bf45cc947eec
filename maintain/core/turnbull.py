"""Life curves from failures known only to an interval: the non-parametric maximum likelihood estimate.

Our own rather than lifelines': alternating EM and convex-minorant steps reach the maximum itself, stop on a proven
bound of what is left to gain, and cost time in proportion to the lives.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from maintain.core.estimate import Band, check_share
from maintain.core.lives import Floats, Lives
from maintain.errors import InvalidRecord, NotEnoughData

Places = NDArray[np.intp]

MOST_ROUNDS = 2_000  # some thirty are usual
GAP_PER_LIFE = 1e-10  # stop when no curve whatever can beat the log-likelihood by more, for each life
NO_MASS = 1e-9  # a share of failures below this is the search's dust

# Order of ends that share a value: an exact failure opens before it closes, an open interval starts after both.
OPENS_AT, CLOSES, OPENS_AFTER = 0, 1, 2


@dataclass(frozen=True)
class IntervalCurve:
    """
    Where failures lie, as far as the data can say.

    Attributes
    ----------
    n, failures : int
        Lives, and failures among them.
    left, right : array, shape = (m,)
        Innermost intervals (left, right] that carry mass, rising; left == right: an exact time; right inf: beyond
        all that was seen. How the mass lies inside an interval, the data cannot say.
    mass : array, shape = (m,)
        Share of failures in each; sums to 1.
    log_likelihood : float
    gap : float
        No curve whatever has a log-likelihood higher by more than this.
    """

    n: int
    failures: int
    left: Floats
    right: Floats
    mass: Floats
    log_likelihood: float
    gap: float

    def survival_at(self, times: ArrayLike) -> Band:
        """
        Read the share still working at any times.

        Parameters
        ----------
        times : array-like, shape = (k,)
            Use, in the unit of the lives.

        Returns
        -------
        Band
            `lower` and `upper` are the least and the greatest share the estimate allows: one value between innermost
            intervals, where `value` is it; inside one they differ and `value` is nan. They are no confidence limits.
        """
        asked = np.atleast_1d(np.asarray(times, dtype=np.float64))
        share = np.concatenate(([0.0], np.cumsum(self.mass)))
        surely_failed = share[np.searchsorted(self.right, asked, side="right")]
        exact = self.left == self.right
        opens = np.where(exact, self.left, np.nextafter(self.left, np.inf))
        perhaps_failed = share[np.searchsorted(opens, asked, side="right")]
        lower, upper = np.clip(1 - perhaps_failed, 0, 1), np.clip(1 - surely_failed, 0, 1)
        return Band(np.where(perhaps_failed == surely_failed, upper, np.nan), lower, upper)

    def quantile(self, share: float) -> tuple[float, float]:
        """
        Return the interval (left, right] by which a share has failed.

        Parameters
        ----------
        share : float
            Share failed, between 0 and 1.

        Returns
        -------
        tuple of float
            The innermost interval in which the curve comes down to 1 - share; right inf: not reached.
        """
        reached = np.cumsum(self.mass) >= check_share(share, "share") - NO_MASS
        row = int(np.argmax(reached))
        return float(self.left[row]), float(self.right[row])


@dataclass(frozen=True)
class _Cover:
    """Lives as runs of innermost intervals first..last (inclusive), equal ones counted together."""

    first: Places
    last: Places
    count: Floats
    size: int

    def chance(self, share: Floats) -> Floats:
        """Return the probability of each run; `share` is the mass before each innermost interval, and 1."""
        return share[self.last + 1] - share[self.first]

    def at_edges(self, opening: Floats, closing: Floats) -> Floats:
        """Add up at the edges between intervals what each run brings: `opening` before its first, `closing` behind."""
        edges = np.zeros(self.size + 1)
        edges += np.bincount(self.first, opening, edges.size)
        edges += np.bincount(self.last + 1, closing, edges.size)
        return edges

    def log_likelihood(self, share: Floats) -> float:
        with np.errstate(divide="ignore", invalid="ignore"):
            value = float(np.dot(self.count, np.log(self.chance(share))))
        return value if np.isfinite(value) else -np.inf

    def slopes(self, share: Floats) -> Floats:
        """Return the derivative of the log-likelihood by the mass of each innermost interval."""
        pull = self.count / self.chance(share)
        return np.cumsum(self.at_edges(pull, -pull))[:-1]


def interval_curve(lives: Lives) -> IntervalCurve:
    """
    Estimate the share of parts still working from failures found at checks.

    Parameters
    ----------
    lives : Lives
        Any mix of exact, interval-censored and right-censored lives, all observed from new.

    Returns
    -------
    IntervalCurve

    Raises
    ------
    NotEnoughData
        If there are no lives or no failures.
    InvalidRecord
        If any life was already used when observation began: with both truncation and intervals this estimate need
        not be unique nor come right with more data.

    References
    ----------
    Turnbull (1976), J. R. Stat. Soc. B 38, 290-295. Wellner and Zhan (1997), J. Am. Stat. Assoc. 92, 945-959 for the
    alternation. The bound on what is left to gain: Lindsay (1983), Ann. Stat. 11, 86-94.

    Examples
    --------
    >>> from maintain.core.lives import lives_from_intervals
    >>> curve = interval_curve(lives_from_intervals([0, 1, 2], [1, 2, float("inf")]))
    >>> curve.mass.round(3).tolist()
    [0.333, 0.333, 0.333]
    """
    if lives.n == 0 or lives.failures == 0:
        raise NotEnoughData(
            f"{lives.n} lives and no failure: there is no curve to draw",
            hint="with no failure only a lower bound on life can be given",
        )
    if np.any(lives.entry > 0):
        raise InvalidRecord(
            f"{int(np.sum(lives.entry > 0))} lives were already used when observation began, and failures are known "
            "only to intervals: a curve without a model cannot have both",
            hint="fit a model instead, or leave those lives out",
        )
    left, right, cover = _innermost(lives)
    mass = _maximise(cover)
    kept = mass > NO_MASS
    full = np.where(kept, mass, 0.0) / mass[kept].sum()
    share = _before(full)
    return IntervalCurve(
        n=lives.n,
        failures=lives.failures,
        left=left[kept],
        right=right[kept],
        mass=full[kept],
        log_likelihood=cover.log_likelihood(share),
        gap=float(max(cover.slopes(share).max() - lives.n, 0.0)),
    )


def _innermost(lives: Lives) -> tuple[Floats, Floats, _Cover]:
    """Find the innermost intervals (an opening end followed at once by a closing one) and each life's run of them."""
    low, high = lives.lower, lives.upper
    opening = np.unique(np.column_stack((low, np.where(low == high, OPENS_AT, OPENS_AFTER))), axis=0)
    closing = np.unique(np.column_stack((high, np.full(high.shape, CLOSES))), axis=0)
    ends = np.concatenate((opening, closing))
    ends = ends[np.lexsort((ends[:, 1], ends[:, 0]))]
    start = np.flatnonzero((ends[:-1, 1] != CLOSES) & (ends[1:, 1] == CLOSES))
    left, right = ends[start, 0], ends[start + 1, 0]
    exact = left == right
    opens_at = np.searchsorted(left, low, side="left")
    # An exact innermost interval at `low` does not belong to a life that is known to work just after `low`.
    past = np.append(exact, False)[opens_at] & (np.append(left, np.inf)[opens_at] == low) & (low < high)
    first = opens_at + past
    last = np.searchsorted(right, high, side="right") - 1
    runs, count = np.unique(np.column_stack((first, last)), axis=0, return_counts=True)
    return left, right, _Cover(runs[:, 0], runs[:, 1], count.astype(np.float64), left.size)


def _before(mass: Floats) -> Floats:
    """Return the mass before each innermost interval, with exactly 1 at the end."""
    share = np.concatenate(([0.0], np.cumsum(mass)))
    share[-1] = 1.0
    return share


def _maximise(cover: _Cover) -> Floats:
    """Return the masses that maximise the likelihood; it rises in every round."""
    n = float(cover.count.sum())
    mass = np.full(cover.size, 1 / cover.size)
    for _ in range(MOST_ROUNDS):
        slopes = cover.slopes(_before(mass))
        if slopes.max() / n - 1 < GAP_PER_LIFE:
            break
        mass = mass * slopes / n
        mass = np.diff(_minorant_step(cover, _before(mass / mass.sum())))
    return mass


def _minorant_step(cover: _Cover, share: Floats) -> Floats:
    """Take one Newton-like step with a diagonal Hessian, kept rising by isotonic regression, halved until it gains."""
    from scipy.optimize import isotonic_regression

    if cover.size == 1:
        return share
    chance = cover.chance(share)
    pull, weight = cover.count / chance, cover.count / chance**2
    slope = cover.at_edges(-pull, pull)[1:-1]
    curvature = cover.at_edges(weight, weight)[1:-1]
    target = share.copy()
    fitted = isotonic_regression(share[1:-1] + slope / curvature, weights=curvature).x
    target[1:-1] = np.clip(fitted, 0.0, 1.0)
    reached, step = cover.log_likelihood(share), 1.0
    while step > 1e-6:
        moved = share + step * (target - share)
        if cover.log_likelihood(moved) >= reached:
            return moved
        step /= 2
    return share
