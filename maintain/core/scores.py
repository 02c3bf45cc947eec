"""How good were the forecasts? Scores, calibration, and failures expected against failures seen."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from maintain.core.bounds import failure_share_limits
from maintain.core.lives import Bools, Floats
from maintain.errors import InvalidRecord, NotEnoughData

EDGES = (0.0, 0.005, 0.01, 0.02, 0.05, 0.1, 0.2, 1.0)  # most parts have a chance near one in a hundred


def brier(chance: ArrayLike, failed: ArrayLike, weight: ArrayLike | None = None) -> float:
    """
    Mean squared distance of forecasts from what happened: 0 is perfect.

    Parameters
    ----------
    chance : array-like, shape = (n,)
        Forecast chance of failing.
    failed : array-like of bool, shape = (n,)
        True if it failed.
    weight : array-like, shape = (n,), optional
        Of each forecast; of censored lives 0, and of the others one over the chance of not being censored.

    References
    ----------
    Brier (1950), Monthly Weather Review 78, 1-3; weights: Graf et al. (1999), Statistics in Medicine 18, 2529-2545.

    Examples
    --------
    >>> brier([0.9, 0.2], [True, False])
    0.025
    """
    forecast, happened = _checked(chance, failed)
    squares = (forecast - happened) ** 2
    if weight is None:
        return float(squares.mean())
    return float(np.asarray(weight, dtype=np.float64) @ squares) / forecast.size


def log_score(chance: ArrayLike, failed: ArrayLike) -> float:
    """
    Mean surprise, -log of the chance given to what happened: 0 is perfect, inf what had been called impossible.

    References
    ----------
    Good (1952), J. Royal Statistical Society B 14, 107-114; Gneiting and Raftery (2007), J. American Statistical
    Association 102, 359-378.

    Examples
    --------
    >>> round(log_score([0.9, 0.2], [True, False]), 6)
    0.164252
    """
    forecast, happened = _checked(chance, failed)
    with np.errstate(divide="ignore"):
        return float(-np.log(np.where(happened, forecast, 1 - forecast)).mean())


def skill(score: float, rival: float) -> float | None:
    """
    Share of a rival's score that was saved: 1 is perfect, 0 no better, negative worse; None if the rival was perfect.

    References
    ----------
    Murphy (1973), J. Applied Meteorology 12, 595-600 (from memory).
    """
    return 1 - score / rival if rival > 0 and np.isfinite(rival) else None


def skill_limits(
    ours: ArrayLike, rivals: ArrayLike, rng: np.random.Generator, level: float = 0.8, size: int = 2000
) -> tuple[float, float]:
    """
    Interval of the skill, from clusters of forecasts drawn again and again: one battle may make or mar a score.

    Parameters
    ----------
    ours, rivals : array-like, shape = (n_clusters,)
        Sums of each cluster's scores.
    rng : numpy.random.Generator
    level : float
    size : int
        Resamples.

    References
    ----------
    Efron and Tibshirani (1993), An Introduction to the Bootstrap, chapters 8 and 13.
    """
    own, other = np.asarray(ours, dtype=np.float64), np.asarray(rivals, dtype=np.float64)
    times = rng.multinomial(own.size, np.full(own.size, 1 / own.size), size=size)
    theirs = times @ other
    told = theirs > 0
    low, high = np.quantile(1 - (times @ own)[told] / theirs[told], [(1 - level) / 2, (1 + level) / 2]).tolist()
    return low, high


@dataclass(frozen=True)
class Bin:
    """
    Forecasts of about the same chance.

    Attributes
    ----------
    least, most : float
        Chances of its forecasts: least <= chance < most.
    n, failures : int
    expected : float
        Mean chance.
    observed, lower, upper : float
        Share that failed, with its exact interval.
    """

    least: float
    most: float
    n: int
    failures: int
    expected: float
    observed: float
    lower: float
    upper: float


def calibration(
    chance: ArrayLike, failed: ArrayLike, edges: tuple[float, ...] = EDGES, level: float = 0.8
) -> tuple[Bin, ...]:
    """
    Compare forecasts with what happened, bin by bin; empty bins are left out.

    Parameters
    ----------
    chance, failed : array-like, shape = (n,)
        As in `brier`.
    edges : tuple of float
        Rising, from 0 to 1.
    level : float
        Of the intervals of the shares seen.

    References
    ----------
    Clopper and Pearson (1934), Biometrika 26, 404-413.
    """
    forecast, happened = _checked(chance, failed)
    place = np.clip(np.searchsorted(edges, forecast, side="right") - 1, 0, len(edges) - 2)
    found = []
    for at in np.unique(place).tolist():
        mine = place == at
        n, failures = int(mine.sum()), int(happened[mine].sum())
        limits = failure_share_limits(failures, n, level)
        assert limits.lower is not None
        assert limits.upper is not None
        mean = float(forecast[mine].mean())
        found.append(Bin(edges[at], edges[at + 1], n, failures, mean, failures / n, limits.lower, limits.upper))
    return tuple(found)


@dataclass(frozen=True)
class Tally:
    """
    Failures expected and seen.

    Attributes
    ----------
    n, seen : int
        Forecasts, and failures among them.
    expected : float
        Sum of the chances.
    lower, upper : float
        Between these lies the number with the level asked for, if the forecasts are right; wider by `spread`.
    spread : float
        How many times the variance between clusters exceeds that of separate luck; at least 1.
    p_value : float
        Chance of a number as far out or farther, if the forecasts are right and luck is separate: too small where
        `spread` exceeds 1.
    """

    n: int
    seen: int
    expected: float
    lower: float
    upper: float
    spread: float
    p_value: float

    @property
    def believable(self) -> bool:
        """True if what was seen lies within what the forecasts allow."""
        return self.lower <= self.seen <= self.upper


def tally(chance: ArrayLike, failed: ArrayLike, cluster: NDArray[np.intp] | None = None, level: float = 0.95) -> Tally:
    """
    Hold the failures seen against those expected.

    The number of failures of separate forecasts has a distribution of its own (Poisson-binomial), worked out exactly.
    Forecasts of one battle share its luck, so its limits are widened as far as battles differ more than they should.

    Parameters
    ----------
    chance, failed : array-like, shape = (n,)
        As in `brier`.
    cluster : array of int, shape = (n,), optional
        Forecasts that share their luck; from 0.
    level : float

    References
    ----------
    Wang (1993), Statistica Sinica 3, 295-312 (the distribution); McCullagh and Nelder (1989), Generalized Linear
    Models, 2nd ed., section 4.5 (the widening); both from memory.

    Examples
    --------
    >>> found = tally([0.5, 0.5, 0.5, 0.5], [True, True, True, True])
    >>> found.expected, found.seen, found.p_value
    (2.0, 4, 0.125)
    """
    forecast, happened = _checked(chance, failed)
    expected, seen = float(forecast.sum()), int(happened.sum())
    mass = count_chances(forecast)
    up_to = np.cumsum(mass)
    at_most = float(up_to[min(seen, mass.size - 1)])
    at_least = 1 - float(up_to[min(seen, mass.size) - 1]) if seen else 1.0
    tail = (1 - level) / 2
    low, high = int(np.searchsorted(up_to, tail)), int(np.searchsorted(up_to, 1 - tail))
    spread = 1.0 if cluster is None else _spread(forecast, happened, cluster)
    wider = float(np.sqrt(spread))
    return Tally(
        n=forecast.size,
        seen=seen,
        expected=expected,
        lower=max(0.0, expected - (expected - low) * wider),
        upper=expected + (high - expected) * wider,
        spread=spread,
        p_value=min(1.0, 2 * min(at_most, max(at_least, 0.0))),
    )


def count_chances(chance: Floats) -> Floats:
    """
    Chance of 0, 1, 2 ... failures in all, each forecast failing with its own chance and by its own luck.

    Numbers so large that all of them together have a chance of 1e-12 are left off.

    Examples
    --------
    >>> count_chances(np.array([0.5, 0.1])).round(12).tolist()
    [0.45, 0.5, 0.05]
    """
    sure = int(np.sum(chance >= 1))
    unsure = chance[(chance > 0) & (chance < 1)]
    most = min(unsure.size, int(unsure.sum() + 12 * np.sqrt((unsure * (1 - unsure)).sum()) + 30))
    mass = np.zeros(most + 1)
    mass[0] = 1.0
    for each in unsure.tolist():
        mass[1:] += each * (mass[:-1] - mass[1:])
        mass[0] *= 1 - each
    return np.concatenate([np.zeros(sure), mass])


def _spread(chance: Floats, failed: Bools, cluster: NDArray[np.intp]) -> float:
    variance = np.bincount(cluster, chance * (1 - chance))
    told = variance > 0
    if told.sum() < 2:
        return 1.0
    off = np.bincount(cluster, failed - chance)
    return max(1.0, float((off[told] ** 2 / variance[told]).mean()))


def _checked(chance: ArrayLike, failed: ArrayLike) -> tuple[Floats, Bools]:
    forecast, happened = np.asarray(chance, dtype=np.float64), np.asarray(failed, dtype=bool)
    if forecast.ndim != 1 or forecast.shape != happened.shape or not np.all((forecast >= 0) & (forecast <= 1)):
        raise InvalidRecord("forecasts must be chances from 0 to 1, each with what happened")
    if not forecast.size:
        raise NotEnoughData("no forecast to score", hint="log battles, and the parts that sailed in them")
    return forecast, happened
