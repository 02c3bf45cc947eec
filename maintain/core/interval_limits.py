"""Limits for life curves drawn from intervals, by drawing the lives again and again."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from maintain.core.clustered_curve import FEWEST_CLUSTERS
from maintain.core.estimate import Estimate, check_share
from maintain.core.lives import Floats, Lives
from maintain.core.turnbull import IntervalCurve, interval_curve
from maintain.errors import NotEnoughData

DRAWS = 200
QUANTILES = (0.5, 0.1)  # the median and B10


@dataclass(frozen=True)
class Asked:
    """
    What is asked of a curve from intervals.

    Attributes
    ----------
    times : array, shape = (k,)
    tau : float
        Limit of the restricted mean.
    given : float, optional
        An age: answer for the parts that worked then.
    """

    times: Floats
    tau: float
    given: float | None = None


@dataclass(frozen=True)
class IntervalLimits:
    """
    What a curve from intervals says, with percentile limits.

    Attributes
    ----------
    curve : IntervalCurve
        Of the lives themselves.
    survival : tuple of Estimate
        At each asked time. Inside an innermost interval the share itself is not known and `value` is None; the limits
        then cover all it can be.
    median, b10 : Estimate
        `value` is the time by which half, or a tenth, have surely failed.
    restricted_mean : Estimate
        Failures are taken to be spread evenly within innermost intervals.
    """

    curve: IntervalCurve
    survival: tuple[Estimate, ...]
    median: Estimate
    b10: Estimate
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


def interval_limits(lives: Lives, asked: Asked, how: Resampling, conf: float = 0.95) -> IntervalLimits:
    """
    Return the curve from intervals at some times, its median, B10 and mean up to a limit, with percentile limits.

    Parameters
    ----------
    lives : Lives
        As for `interval_curve`, with at least one failure.
    asked : Asked
    how : Resampling
        `draws` of 0 gives no limits.
    conf : float
        Confidence of the two-sided limits.

    Raises
    ------
    NotEnoughData
        If there is no failure, or nobody was seen beyond the age given.

    References
    ----------
    Efron and Tibshirani (1993), An Introduction to the Bootstrap, chapters 8 and 13.
    """
    tails = (1 - check_share(conf, "confidence")) / 2
    curve = interval_curve(lives) if asked.given is None else interval_curve(lives).given(asked.given)
    if curve is None:
        raise NotEnoughData(f"nobody was seen beyond {asked.given:g}", hint="choose an earlier age")
    here = _Reading.of(curve, asked)
    drawn = [each for _ in range(how.draws) if (each := _reading(lives.take(how.rows(lives.n)), asked)) is not None]
    values = [*here.share, *here.by, here.mean]
    low = _percentiles([[*each.least, *each.after, each.mean] for each in drawn], tails, len(values))
    high = _percentiles([[*each.most, *each.by, each.mean] for each in drawn], 1 - tails, len(values))
    *shares, median, b10, mean = (Estimate(*map(_known, each)) for each in zip(values, low, high, strict=True))
    return IntervalLimits(curve, tuple(shares), median, b10, mean)


@dataclass(frozen=True)
class _Reading:
    """What one curve says: shares with the least and most they can be, the intervals of QUANTILES, the mean."""

    share: Floats
    least: Floats
    most: Floats
    after: tuple[float, ...]
    by: tuple[float, ...]
    mean: float

    @classmethod
    def of(cls, curve: IntervalCurve, asked: Asked) -> _Reading:
        band = curve.survival_at(asked.times)
        after, by = zip(*(curve.quantile(share) for share in QUANTILES), strict=True)
        return cls(band.value, band.lower, band.upper, after, by, curve.restricted_mean(asked.tau))


def _reading(lives: Lives, asked: Asked) -> _Reading | None:
    """What lives drawn again say; None if none of them got to the age given."""
    if lives.failures:
        drawn = interval_curve(lives)
        curve = drawn if asked.given is None else drawn.given(asked.given)
        return None if curve is None else _Reading.of(curve, asked)
    all_working = np.ones(asked.times.size)
    never = (np.inf,) * len(QUANTILES)
    return _Reading(all_working, all_working, all_working, never, never, asked.tau)


def _percentiles(drawn: list[list[float]], share: float, size: int) -> list[float]:
    if not drawn:
        return [float("nan")] * size
    found: list[float] = np.quantile(np.array(drawn), share, axis=0, method="nearest").tolist()
    return found


def _known(value: float) -> float | None:
    return float(value) if np.isfinite(value) else None
