"""Is a trend more than the luck of a few ships? The tests of `maintain.core.trend`, cluster against cluster.

One sinking kills five pumps on one day. Tests that take these for five failures see trends where there are none: in
simulated ships without a trend, whose failures come five at a time, in one of three instead of one of twenty.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from maintain.core.at_risk import Codes, total_by
from maintain.core.lives import Floats

_LOG_SHAPES = (-6.0, 5.0)  # shapes from 0.0025 to 150: no pump or servo lies beyond


@dataclass(frozen=True)
class SharedLaplace:
    """Student's t of the clusters' scores, and its two-sided p."""

    statistic: float
    p: float


@dataclass(frozen=True)
class SharedShape:
    """Limits of the power-law shape, and the two-sided p of shape 1; upper None: none is seen."""

    lower: float
    upper: float | None
    p: float

    def or_wider(self, lower: float, upper: float | None, p: float) -> tuple[float, float | None, float]:
        """Return limits and p, these or those given, whichever are less sure."""
        highest = None if upper is None or self.upper is None else max(upper, self.upper)
        return min(lower, self.lower), highest, max(p, self.p)


def shared_laplace(time: Floats, start: Floats, end: Floats, cluster: Codes) -> SharedLaplace:
    """
    Test for a trend by how far the failures of each cluster lie from the middle of their watches.

    Parameters
    ----------
    time, start, end : array, shape = (n_failures,)
        When each failed, and the watch of its unit.
    cluster : array of int, shape = (n_failures,)
        From 0 up without gaps, two or more.

    Returns
    -------
    SharedLaplace
        Without trend each cluster's sum of distances is 0 on average, whatever hangs together within it. Student's t
        of such sums of unlike spread errs on the careful side at levels below 0.08.

    References
    ----------
    Cox and Lewis (1966), chapter 3 (Laplace, pooled); Ibragimov and Müller (2010), J. Business and Economic Statistics
    28, 453-468 (t of unlike clusters).

    Examples
    --------
    >>> found = shared_laplace(np.array([6.0, 7.0, 9.0]), np.zeros(3), np.full(3, 10.0), np.array([0, 1, 2]))
    >>> round(found.statistic, 4), round(found.p, 4)
    (2.6458, 0.1181)
    """
    distance = time / end.max() - (start / end.max() + end / end.max()) / 2
    statistic = _student(total_by(cluster, distance))
    return SharedLaplace(statistic, _two_sided(statistic, int(cluster.max())))


def shared_shape(time: Floats, start: Floats, end: Floats, cluster: Codes, conf: float) -> SharedShape:
    """
    Return the shapes that the scores of the clusters do not contradict.

    Parameters
    ----------
    time, start, end, cluster : array, shape = (n_failures,)
        As for `shared_laplace`.
    conf : float

    Returns
    -------
    SharedShape
        At every shape between the limits Student's t of the clusters' scores, given how often each unit failed, is
        within its quantile. Where all watches began at 0 the shape is a ratio of sums, and these are Fieller's limits.

    Notes
    -----
    In simulated ships without a trend that lose five pumps at a time the 95 % limits left 1 out in 6 of 100 clubs of 16
    ships, in 8 of 100 with 5; limits that take each failure on its own, in 37.

    References
    ----------
    Fieller (1954), J. Royal Statistical Society B 16, 175-185; Lindsey (1996), Parametric Statistical Inference,
    section 5.1 (score intervals); Ibragimov and Müller (2010).
    """
    from scipy.optimize import brentq
    from scipy.special import stdtrit

    share, begun = np.log(time / end), start / end
    limit = float(stdtrit(cluster.max(), (1 + conf) / 2))

    def student(log_shape: float) -> float:
        return _student(total_by(cluster, _scores(float(np.exp(log_shape)), share, begun)))

    def beyond(log_shape: float) -> float:
        return abs(student(log_shape)) - limit

    low, high = _LOG_SHAPES
    if not student(low) > 0 > student(high):  # the shape lies beyond all that are thought possible
        return SharedShape(0.0, None, _two_sided(student(0.0), int(cluster.max())))
    best = float(brentq(student, low, high))
    if beyond(best) >= 0:  # clusters exactly alike
        low = high = best
    return SharedShape(
        float(np.exp(brentq(beyond, low, best) if low < best else best)) if beyond(low) > 0 else 0.0,
        float(np.exp(brentq(beyond, best, high) if best < high else best)) if beyond(high) > 0 else None,
        _two_sided(student(0.0), int(cluster.max())),
    )


def _scores(shape: float, share: Floats, begun: Floats) -> Floats:
    """What each failure adds to the slope of the log-likelihood in log shape, given how often its unit failed."""
    late = begun > 0
    before = np.zeros(begun.shape)
    logs = np.log(begun[late])
    before[late] = shape * logs / np.expm1(np.minimum(-shape * logs, 700.0))
    scores: Floats = 1 + shape * share + before
    return scores


def _student(sums: Floats) -> float:
    """One-sample t, bounded where all sums are equal."""
    mean, spread = float(sums.mean()), float(sums.std(ddof=1)) / np.sqrt(sums.size)
    return 0.0 if mean == 0 else float(np.clip(mean / max(spread, 1e-300), -1e6, 1e6))


def _two_sided(statistic: float, degrees: int) -> float:
    from scipy.special import stdtr

    return float(2 * stdtr(degrees, -abs(statistic)))
