"""Limits for life curves drawn from intervals, by drawing the lives again and again."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from maintain.core.estimate import Estimate, check_share
from maintain.core.lives import Floats, Lives
from maintain.core.turnbull import IntervalCurve, interval_curve

DRAWS = 200
FEWEST_CLUSTERS = 5  # drawing again from fewer says more about the draw than about the lives


@dataclass(frozen=True)
class IntervalLimits:
    """
    What a curve from intervals says, with percentile limits.

    Attributes
    ----------
    survival : tuple of Estimate
        At each asked time. Inside an innermost interval the share itself is not known and `value` is None; the limits
        then cover all it can be.
    median : Estimate
        `value` is the time by which half have surely failed.
    restricted_mean : Estimate
        Failures are taken to be spread evenly within innermost intervals.
    """

    survival: tuple[Estimate, ...]
    median: Estimate
    restricted_mean: Estimate


@dataclass(frozen=True)
class Resampling:
    """How lives are drawn again: whole clusters where there are enough of them (parts of one ship fail together)."""

    rng: np.random.Generator
    clusters: NDArray[np.intp] | None = None
    draws: int = DRAWS

    def rows(self, n: int) -> NDArray[np.intp]:
        """Draw the rows of one new sample of `n` lives (about n, if whole clusters are drawn)."""
        if self.clusters is None or np.unique(self.clusters).size < FEWEST_CLUSTERS:
            return self.rng.integers(n, size=n)
        order = np.argsort(self.clusters, kind="stable")
        groups = np.split(order, np.flatnonzero(np.diff(self.clusters[order])) + 1)
        return np.concatenate([groups[pick] for pick in self.rng.integers(len(groups), size=len(groups))])


def interval_limits(lives: Lives, times: ArrayLike, tau: float, how: Resampling, conf: float = 0.95) -> IntervalLimits:
    """
    Return the curve from intervals at some times, its median and its mean up to `tau`, with percentile limits.

    Parameters
    ----------
    lives : Lives
        As for `interval_curve`, with at least one failure.
    times : array-like, shape = (k,)
    tau : float
        Limit of the restricted mean.
    how : Resampling
        `draws` of 0 gives no limits.
    conf : float
        Confidence of the two-sided limits.

    References
    ----------
    Efron and Tibshirani (1993), An Introduction to the Bootstrap, chapters 8 and 13.
    """
    tails = (1 - check_share(conf, "confidence")) / 2
    asked = np.atleast_1d(np.asarray(times, dtype=np.float64))
    here = _Reading.of(interval_curve(lives), asked, tau)
    drawn = [_reading(lives.take(how.rows(lives.n)), asked, tau) for _ in range(how.draws)]
    low = _percentiles([[*each.least, each.median_from, each.mean] for each in drawn], tails, asked.size + 2)
    high = _percentiles([[*each.most, each.median_by, each.mean] for each in drawn], 1 - tails, asked.size + 2)
    values = [*here.share, here.median_by, here.mean]
    found = [Estimate(*map(_known, triple)) for triple in zip(values, low, high, strict=True)]
    return IntervalLimits(tuple(found[:-2]), found[-2], found[-1])


@dataclass(frozen=True)
class _Reading:
    """What one curve says: shares with the least and most they can be, the interval of the median, the mean."""

    share: Floats
    least: Floats
    most: Floats
    median_from: float
    median_by: float
    mean: float

    @classmethod
    def of(cls, curve: IntervalCurve, times: Floats, tau: float) -> _Reading:
        band = curve.survival_at(times)
        return cls(band.value, band.lower, band.upper, *curve.quantile(0.5), restricted_mean(curve, tau))


def _reading(lives: Lives, times: Floats, tau: float) -> _Reading:
    if lives.failures:
        return _Reading.of(interval_curve(lives), times, tau)
    all_working = np.ones(times.size)
    return _Reading(all_working, all_working, all_working, np.inf, np.inf, tau)


def restricted_mean(curve: IntervalCurve, tau: float) -> float:
    """Return the area under a curve from intervals up to `tau`, failures spread evenly within each interval."""
    left, right = np.minimum(curve.left, tau), np.where(np.isfinite(curve.right), curve.right, tau)
    width = right - curve.left
    inside = (curve.left < tau) & (tau < right)
    straddled = tau - np.divide((tau - left) ** 2, 2 * width, out=np.zeros_like(left), where=inside)
    area = np.where(inside, straddled, (left + np.minimum(right, tau)) / 2)
    return float(curve.mass @ area)


def _percentiles(drawn: list[list[float]], share: float, size: int) -> list[float]:
    if not drawn:
        return [float("nan")] * size
    found: list[float] = np.quantile(np.array(drawn), share, axis=0, method="nearest").tolist()
    return found


def _known(value: float) -> float | None:
    return float(value) if np.isfinite(value) else None
