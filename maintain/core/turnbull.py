"""Life curves from failures known only to an interval: the non-parametric maximum likelihood estimate.

Our own rather than lifelines': it takes lives watched only from some age on, alternating EM and convex-minorant steps
reach the maximum itself, stop on a proven bound of what is left to gain, and cost time in proportion to the lives.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike, NDArray

from maintain.core.estimate import Band, check_share
from maintain.core.lives import Floats, Lives
from maintain.errors import NotEnoughData

Places = NDArray[np.intp]

MOST_ROUNDS = 2_000  # some thirty are usual
GAP_PER_LIFE = 1e-9  # stop when no curve whatever can beat the log-likelihood by more, for each life
NO_CHANCE = 1e-9  # a chance of failing below this is the search's dust
CERTAIN = 36.0  # cumulative hazard that leaves nothing a float could tell from 0: all who are at risk fail
DEEPEST = 600.0  # cumulative hazard whose exponential is still a float
LEAST_BEND = 1e-3  # of the log-likelihood for each life at an edge: keeps steps finite where it is straight

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
    start : float
        The least entry: the curve is the share still working of those that worked at this age.
    worked, end : float
        The longest times at which anyone is known to have worked, and was seen.
    left, right : array, shape = (m,)
        Innermost intervals (left, right] in which some fail, rising; left == right: an exact time; right inf: beyond
        all that was seen. How failures lie inside an interval, the data cannot say.
    chance : array, shape = (m,)
        Chance of failing in each, for those that still worked before it.
    log_likelihood : float
    gap : float
        No curve whatever has a log-likelihood higher by more than this.
    """

    n: int
    failures: int
    start: float
    worked: float
    end: float
    left: Floats
    right: Floats
    chance: Floats
    log_likelihood: float
    gap: float

    @property
    def mass(self) -> Floats:
        """Share of failures in each innermost interval; sums to 1."""
        working = np.concatenate(([1.0], np.cumprod(1 - self.chance)))
        return -np.diff(working)

    @property
    def emptied_at(self) -> float | None:
        """
        The first time by which everyone then at risk had failed although others were seen working later.

        It happens where few lives are seen young. From there on the curve is 0 and means nothing: ask `given` later.
        """
        emptied = self._emptied()
        return float(emptied[0]) if emptied.size else None

    @property
    def emptied_until(self) -> float | None:
        """The last such time as `emptied_at`: from there on the curve of those still working means something."""
        emptied = self._emptied()
        return float(emptied[-1]) if emptied.size else None

    def given(self, age: float) -> IntervalCurve | None:
        """
        Return the curve of those that worked at an age; None if there is nothing in the data beyond it.

        Within an innermost interval that the age falls into, failures are taken to be spread evenly.
        """
        later = self.right > age
        if not later.any():
            return None
        left, right, chance = self.left[later], self.right[later], self.chance[later].copy()
        if left[0] < age and np.isfinite(right[0]):
            beyond = (right[0] - age) / (right[0] - left[0])
            working = 1 - chance[0] * (1 - beyond)
            chance[0] = chance[0] * beyond / working
        return replace(self, start=max(self.start, age), left=np.maximum(left, age), right=right, chance=chance)

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

    def spread_evenly(self, times: ArrayLike) -> Floats:
        """Read the share still working at any times, as if failures were spread evenly within innermost intervals."""
        working = np.concatenate(([1.0], 1 - np.cumsum(self.mass)))
        seen = np.isfinite(self.right)
        corners = np.column_stack((self.left[seen], self.right[seen])).ravel()
        shares = np.column_stack((working[:-1][seen], working[1:][seen])).ravel()
        asked = np.asarray(times, dtype=np.float64)
        return np.interp(asked, corners, shares, left=1.0) if corners.size else np.ones(asked.shape)

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
        reached = np.cumsum(self.mass) >= check_share(share, "share") - NO_CHANCE
        row = int(np.argmax(reached))
        return float(self.left[row]), float(self.right[row])

    def restricted_mean(self, tau: float) -> float:
        """Return the area under the curve from 0 to `tau`, failures spread evenly within each innermost interval."""
        ends = (np.minimum(self.left, tau), np.where(np.isfinite(self.right), self.right, tau))
        left, right = (each / tau for each in ends)  # squares stay floats whatever the unit of time
        inside = (left < 1) & (right > 1)
        straddled = 1 - np.divide((1 - left) ** 2, 2 * (right - left), out=np.zeros_like(left), where=inside)
        area = np.where(inside, straddled, (left + np.minimum(right, 1)) / 2)
        return float(self.mass @ area) * tau

    def _emptied(self) -> Floats:
        return self.right[(self.chance > 1 - NO_CHANCE) & (self.right < self.worked)]


def interval_curve(lives: Lives) -> IntervalCurve:
    """
    Estimate the share of parts still working from failures found at checks, with delayed entry too.

    Maximises the likelihood of each failure interval given that the part worked at its entry. In cumulative hazards at
    the ends of innermost intervals its logarithm is concave, so that what the search finds is the maximum. Without
    intervals it is the curve of Kaplan and Meier, without delayed entry that of Turnbull.

    Parameters
    ----------
    lives : Lives
        Any mix of exact, interval-censored and right-censored lives.

    Returns
    -------
    IntervalCurve
        Where few lives are seen young it may fall to 0 early (`emptied_at`), and rest on very few until then.

    Raises
    ------
    NotEnoughData
        If there are no lives or no failures.

    References
    ----------
    Turnbull (1976), J. R. Stat. Soc. B 38, 290-295. Frydman (1994), J. R. Stat. Soc. B 56, 71-74: innermost intervals
    close at entries too. Pan and Chappell (1998), Lifetime Data Analysis 4, 187-202: with delayed entry the early part
    may be far too low however many the lives. Wellner and Zhan (1997), J. Am. Stat. Assoc. 92, 945-959 for the
    alternation.

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
    left, right, cover = _innermost(lives)
    edges = _maximise(cover, GAP_PER_LIFE * lives.n)
    hazard = np.diff(edges)
    chance = np.where(hazard >= CERTAIN, 1.0, -np.expm1(-hazard))
    kept = chance > NO_CHANCE
    return IntervalCurve(
        n=lives.n,
        failures=lives.failures,
        start=float(lives.entry.min()),
        worked=float(lives.lower.max()),
        end=float(np.where(lives.failed, lives.upper, lives.lower).max()),
        left=left[kept],
        right=right[kept],
        chance=chance[kept],
        log_likelihood=cover.log_likelihood(edges),
        gap=cover.expectation(edges)[1],
    )


@dataclass(frozen=True)
class _Cover:
    """
    Lives as runs of innermost intervals first..last (inclusive), equal ones counted together.

    Edges lie between innermost intervals; at each stands the cumulative hazard, 0 at the first. All fail in the last
    interval, or lie beyond all that was seen if that is open.
    """

    first: Places
    last: Places
    count: Floats
    entered: Floats  # lives whose observation began at each edge

    @property
    def size(self) -> int:
        return self.entered.size - 1

    def passed(self, edges: Floats) -> Floats:
        """Return the hazard that lies within each run."""
        return np.maximum(edges[self.last + 1] - edges[self.first], 0.0)

    def at_edges(self, opening: Floats, closing: Floats) -> Floats:
        """Add up at the edges what each run brings: `opening` before its first interval, `closing` behind its last."""
        edges = np.zeros(self.size + 1)
        edges += np.bincount(self.first, opening, edges.size)
        edges += np.bincount(self.last + 1, closing, edges.size)
        return edges

    def log_likelihood(self, edges: Floats) -> float:
        with np.errstate(divide="ignore"):
            fails = float(np.dot(self.count, np.log(-np.expm1(-self.passed(edges)))))
        return fails - float(np.dot(self.count, edges[self.first])) + float(np.dot(self.entered, edges))

    def expectation(self, edges: Floats) -> tuple[Floats, float]:
        """
        Take one EM step: expected failures over those expected at risk, interval by interval.

        Returns the new edges, and how much log-likelihood is left to gain at the most from the old ones: the sum of
        its slopes times the farthest that each hazard can still go.
        """
        hazard, deep = np.diff(edges), np.minimum(edges, DEEPEST)
        weight = self.count / -np.expm1(-self.passed(edges)) * np.exp(deep[self.first])
        per_chance = np.exp(-deep[:-1]) * np.cumsum(self.at_edges(weight, -weight))[:-1]
        fail = -np.expm1(-hazard) * per_chance
        at_risk = np.cumsum(self.entered)[:-1] - (np.cumsum(fail) - fail)
        slope = per_chance - at_risk
        gap = np.maximum(slope, 0) @ (CERTAIN - hazard) + np.maximum(-slope, 0) @ hazard
        chance = np.divide(fail, at_risk, out=np.zeros_like(fail), where=at_risk > 0)
        with np.errstate(divide="ignore"):
            return _edges(-np.log1p(-np.clip(chance, 0, 1))), float(gap)


def _innermost(lives: Lives) -> tuple[Floats, Floats, _Cover]:
    """Find the innermost intervals (an opening end followed at once by a closing one) and each life's run of them."""
    low, high = np.where(lives.lower < lives.upper, np.maximum(lives.lower, lives.entry), lives.lower), lives.upper
    opening = np.unique(np.column_stack((low, np.where(low == high, OPENS_AT, OPENS_AFTER))), axis=0)
    # Behind an entry a failure would count against that life too: whatever can lie before it, does.
    closes = np.unique(np.concatenate((high, lives.entry[lives.entry > 0])))
    closing = np.column_stack((closes, np.full(closes.shape, CLOSES)))
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
    found, late = lives.failed, np.searchsorted(right, lives.entry, side="right")
    opened, closed = (np.bincount(each, minlength=left.size + 1) for each in (first[found], last[found] + 1))
    can_fail = np.cumsum(opened - closed)[:-1] > 0
    # Where no failure can lie, the data are content with none; what is beyond all that was seen stays.
    kept = can_fail | np.isposinf(right)
    place = np.concatenate(([0], np.cumsum(kept)))
    cover = _cover(place[first], place[last + 1] - 1, place[late], int(place[-1]))
    return left[kept], right[kept], cover


def _cover(first: Places, last: Places, late: Places, size: int) -> _Cover:
    """Count equal runs together."""
    runs, count = np.unique(np.column_stack((first, last)), axis=0, return_counts=True)
    entered = np.bincount(late, minlength=size + 1)
    return _Cover(runs[:, 0], runs[:, 1], count.astype(np.float64), entered.astype(np.float64))


def _edges(hazard: Floats) -> Floats:
    """Return the cumulative hazard at the edges; nobody is beyond the last."""
    kept = np.minimum(hazard, CERTAIN)
    kept[-1] = CERTAIN
    return np.concatenate(([0.0], np.cumsum(kept)))


def _maximise(cover: _Cover, enough: float) -> Floats:
    """Return the edges that maximise the likelihood; it rises in every round."""
    edges = _edges(np.full(cover.size, 1 / cover.size))
    for _ in range(MOST_ROUNDS):
        expected, gap = cover.expectation(edges)
        if gap < enough:
            break
        edges = _minorant_step(cover, expected)
    return edges


def _minorant_step(cover: _Cover, edges: Floats) -> Floats:
    """Take one Newton-like step with a diagonal Hessian, kept rising by isotonic regression, halved until it gains."""
    from scipy.optimize import isotonic_regression

    if cover.size == 1:
        return edges
    pull = 1 / np.expm1(cover.passed(edges))
    slope = cover.at_edges(-cover.count * (pull + 1), cover.count * pull) + cover.entered
    bend = cover.count * pull * (1 + pull)
    touching = cover.at_edges(cover.count, cover.count) + cover.entered
    curvature = np.maximum(cover.at_edges(bend, bend), LEAST_BEND * touching)
    fitted = isotonic_regression((edges + slope / curvature)[1:-1], weights=curvature[1:-1]).x
    target = _edges(np.diff(np.concatenate(([0.0], np.maximum(fitted, 0.0), [np.inf]))))
    reached, step = cover.log_likelihood(edges), 1.0
    while step > 1e-6:
        moved = edges + step * (target - edges)
        if cover.log_likelihood(moved) >= reached:
            return moved
        step /= 2
    return edges
