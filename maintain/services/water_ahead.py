"""What lies ahead of every ship: sorties planned, how often she gets wet and sinks by her record and the fleet's."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from maintain.core.event_shares import count_chances, draw_counts, event_shares
from maintain.core.exposure import Ints, exposure
from maintain.core.lives import Floats
from maintain.services.horizon import Horizon
from maintain.services.lives.history import History
from maintain.vocabulary import UNDER_FROM, WET_FROM, ZONES

# Share of sorties as wet as that or wetter (9: never), believed before any was logged, and how many sorties that belief
# weighs (common practice, no source).
_BELIEVED = {1: 0.5, 2: 0.25, 3: 0.1, 4: 0.03, 9: 0.001}
_BELIEF_WEIGHS = 2.0
_FLEET_SORTIES = 10  # the fleet's mean minutes weigh as much as so many sorties of the ship's own


@dataclass(frozen=True)
class Lanes:
    """
    Drawn shares of sorties, in lanes: one for each ship and each group of zones that water covers alike.

    Zones that share a lane share its luck: one sinking covers the bilge and the deck of a ship at once.

    Attributes
    ----------
    share : array, shape = (n_draws, n_lanes)
    lane_of_zone : array of int, shape = (n_zones,)
    n_ships : int
    """

    share: Floats
    lane_of_zone: Ints
    n_ships: int

    def of(self, ship: Ints, zone: Ints) -> NDArray[np.intp]:
        """Lane of parts on ships (by row) and in zones (by place in vocabulary.ZONES)."""
        return (self.lane_of_zone[zone] * self.n_ships + ship).astype(np.intp)


@dataclass(frozen=True)
class WaterAhead:
    """
    How the clocks of parts go on until the horizon; draws of sinkings are shared by all parts of a ship.

    Attributes
    ----------
    horizon : Horizon
    sunk, wet : Lanes
    minutes : array, shape = (n_ships,)
        Of a sortie of each ship.
    """

    horizon: Horizon
    sunk: Lanes
    wet: Lanes
    minutes: Floats

    @cached_property
    def chances(self) -> Floats:
        """Chance of each number of sinkings, shape = (n_draws, planned + 1, n_lanes)."""
        return count_chances(self.sunk.share, self._planned)

    def counts(self, rng: np.random.Generator, rows: NDArray[np.intp]) -> NDArray[np.int64]:
        """Drawn numbers of sinkings in some of the draws, shape = (n_rows, n_lanes)."""
        return draw_counts(rng, self.sunk.share[rows], self._planned)

    def steady(self, worth: Mapping[str, Floats], ship: Ints, zone: Ints) -> Floats:
        """
        Service age that parts gain whatever sinks: days, minutes afloat, wet sorties as many as are to be expected.

        Parameters
        ----------
        worth : mapping of str to array, shape = (n_draws,)
            What a unit of each clock costs.
        ship, zone : array of int, shape = (n_parts,)

        Returns
        -------
        array, shape = (n_draws, n_parts)
        """
        sorties = self.horizon.sorties
        gained: Floats = worth["days"][:, None] * np.full(ship.size, float(self.horizon.days))
        if "minutes afloat" in worth:
            gained = gained + worth["minutes afloat"][:, None] * sorties * self.minutes[ship]
        if "wet sorties" in worth:
            gained = gained + worth["wet sorties"][:, None] * sorties * self.wet.share[:, self.wet.of(ship, zone)]
        return gained

    @property
    def _planned(self) -> Ints:
        return np.full(self.sunk.share.shape[1], self.horizon.sorties)


def water_ahead(past: History, horizon: Horizon, rng: np.random.Generator, size: int) -> WaterAhead:
    """Learn from the sorties recorded, and draw each ship's shares."""
    return WaterAhead(
        horizon,
        _lanes(past, "immersions", UNDER_FROM, (rng, size)),
        _lanes(past, "wet sorties", WET_FROM, (rng, size)),
        _minutes(past),
    )


def _lanes(past: History, clock: str, reached_from: Mapping[str, int], draw: tuple[np.random.Generator, int]) -> Lanes:
    n_ships = len(past.rows.ship["id"])
    threshold = [reached_from[zone] for zone in ZONES]
    alike = sorted(set(threshold))
    gain = exposure(past.log, clock).gain
    sailed = np.bincount(past.log.sorties.ship, minlength=n_ships).astype(np.float64)
    shares = []
    for value in alike:
        reached = np.bincount(past.log.sorties.ship, gain[threshold.index(value)], n_ships)
        counts = np.minimum(np.nan_to_num(reached), sailed)
        shares.append(event_shares(counts, sailed, _BELIEVED[value], _BELIEF_WEIGHS).draw(*draw))
    return Lanes(np.concatenate(shares, axis=1), np.array([alike.index(value) for value in threshold]), n_ships)


def _minutes(past: History) -> Floats:
    """Minutes of a sortie of each ship, shrunk to the fleet's mean."""
    n_ships = len(past.rows.ship["id"])
    gain = exposure(past.log, "minutes afloat").gain[0]
    sailed = np.bincount(past.log.sorties.ship, minlength=n_ships)
    total = np.bincount(past.log.sorties.ship, gain, n_ships)
    mean = float(gain.mean()) if gain.size else 0.0
    found: Floats = (total + _FLEET_SORTIES * mean) / (sailed + _FLEET_SORTIES)
    return found
