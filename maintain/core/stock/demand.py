"""Parts called for within a horizon: their chances, and what a holding means for them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from maintain.core.lives import Floats
from maintain.errors import InvalidRecord


def require_service(service: float) -> None:
    """Raise InvalidRecord unless a service level is a chance that can be aimed at."""
    if not 0 < service < 1:
        raise InvalidRecord(
            f"a service level of {service:g} is no chance", hint="write one between 0 and 1, for example 0.95"
        )


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
        require_service(service)
        return self._quantile(service)

    def expected_shortages(self, holding: int) -> float:
        """
        Expected calls that find the shelf empty.

        References
        ----------
        Sherbrooke (2004), Optimal Inventory Modeling of Systems, 2nd ed., chapter 2 (expected backorders).
        """
        return float(self.chances @ np.maximum(np.arange(self.chances.size) - holding, 0))

    def share_supplied(self, holding: int) -> float:
        """Expected share of calls supplied from a shelf that is not refilled within the horizon; 1 if none come."""
        return 1 - self.expected_shortages(holding) / self.mean if self.mean > 0 else 1.0

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
