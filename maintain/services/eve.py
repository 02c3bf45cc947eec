"""What would have been said on the eve of a battle: by the whole outlook, and by a law of days alone."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import sqlalchemy as sa

from maintain.core.exposure import Ints
from maintain.core.forecast import failure_chance
from maintain.core.lives import Bools, Floats
from maintain.core.posterior import Prior, category_posterior
from maintain.errors import NotEnoughData
from maintain.services.chances import chances
from maintain.services.lives.columns import Words
from maintain.services.lives.table import life_table
from maintain.services.outlook import CategoryOutlook, Outlook, outlook
from maintain.services.past_battles import PastBattle

SEED = 1
_DRAWS = 400  # of the law of days alone: its mean chance is all that is wanted


@dataclass(frozen=True)
class Forecasts:
    """
    Forecasts made on the eve of one battle; arrays by part.

    Attributes
    ----------
    tag, category : array of str
    ship : array of int
        Row in the history's records.
    ours : array
        Chance of failing, as `maintain due` would have said.
    by_days : array
        The same by a Weibull law of days for the whole category; nan where the age is unknown.
    """

    tag: Words
    category: Words
    ship: Ints
    ours: Floats
    by_days: Floats

    def take(self, rows: Bools) -> Forecasts:
        """Return some of the parts."""
        return Forecasts(self.tag[rows], self.category[rows], self.ship[rows], self.ours[rows], self.by_days[rows])


def forecasts(connection: sa.Connection, battle: PastBattle) -> Forecasts | None:
    """Forecast every part then fitted, from what was recorded up to the eve; None if there was nothing to go by yet."""
    try:
        look = outlook(connection, battle.horizon)
    except NotEnoughData:
        return None
    if not look.categories:
        return None
    place = np.concatenate([of.parts for of in look.categories])
    return Forecasts(
        look.fleet.tag[place],
        look.fleet.labels["category"][place],
        look.fleet.ship[place],
        np.concatenate([chances(look, of).now.mean for of in look.categories]),
        np.concatenate([_by_days(look, of, battle) for of in look.categories]),
    )


def _by_days(look: Outlook, of: CategoryOutlook, battle: PastBattle) -> Floats:
    known = life_table(look.past, "days").known
    lives = known.lives.take(known.labels["category"] == of.category)
    found = np.full(of.parts.size, np.nan)
    if lives.n:
        law = category_posterior(lives, np.zeros(lives.n, dtype=np.intp), 1, Prior(between_sd=0.0))
        drawn = law.sample(np.random.default_rng(SEED), _DRAWS)
        age = look.fleet.age["days"][of.parts[of.aged]]
        days = np.asarray(float(battle.horizon.days))
        found[of.aged] = failure_chance(drawn.shape[:, None], np.log(drawn.scale), age, days).mean(axis=0)
    return found
