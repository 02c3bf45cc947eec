"""Exact counts and demands to hold simulated ones against; themselves held against published values."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike
from scipy.stats import poisson

from maintain.core.lives import Floats
from maintain.core.stock.demand import Demand


@dataclass(frozen=True)
class RenewalCounts:
    """
    Failures of one position within a horizon, a new part fitted at the start and after each.

    Attributes
    ----------
    at_least : array, shape = (most,)
        Chance of at least 1, 2, ... `most` failures.
    mean : float
        Expected failures.
    """

    at_least: Floats
    mean: float


def renewal_counts(shape: float, scale: float, horizon: float, age: float = 0.0, steps: int = 4000) -> RenewalCounts:
    """
    Count the failures of a renewed Weibull part by repeated convolution of its life.

    Parameters
    ----------
    shape, scale : float
    horizon : float
        In the units of `scale`.
    age : float
        Of the first part, which works now; those that replace it are new.
    steps : int
        Steps of the grid in time; the error falls with its square (about 1e-7 at the default, for shapes from 1).

    References
    ----------
    Smith and Leadbetter (1963), Technometrics 5, 393-396; Cox (1962), Renewal Theory, chapters 2 and 3.

    Examples
    --------
    >>> round(renewal_counts(1.0, 10.0, 10.0).mean, 6)  # a steady hazard: Poisson with mean 1
    1.0
    """
    size = 1 << (2 * steps).bit_length()
    time = np.linspace(0, horizon, steps + 1)
    ends_in = np.fft.rfft(np.diff(-np.expm1(-((time / scale) ** shape))), size)
    failed_by = -np.expm1((age / scale) ** shape - ((age + time) / scale) ** shape)
    found = [failed_by[-1]]
    while found[-1] > 1e-15 and len(found) < 1000:
        # the mean of the values at both ends of a step stands for the step
        through = np.fft.irfft(np.fft.rfft((failed_by[1:] + failed_by[:-1]) / 2, size) * ends_in, size)[:steps]
        failed_by = np.concatenate([[0.0], through])
        found.append(failed_by[-1])
    at_least = np.array(found).clip(min=0)
    return RenewalCounts(at_least, float(at_least.sum()))


def poisson_demand(mean: float) -> Demand:
    """
    Demand of things that fail at a known steady rate.

    A Poisson with the same mean is wrong for parts that wear out: use it for steady demand only.

    Examples
    --------
    >>> [poisson_demand(2.0).holding_for(service) for service in (0.8, 0.9, 0.95, 0.99)]  # any Poisson table
    [3, 4, 5, 6]
    """
    chances = np.asarray(poisson.pmf(np.arange(int(mean + 10 * np.sqrt(mean) + 21)), mean))
    return Demand(chances / chances.sum())


def demand_without_renewal(chance: ArrayLike) -> Demand:
    """
    Exact demand when each part can fail at most once and fails by chance of its own, given each posterior draw.

    Within a draw the count is a sum of unlike coin tosses (Poisson-binomial), convolved part by part; the draws are
    then mixed, which keeps the uncertainty that all parts share.

    Parameters
    ----------
    chance : array-like, shape = (n_draws, n_parts)
        Chance that each part fails within the horizon.

    Examples
    --------
    >>> demand_without_renewal([[0.5, 0.5]]).chances.tolist()
    [0.25, 0.5, 0.25]
    """
    fails = np.asarray(chance, dtype=np.float64)
    n_draws, n_parts = fails.shape
    found = np.zeros((n_draws, n_parts + 1))
    found[:, 0] = 1.0
    for part in range(n_parts):
        p, so_far = fails[:, part, None], found[:, : part + 1]
        moved = so_far * p
        so_far *= 1 - p
        found[:, 1 : part + 2] += moved
    return Demand(found.mean(axis=0))


def demand_with_renewal(positions: Iterable[RenewalCounts]) -> Demand:
    """
    Exact demand of positions whose part is replaced at each failure, the replacements failing too, each by itself.

    Parameters
    ----------
    positions : iterable of RenewalCounts
        Of each position (`renewal_counts`).

    Examples
    --------
    >>> steady = demand_with_renewal([renewal_counts(1.0, 10.0, 10.0)] * 2)  # a steady hazard: Poisson with mean 2
    >>> [steady.holding_for(service) for service in (0.8, 0.9, 0.95, 0.99)]
    [3, 4, 5, 6]
    """
    found = np.ones(1)
    for each in positions:
        found = np.convolve(found, -np.diff(np.concatenate([[1.0], each.at_least, [0.0]])))
    return Demand(found / found.sum())


def variance(demand: Demand) -> float:
    """Variance of the number of calls; a Poisson's equals its mean, and what comes in lumps has more."""
    return float(demand.chances @ (np.arange(demand.chances.size) - demand.mean) ** 2)
