"""Parts called for within a horizon: its chances, what a holding means for them, and how such demands are made."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from maintain.core.lives import Floats
from maintain.core.renewal import RenewalCounts
from maintain.errors import InvalidRecord

_NEGLIGIBLE = 1e-12  # chance of so many calls that nobody need count them


@dataclass(frozen=True)
class Demand:
    """
    Chances of each number of parts called for within a horizon.

    Attributes
    ----------
    chances : array, shape = (most + 1,)
        Chance of 0, 1, ... `most` calls; sums to 1.
    """

    chances: Floats

    @property
    def mean(self) -> float:
        """Expected number of calls."""
        return float(self.chances @ np.arange(self.chances.size))

    @property
    def variance(self) -> float:
        """Variance of the number of calls; a Poisson's equals its mean, and what comes in lumps has more."""
        return self.shortage_variance(0)

    def interval(self, level: float = 0.8) -> tuple[int, int]:
        """Equal-tailed interval: at least `level` of the chance lies from its lower to its upper number of calls."""
        return self._quantile((1 - level) / 2), self._quantile((1 + level) / 2)

    def shortage_chance(self, holding: int) -> float:
        """Chance that more are called for than held."""
        return float(self.chances[holding + 1 :].sum())

    def holding_for(self, service: float) -> int:
        """
        Smallest holding that suffices with probability `service`.

        Raises
        ------
        InvalidRecord
            If `service` does not lie between 0 and 1.
        """
        if not 0 < service < 1:
            raise InvalidRecord(f"a service level lies between 0 and 1, not at {service}")
        return self._quantile(service)

    def expected_shortages(self, holding: int) -> float:
        """
        Expected calls that find the shelf empty.

        References
        ----------
        Sherbrooke (2004), Optimal Inventory Modeling of Systems, 2nd ed., chapter 2 (expected backorders).
        """
        return float(self.chances @ np.maximum(np.arange(self.chances.size) - holding, 0))

    def shortage_variance(self, holding: int) -> float:
        """
        Variance of the calls that find the shelf empty.

        References
        ----------
        Graves (1985), Management Science 31, 1247-1256; Sherbrooke (2004), chapter 5.
        """
        short = np.maximum(np.arange(self.chances.size) - holding, 0.0)
        return float(self.chances @ short**2) - self.expected_shortages(holding) ** 2

    def share_supplied(self, holding: int) -> float:
        """Expected share of calls supplied from a shelf that is not refilled within the horizon; 1 if none come."""
        return 1 - self.expected_shortages(holding) / self.mean if self.mean > 0 else 1.0

    def fill_rate(self, holding: int) -> float:
        """
        Chance that a call finds a part on a shelf that is refilled one for one, this being the demand of a lead time.

        That is the chance of fewer calls than are held (not of as many as are held).

        References
        ----------
        Sherbrooke (2004), chapter 2.
        """
        return float(self.chances[:holding].sum())

    def _quantile(self, chance: float) -> int:
        # rounding must not turn a sum of exactly 0.95 into one spare more
        return int(np.searchsorted(np.cumsum(self.chances) + 1e-12, chance))


def demand_from_counts(counts: ArrayLike) -> Demand:
    """
    Demand as simulated.

    Parameters
    ----------
    counts : array-like of int, shape = (n_draws,)
        Calls in each draw: failures of the family's positions and any other demand, drawn together.

    Raises
    ------
    InvalidRecord
        If there are no draws.
    """
    called = np.asarray(counts, dtype=np.int64)
    if called.size == 0:
        raise InvalidRecord("a demand needs at least one draw")
    return Demand(np.bincount(called) / called.size)


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
    if fails.ndim != 2 or not np.all((fails >= 0) & (fails <= 1)):
        raise InvalidRecord("chances of failing must lie between 0 and 1, in a row for each draw")
    n_draws, n_parts = fails.shape
    found = np.zeros((n_draws, n_parts + 1))
    found[:, 0] = 1.0
    for part in range(n_parts):
        p, so_far = fails[:, part, None], found[:, : part + 1]
        moved = so_far * p
        so_far *= 1 - p
        found[:, 1 : part + 2] += moved
    return Demand(found.mean(axis=0))


def poisson_demand(mean: float) -> Demand:
    """
    Demand of things that fail at a known steady rate.

    A Poisson with the same mean is wrong for parts that wear out: use it for steady demand only.

    Examples
    --------
    >>> [poisson_demand(2.0).holding_for(service) for service in (0.8, 0.9, 0.95, 0.99)]  # any Poisson table
    [3, 4, 5, 6]
    """
    from scipy.stats import poisson

    if not (mean >= 0 and np.isfinite(mean)):
        raise InvalidRecord(f"an expected demand cannot be {mean}")
    chances = np.asarray(poisson.pmf(np.arange(int(mean + 10 * np.sqrt(mean) + 21)), mean))
    return Demand(chances / chances.sum())


def demand_with_renewal(positions: Iterable[RenewalCounts]) -> Demand:
    """
    Exact demand of positions whose part is replaced at each failure, the replacements failing too, each by itself.

    Parameters
    ----------
    positions : iterable of RenewalCounts
        Of each position (`renewal.renewal_counts`).

    Examples
    --------
    >>> from maintain.core.renewal import renewal_counts
    >>> steady = demand_with_renewal([renewal_counts(1.0, 10.0, 10.0)] * 2)  # a steady hazard: Poisson with mean 2
    >>> [steady.holding_for(service) for service in (0.8, 0.9, 0.95, 0.99)]
    [3, 4, 5, 6]
    """
    found = np.ones(1)
    for each in positions:
        found = np.convolve(found, -np.diff(np.concatenate([[1.0], each.at_least, [0.0]])))
    return _trimmed(found)


def compound_demand(times: ArrayLike, sizes: ArrayLike) -> Demand:
    """
    Exact demand that comes in lots: so many times, each as large as one of those seen.

    Parameters
    ----------
    times : array-like, shape = (most + 1,)
        Chance of 0, 1, ... `most` lots; sums to 1.
    sizes : array-like of int, shape = (n_lots,)
        Pieces in each lot seen, each as likely as the next.

    Examples
    --------
    >>> compound_demand([0.5, 0.25, 0.25], [1, 3]).chances.tolist()
    [0.5, 0.125, 0.0625, 0.125, 0.125, 0.0, 0.0625]
    """
    chance, lots = np.asarray(times, dtype=np.float64), np.asarray(sizes, dtype=np.int64)
    if chance.ndim != 1 or not np.all(chance >= 0) or lots.size == 0 or lots.min() < 1:
        raise InvalidRecord("lots need chances of so many, and the pieces in each")
    lot = np.bincount(lots) / lots.size
    most = (chance.size - 1) * (lot.size - 1)
    # Horner's rule: the generating function of the lots within that of their number
    found = np.zeros(most + 1)
    for each in chance[::-1]:
        found = np.convolve(found, lot)[: most + 1]
        found[0] += each
    return _trimmed(found)


def _trimmed(chances: Floats) -> Demand:
    """Leave out what hardly ever happens, and rounding below 0."""
    kept = np.maximum(chances, 0.0)
    beyond = np.cumsum(kept[::-1])[::-1]
    kept = kept[: max(1, int(np.searchsorted(-beyond, -_NEGLIGIBLE)))]
    return Demand(kept / kept.sum())
