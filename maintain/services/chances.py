"""The chance that each fitted part fails before the horizon, over all that is not known: clock, posterior, water."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from maintain.core.forecast import Ahead, Chance, chance_draws, summary
from maintain.core.lives import Floats
from maintain.services.lives.service_ages import DRAWS, SEED
from maintain.services.outlook import LEVEL, CategoryOutlook, Outlook

KEPT = 500  # draws kept for what parts do together
_PARTS_AT_ONCE = 500  # so that a federation's fleet fits in memory


@dataclass(frozen=True)
class Drawn:
    """
    Chances of one category's parts, draw by draw.

    Every category has its draws in an order of its own, so that parts of several may be put side by side.

    Attributes
    ----------
    now, new : array, shape = (n_draws, n_parts)
        Chance of failing by the horizon as the parts are, given that they work, and of new ones in their place.
    silent : array, shape = (n_draws, n_parts)
        Chance that a hidden function has failed already since it was last shown to work; 0 for all others.
    """

    now: Floats
    new: Floats
    silent: Floats

    def take(self, draws: NDArray[np.intp]) -> Drawn:
        """Return some of the draws."""
        return Drawn(self.now[draws], self.new[draws], self.silent[draws])


@dataclass(frozen=True)
class Chances:
    """
    Chances of one category's parts, in the order of its `parts`.

    Attributes
    ----------
    now : Chance
        As the parts are.
    new : Chance
        If each were replaced today by a new one treated alike.
    kept : Drawn
        Some of the draws.
    """

    now: Chance
    new: Chance
    kept: Drawn


def chances(look: Outlook, of: CategoryOutlook) -> Chances:
    """Forecast every part of a category; seeded, so that the same records give the same answer."""
    rng = np.random.default_rng(SEED)
    kept = np.random.default_rng([SEED, *of.category.encode()]).permutation(DRAWS)[:KEPT]
    portions = []
    for start in range(0, of.parts.size, _PARTS_AT_ONCE):
        drawn = _drawn(look, of, np.arange(start, min(start + _PARTS_AT_ONCE, of.parts.size)), rng)
        portions.append(Chances(summary(drawn.now, LEVEL), summary(drawn.new, LEVEL), drawn.take(kept)))
    return _joined(portions)


def _drawn(look: Outlook, of: CategoryOutlook, rows: NDArray[np.intp], rng: np.random.Generator) -> Drawn:
    sight, water = look.sight(of, rows), look.water.chances
    age, nothing = sight.parts.age, np.zeros(rows.size)
    shown = replace(sight.parts, age=(age - sight.untested).clip(min=0.0))
    now = chance_draws(sight.draws, sight.parts, sight.ahead, water)
    new = chance_draws(sight.draws, replace(sight.parts, age=nothing), sight.ahead, water)
    silent = chance_draws(sight.draws, shown, Ahead(sight.untested, nothing, sight.ahead.ship))
    strangers = np.flatnonzero(~of.aged[rows])
    if strangers.size:
        hazard = look.steady_hazard(of, rows[strangers], rng, look.water.counts(rng))
        now[:, strangers] = -np.expm1(-hazard)
        rate = of.rate.draw(rng, DRAWS)[:, :1]
        silent[:, strangers] = -np.expm1(-rate * sight.untested[:, strangers])
    return Drawn(now, new, silent)


def _joined(portions: list[Chances]) -> Chances:
    now, new = (
        Chance(*(np.concatenate([getattr(getattr(each, side), name) for each in portions]) for name in _CHANCE))
        for side in ("now", "new")
    )
    kept = Drawn(*(np.concatenate([getattr(each.kept, name) for each in portions], axis=1) for name in _DRAWN))
    return Chances(now, new, kept)


_CHANCE, _DRAWN = tuple(Chance.__dataclass_fields__), tuple(Drawn.__dataclass_fields__)
