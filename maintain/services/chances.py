"""The chance that each fitted part fails before the horizon, over all that is not known: clock, posterior, water."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from maintain.core.forecast import Ahead, Chance, chance_draws, summary
from maintain.core.lives import Floats
from maintain.services.lives.service_ages import KEPT
from maintain.services.outlook import LEVEL, CategoryOutlook, Outlook, Sight

_PARTS_AT_ONCE = 500  # so that a federation's fleet fits in memory


@dataclass(frozen=True)
class Drawn:
    """
    Chances of one category's parts, draw by draw.

    What is believed of a category is drawn apart from all others, and a ship's water once for all her parts: a draw
    tells of parts of several categories together.

    Attributes
    ----------
    now, new : array, shape = (n_draws, n_parts)
        Chance of failing by the horizon as the parts are, given that they work, and of new ones in their place.
    silent : array, shape = (n_draws, n_parts)
        Chance that it has failed already since it was last shown to work.
    """

    now: Floats
    new: Floats
    silent: Floats

    @property
    def let_down(self) -> Floats:
        """Chance that it has failed since it was last shown to work, or will by the horizon."""
        found: Floats = self.silent + (1 - self.silent) * self.now
        return found

    @property
    def kept(self) -> Kept:
        """The first of the draws."""
        return Kept(*(np.asfortranarray(getattr(self, name)[:KEPT], dtype=np.float32) for name in _DRAWN))


@dataclass(frozen=True)
class Kept:
    """
    Some of the draws, as short numbers and part by part in memory: a federation's would not fit otherwise.

    Attributes
    ----------
    now, new, silent : array of float32, shape = (KEPT, n_parts)
        As in Drawn.
    """

    now: NDArray[np.float32]
    new: NDArray[np.float32]
    silent: NDArray[np.float32]

    def of(self, part: int) -> Drawn:
        """Return the draws of one part, shape = (KEPT,)."""
        return Drawn(*(getattr(self, name)[:, part].astype(np.float64) for name in _DRAWN))


@dataclass(frozen=True)
class Chances:
    """
    Chances of one category's parts, in the order of its `parts`.

    Attributes
    ----------
    now : Chance
        As the parts are: that they have failed since they were last shown to work, or will.
    new : Chance
        If each were replaced today by a new one treated alike.
    kept : Kept
        Some of the draws.
    age : array, shape = (n_parts,)
        Service age expected at the horizon, sinkings left out.
    """

    now: Chance
    new: Chance
    kept: Kept
    age: Floats


def chances(look: Outlook, of: CategoryOutlook) -> Chances:
    """Forecast every part of a category; seeded, so that the same records give the same answer."""
    portions = []
    for start in range(0, of.parts.size, _PARTS_AT_ONCE):
        sight = look.sight(of, np.arange(start, min(start + _PARTS_AT_ONCE, of.parts.size)))
        drawn, age = _drawn(sight, look.water.chances), (sight.parts.age + sight.ahead.steady).mean(axis=0)
        portions.append(Chances(summary(drawn.let_down, LEVEL), summary(drawn.new, LEVEL), drawn.kept, age))
    return _joined(portions)


def _drawn(sight: Sight, water: Floats) -> Drawn:
    age = sight.parts.age
    nothing = np.zeros(age.shape[1])
    shown = replace(sight.parts, age=(age - sight.untested).clip(min=0.0))
    now = chance_draws(sight.draws, sight.parts, sight.ahead, water)
    new = chance_draws(sight.draws, replace(sight.parts, age=nothing), sight.ahead, water)
    silent = chance_draws(sight.draws, shown, Ahead(sight.untested, nothing, sight.ahead.ship))
    return Drawn(now, new, silent)


def _joined(portions: list[Chances]) -> Chances:
    now, new = (
        Chance(*(np.concatenate([getattr(getattr(each, side), name) for each in portions]) for name in _CHANCE))
        for side in ("now", "new")
    )
    kept = Kept(*(np.concatenate([getattr(each.kept, name) for each in portions], axis=1) for name in _DRAWN))
    return Chances(now, new, kept, np.concatenate([each.age for each in portions]))


_CHANCE, _DRAWN = tuple(Chance.__dataclass_fields__), tuple(Drawn.__dataclass_fields__)
