"""Clubs drawn from a stated truth, small enough to draw thousands of."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from maintain.core.histories import Histories, histories
from maintain.core.lives import Lives, lives_from_times
from maintain.core.simulate import Weibull

LAW = Weibull(1.6, 900.0)  # days; about half of the parts have failed when the watch ends


@dataclass(frozen=True)
class Club:
    """Parts of several ships: their lives, and the ship of each."""

    lives: Lives
    ship: np.ndarray


def parts(rng: np.random.Generator, ships: int, per_ship: int, *, luck: float = 0.0, late: float = 0.0) -> Club:
    """
    Draw a club whose parts live by LAW.

    Parameters
    ----------
    rng : Generator
    ships, per_ship : int
    luck : float
        Variance between ships of what multiplies the hazard of all parts of one ship (gamma, mean 1).
    late : float
        Share of the parts that had served up to 400 days when their watch began.
    """
    ship = np.repeat(np.arange(ships), per_ship)
    ratio = rng.gamma(1 / luck, luck, ships)[ship] if luck else np.ones(ship.size)
    entry = rng.uniform(0, 400, ship.size) * (rng.random(ship.size) < late)
    age = LAW.failure_ages(rng, entry, ratio)
    end = entry + rng.uniform(300, 1300, ship.size)
    return Club(lives_from_times(np.minimum(age, end), age < end, entry), ship)


def share_working(days: float, luck: float = 0.0) -> float:
    """The true share of all parts that work after so many days, over all the ships there might be."""
    hazard = (days / LAW.scale) ** LAW.shape
    return float((1 + luck * hazard) ** (-1 / luck) if luck else np.exp(-hazard))


def repaired(rng: np.random.Generator, units: int, *, unlike: float = 0.5, rate: float = 0.2) -> Histories:
    """
    Draw units that fail at steady rates and are mended each time, watched for 5 to 15 years.

    Parameters
    ----------
    rng : Generator
    units : int
    unlike : float
        Variance between units of what multiplies the rate (gamma, mean 1).
    rate : float
        Mean number of failures of a unit in a year.
    """
    unit, time, failed = [], [], []
    for one in range(units):
        end = rng.uniform(5, 15)
        count = rng.poisson(rate * (rng.gamma(1 / unlike, unlike) if unlike else 1.0) * end)
        unit += [one] * (count + 1)
        time += [*(end * (1 - rng.random(count))), end]
        failed += [True] * count + [False]
    return histories(unit, time, failed)
