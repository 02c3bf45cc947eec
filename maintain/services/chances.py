"""The chance that each fitted part fails before the horizon, over all that is not known: clock, posterior, water."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from maintain.core.forecast import Ahead, Chance, Installed, chance_draws, summary
from maintain.core.lives import Floats
from maintain.core.mixture import Clock
from maintain.core.posterior import Draws
from maintain.services.horizon import Horizon
from maintain.services.outlook import DRAWS, LEVEL, SEED, CategoryOutlook, Outlook

KEPT = 500  # draws kept for what parts do together


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


def chances(look: Outlook, of: CategoryOutlook, horizon: Horizon) -> Chances:
    """Forecast every part of a category; seeded, so that the same records give the same answer."""
    drawn = _drawn(look, of, horizon)
    shuffled = np.random.default_rng([SEED, *of.category.encode()]).permutation(DRAWS)
    return Chances(summary(drawn.now, LEVEL), summary(drawn.new, LEVEL), drawn.take(shuffled[:KEPT]))


def _drawn(look: Outlook, of: CategoryOutlook, horizon: Horizon) -> Drawn:
    rng = np.random.default_rng(SEED)
    everyone = np.arange(of.parts.size)
    drawn = [_on_clock(look, of, clock, draws, horizon, rng) for clock, draws in of.weighed.sample(rng, DRAWS)]
    now, new, silent = (np.concatenate(each) for each in zip(*drawn, strict=True))
    strangers = everyone[~of.aged]
    if strangers.size:
        now[:, strangers] = -np.expm1(-steady_hazard(look, of, strangers, horizon, rng, now.shape[0]))
        untested = look.untested(of, of.weighed.clocks[0], strangers)
        silent[:, strangers] = -np.expm1(-of.rate.draw(rng, now.shape[0])[:, :1] * untested)
    return Drawn(now, new, silent)


def _on_clock(
    look: Outlook, of: CategoryOutlook, clock: Clock, draws: Draws, horizon: Horizon, rng: np.random.Generator
) -> tuple[Floats, Floats, Floats]:
    everyone = np.arange(of.parts.size)
    parts = look.installed(of, clock, everyone)
    ahead = look.ahead(of, clock, everyone, horizon)
    events = look.water.chances(rng, draws.shape.size, horizon.sorties) if sinks(clock) else None
    new = Installed(parts.group, np.zeros(everyone.size))
    untested = look.untested(of, clock, everyone)
    shown = Installed(parts.group, (parts.age - untested).clip(min=0.0))
    since = Ahead(untested, np.zeros(everyone.size), ahead.ship)
    return (
        chance_draws(draws, parts, ahead, events),
        chance_draws(draws, new, ahead, events),
        chance_draws(draws, shown, since),
    )


def sinks(clock: Clock) -> bool:
    """True if sinkings have a part in a clock."""
    return "immersions" in clock.worth


def steady_hazard(
    look: Outlook, of: CategoryOutlook, rows: NDArray[np.intp], horizon: Horizon, rng: np.random.Generator, size: int
) -> Floats:
    """
    Failures to expect of parts whose earlier use is unknown: age cannot be held for or against them.

    Returns
    -------
    array, shape = (size, rows.size)
    """
    clock = of.weighed.clocks[0]
    ahead = look.ahead(of, clock, rows, horizon)
    advance: Floats = np.broadcast_to(ahead.steady, (size, rows.size))
    if sinks(clock):
        advance = advance + look.water.counts(rng, size, horizon.sorties)[:, ahead.ship] * ahead.jump
    hazard: Floats = of.rate.draw(rng, size)[:, :1] * advance
    return hazard
