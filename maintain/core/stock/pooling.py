"""What one shared shelf saves against several: of families that could stand in for each other, or of ships."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from maintain.core.lives import Floats
from maintain.core.stock.demand import Demand, demand_from_counts
from maintain.errors import InvalidRecord


@dataclass(frozen=True)
class Pooled:
    """
    Holdings for the same service, on shelves apart and on one.

    Attributes
    ----------
    apart : tuple of int
        On a shelf for each, each sufficing with the chance asked for.
    together : int
        On one shelf for all, sufficing with the same chance.
    chance_apart, chance_together : float
        That nobody goes without: none of the shelves apart runs out; the one does not.
    safety_share : float
        Spread (standard deviation) of the whole demand over the sum of the spreads: what is held beyond the mean
        shrinks by it. 1 / sqrt(n) for n alike and independent, 1 where all have the same luck.
    """

    apart: tuple[int, ...]
    together: int
    chance_apart: float
    chance_together: float
    safety_share: float

    @property
    def saved(self) -> int:
        """Pieces fewer on one shelf; below 0 where lumpy demand needs more on one than apart."""
        return sum(self.apart) - self.together


def pooled(counts: NDArray[np.int64], service: float) -> Pooled:
    """
    Hold for several demands apart and together.

    Parameters
    ----------
    counts : array of int, shape = (n_draws, n_demands)
        Calls, drawn together: what they share in luck is kept, as independent demands would make pooling look better.
    service : float
        Chance with which each shelf is to suffice.

    Raises
    ------
    InvalidRecord
        If `service` does not lie between 0 and 1.

    References
    ----------
    Eppen (1979), Management Science 25, 498-501 (the law for normal demand: cost in proportion to the spread).

    Examples
    --------
    >>> luck = np.array([[0, 1], [1, 0]] * 10)  # when one is called for, the other never is
    >>> found = pooled(luck, 0.95)
    >>> found.apart, found.together, found.saved
    ((1, 1), 1, 1)
    """
    apart = tuple(demand_from_counts(each).holding_for(service) for each in counts.T)
    whole = counts.sum(axis=1)
    together = demand_from_counts(whole).holding_for(service)
    spread = float(counts.std(axis=0).sum())
    return Pooled(
        apart=apart,
        together=together,
        chance_apart=float(np.mean(np.all(counts <= np.asarray(apart), axis=1))),
        chance_together=float(np.mean(whole <= together)),
        safety_share=float(whole.std()) / spread if spread > 0 else 1.0,
    )


def private_holdings(demand: Demand, shares: Sequence[float], service: float) -> tuple[int, ...]:
    """
    What each of several owners would have to hold alone.

    Each call falls on an owner by chance, in proportion to her share of the parts; owners with the same share hold
    the same.

    Parameters
    ----------
    demand : Demand
        Of all together.
    shares : sequence of float
        Of each owner; they sum to 1.
    service : float
        Chance with which each holding is to suffice.

    Raises
    ------
    InvalidRecord
        If the shares are no shares, or as `Demand.holding_for`.

    Examples
    --------
    >>> from scipy.stats import poisson
    >>> fleet = Demand(poisson.pmf(np.arange(30), 4.0))
    >>> private_holdings(fleet, [0.25] * 4, 0.95), fleet.holding_for(0.95)  # four ships: 12 apart, 8 together
    ((3, 3, 3, 3), 8)
    """
    given = np.asarray(shares, dtype=np.float64)
    if given.size == 0 or np.any(given < 0) or not np.isclose(given.sum(), 1.0):
        raise InvalidRecord("shares must not be negative, and must sum to 1")
    alone = {share: _thinned(demand, share).holding_for(service) for share in np.unique(given).tolist()}
    return tuple(alone[share] for share in given.tolist())


def _thinned(demand: Demand, share: float) -> Demand:
    """The calls that fall on one owner."""
    from scipy.stats import binom

    calls = np.arange(demand.chances.size)
    chances = np.asarray(binom.pmf(calls[None, :], calls[:, None], share))
    return Demand(demand.chances @ chances)


def chance_least(draws: ArrayLike) -> Floats:
    """
    Chance of each to be the least of all.

    Parameters
    ----------
    draws : array-like, shape = (n_draws, n_of_them)
        What each is worth in each draw of what is believed.

    Examples
    --------
    >>> chance_least([[1.0, 2.0], [3.0, 2.0], [1.0, 5.0], [1.0, 9.0]]).tolist()
    [0.75, 0.25]
    """
    values = np.asarray(draws, dtype=np.float64)
    found: Floats = np.bincount(values.argmin(axis=1), minlength=values.shape[1]) / values.shape[0]
    return found
