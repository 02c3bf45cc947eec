"""The chance that each fitted part fails before the horizon, over all that is not known: clock, posterior, water."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from maintain.core.forecast import Chance, Installed, chance_draws, summary
from maintain.core.lives import Bools, Floats
from maintain.core.mixture import Clock
from maintain.core.posterior import Draws
from maintain.services.horizon import Horizon
from maintain.services.outlook import DRAWS, LEVEL, SEED, CategoryOutlook, Outlook


@dataclass(frozen=True)
class Chances:
    """
    Chances of one category's parts, in the order of its `parts`.

    Attributes
    ----------
    now : Chance
        As the parts are; a hidden function may have failed already.
    new : Chance
        If each were replaced today by a new one treated alike.
    fails : array of bool, shape = (DRAWS, n_parts)
        Which of them fail, draw by draw.
    """

    now: Chance
    new: Chance
    fails: Bools


def chances(look: Outlook, of: CategoryOutlook, horizon: Horizon) -> Chances:
    """Forecast every part of a category; seeded, so that the same records give the same answer."""
    rng = np.random.default_rng(SEED)
    everyone = np.arange(of.parts.size)
    drawn = [_on_clock(look, of, clock, draws, horizon, rng) for clock, draws in of.weighed.sample(rng, DRAWS)]
    now, new = (np.concatenate(each) for each in zip(*drawn, strict=True))
    strangers = everyone[~of.aged]
    if strangers.size:
        now[:, strangers] = -np.expm1(-steady_hazard(look, of, strangers, horizon, rng, now.shape[0]))
    return Chances(summary(now, LEVEL), summary(new, LEVEL), rng.random(now.shape) < now)


def _on_clock(
    look: Outlook, of: CategoryOutlook, clock: Clock, draws: Draws, horizon: Horizon, rng: np.random.Generator
) -> tuple[Floats, Floats]:
    everyone = np.arange(of.parts.size)
    parts = look.installed(of, clock, everyone)
    ahead = look.ahead(of, clock, everyone, horizon)
    events = look.water.chances(rng, draws.shape.size, horizon.sorties) if sinks(clock) else None
    new = Installed(parts.group, np.zeros(everyone.size))
    from_now = look.ahead_of_new(of, clock, everyone, horizon)
    return chance_draws(draws, parts, ahead, events), chance_draws(draws, new, from_now, events)


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
