"""How often each ship will sink what is in each zone, by her own record and the fleet's."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from maintain.core.event_shares import EventShares, count_chances, draw_counts, event_shares
from maintain.core.exposure import Ints, exposure
from maintain.core.lives import Floats
from maintain.services.lives.history import History
from maintain.vocabulary import UNDER_FROM, ZONES


@dataclass(frozen=True)
class WaterAhead:
    """
    Shares of sorties with a sinking, in lanes: one for each ship and each group of zones that water covers alike.

    Zones that share a lane share its luck: one sinking covers the bilge and the deck of a ship at once.

    Attributes
    ----------
    shares : tuple of EventShares
        One for each group of zones; ships by row.
    lane_of_zone : array of int, shape = (n_zones,)
    n_ships : int
    """

    shares: tuple[EventShares, ...]
    lane_of_zone: Ints
    n_ships: int

    def lanes(self, ship: Ints, zone: Ints) -> NDArray[np.intp]:
        """Lane of parts on ships (by row) and in zones (by place in vocabulary.ZONES)."""
        return (self.lane_of_zone[zone] * self.n_ships + ship).astype(np.intp)

    def chances(self, rng: np.random.Generator, size: int, planned: int) -> Floats:
        """Chance of each number of sinkings in so many sorties, shape = (size, planned + 1, n_lanes)."""
        share = self._draw(rng, size)
        return count_chances(share, np.full(share.shape[1], planned))

    def counts(self, rng: np.random.Generator, size: int, planned: int) -> NDArray[np.int64]:
        """Numbers of sinkings in so many sorties, shape = (size, n_lanes)."""
        share = self._draw(rng, size)
        return draw_counts(rng, share, np.full(share.shape[1], planned))

    def _draw(self, rng: np.random.Generator, size: int) -> Floats:
        return np.concatenate([each.draw(rng, size) for each in self.shares], axis=1)


def water_ahead(past: History) -> WaterAhead:
    """Learn the shares from the sorties recorded."""
    n_ships = len(past.rows.ship["id"])
    threshold = [UNDER_FROM[zone] for zone in ZONES]
    alike = sorted(set(threshold))
    gain = exposure(past.log, "immersions").gain
    sailed = np.bincount(past.log.sorties.ship, minlength=n_ships).astype(np.float64)
    shares = []
    for value in alike:
        sunk = np.bincount(past.log.sorties.ship, gain[threshold.index(value)], n_ships)
        shares.append(event_shares(np.minimum(np.nan_to_num(sunk), sailed), sailed))
    lanes = np.array([alike.index(value) for value in threshold], dtype=np.int64)
    return WaterAhead(tuple(shares), lanes, n_ships)
