"""Lives and exposures drawn from a stated truth, for the demo club and for tests of every estimator."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from maintain.core.lives import Bools, Floats

Codes = NDArray[np.int8]  # wetness of a sortie, 0 for W0 to 5 for W5

# The mildest wetness at which water reaches a part in each open zone, and at which it is under.
WET_FROM = {"external": 1, "bilge": 1, "dry deck": 2}
UNDER_FROM = 3


@dataclass(frozen=True)
class ServiceAge:
    """
    What ages a part, in days of life: a day counts 1.

    Attributes
    ----------
    per_minute, per_wet_sortie, per_immersion : float
        Days of life that a minute afloat, a sortie wetter than dry, and a sinking cost.
    """

    per_minute: float = 0.0
    per_wet_sortie: float = 0.0
    per_immersion: float = 0.0

    def gained(self, days: ArrayLike, minutes: ArrayLike, wet_sorties: ArrayLike, immersions: ArrayLike) -> Floats:
        """
        Service age gained by an exposure, in days; arrays broadcast.

        Examples
        --------
        >>> float(ServiceAge(0.1, 2.0, 60.0).gained(30, 100, 3, 1))
        106.0
        """
        return np.asarray(
            np.asarray(days, dtype=float)
            + self.per_minute * np.asarray(minutes, dtype=float)
            + self.per_wet_sortie * np.asarray(wet_sorties, dtype=float)
            + self.per_immersion * np.asarray(immersions, dtype=float)
        )


@dataclass(frozen=True)
class Weibull:
    """
    A Weibull law of service age.

    Attributes
    ----------
    shape : float
        Below 1 early failures, 1 steady, above 1 wear-out.
    scale : float
        Service age in days at which 63 % have failed.
    """

    shape: float
    scale: float

    def hazard_gained(self, before: ArrayLike, after: ArrayLike, ratio: ArrayLike = 1.0) -> Floats:
        """
        Cumulative hazard between two service ages, times the hazard ratio of the part's circumstances.

        Examples
        --------
        >>> float(Weibull(2.0, 100.0).hazard_gained(50.0, 100.0))
        0.75
        """
        old = (np.asarray(before, dtype=float) / self.scale) ** self.shape
        new = (np.asarray(after, dtype=float) / self.scale) ** self.shape
        return np.asarray((new - old) * np.asarray(ratio, dtype=float))

    def failure_ages(self, rng: np.random.Generator, entry: ArrayLike, ratio: ArrayLike = 1.0) -> Floats:
        """
        Draw the service age at failure of parts that work at `entry`.

        Parameters
        ----------
        entry : array-like, shape = (n,)
            Service age at which each part is known to work, in days.
        ratio : array-like, shape = (n,) or scalar
            Hazard ratio of each part's circumstances.

        References
        ----------
        Inversion of H(T) - H(entry) ~ Exp(1): Devroye (1986), Non-Uniform Random Variate Generation, ch. VI.2.

        Examples
        --------
        >>> bool((Weibull(1.5, 80.0).failure_ages(np.random.default_rng(1), np.full(9, 70.0)) > 70).all())
        True
        """
        start = np.asarray(entry, dtype=float)
        drawn = -np.log1p(-rng.random(start.shape)) / np.asarray(ratio, dtype=float)
        return np.asarray(self.scale * ((start / self.scale) ** self.shape + drawn) ** (1.0 / self.shape))


@dataclass(frozen=True)
class Waters:
    """
    How a ship's sorties go.

    Attributes
    ----------
    chances : tuple of six floats
        Chance of W0 to W5 at each sortie; they add up to 1.
    minutes_mean, minutes_sd : float
        Time afloat of a sortie in minutes, normal, never below 3.
    box_lets_in : tuple of two floats
        Chance that water finds a way into the sealed box at W3, and at W4 or W5.
    """

    chances: tuple[float, float, float, float, float, float]
    minutes_mean: float = 25.0
    minutes_sd: float = 6.0
    box_lets_in: tuple[float, float] = (0.0, 1.0)


@dataclass(frozen=True)
class Sorties:
    """
    Sorties of one ship.

    Attributes
    ----------
    minutes : array
        Minutes afloat.
    wetness : array of int8
        0 for W0 to 5 for W5.
    box_wet : array of bool
        True if water got into the sealed box.
    """

    minutes: Floats
    wetness: Codes
    box_wet: Bools


def sail(rng: np.random.Generator, waters: Waters, shape: tuple[int, ...]) -> Sorties:
    """
    Draw sorties, each field an array of `shape`.

    Examples
    --------
    >>> calm = sail(np.random.default_rng(1), Waters((1.0, 0.0, 0.0, 0.0, 0.0, 0.0)), (2, 3))
    >>> int(calm.wetness.sum()), calm.minutes.shape
    (0, (2, 3))
    """
    # Only uniform numbers are drawn: their stream is the one that NumPy keeps the same from version to version.
    u, v = rng.random(shape), rng.random(shape)
    normal = np.sqrt(-2.0 * np.log1p(-u)) * np.cos(2.0 * np.pi * v)
    minutes = np.maximum(3.0, waters.minutes_mean + waters.minutes_sd * normal)
    wetness = np.searchsorted(np.cumsum(waters.chances)[:-1], rng.random(shape), side="right").astype(np.int8)
    chance_in = np.select([wetness >= 4, wetness == 3], [waters.box_lets_in[1], waters.box_lets_in[0]], 0.0)
    return Sorties(minutes, wetness, rng.random(shape) < chance_in)


def water_reaching(zone: str, sorties: Sorties) -> tuple[Bools, Bools]:
    """
    Tell at which sorties water reached a part in `zone`, and at which it was under.

    Water in the sealed box counts as found there; elsewhere the wetness of the ship decides. Nothing reaches a part
    ashore.
    """
    if zone == "ashore":
        nowhere = np.zeros(sorties.wetness.shape, dtype=bool)
        return nowhere, nowhere
    if zone == "sealed box":
        return sorties.box_wet, sorties.box_wet
    return sorties.wetness >= WET_FROM[zone], sorties.wetness >= UNDER_FROM


@dataclass(frozen=True)
class Outlook:
    """
    What a truth says of one part over coming sorties.

    Attributes
    ----------
    fails : float
        Chance that the part aboard fails by the end, given that it works now.
    failures : int array, shape = (n_draws,)
        Failures at this position by the end, each failed part replaced at once by a new one.
    """

    fails: float
    failures: NDArray[np.int64]


def look_ahead(rng: np.random.Generator, law: Weibull, age: float, gained: Floats, *, ratio: float = 1.0) -> Outlook:
    """
    Draw the failures of a position whose part has service age `age` now.

    Parameters
    ----------
    gained : array, shape = (n_draws,)
        Service age gained until the end, one draw of the exposure each.
    ratio : float
        Hazard ratio of the position's circumstances; a new part meets the same.
    """
    fails = float(-np.expm1(-law.hazard_gained(age, age + gained, ratio)).mean())
    reached = law.failure_ages(rng, np.full(gained.shape, age), ratio) - age
    failures = np.zeros(gained.shape, dtype=np.int64)
    while (failed := reached <= gained).any():
        failures += failed
        reached = np.where(failed, reached + law.failure_ages(rng, np.zeros(gained.shape), ratio), np.inf)
    return Outlook(fails, failures)
