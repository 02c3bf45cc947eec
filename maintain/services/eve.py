"""What would have been said on the eve of a battle: by the whole outlook, and by two simpler forecasts."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
import sqlalchemy as sa
from numpy.typing import NDArray

from maintain.core.exposure import Ints
from maintain.core.forecast import failure_chance
from maintain.core.lives import Floats
from maintain.core.posterior import Prior, category_posterior
from maintain.core.rates import pooled_rates
from maintain.errors import NotEnoughData
from maintain.services.chances import chances
from maintain.services.lives.club import ClubLives, club_lives
from maintain.services.lives.columns import Words, as_date
from maintain.services.outlook import CategoryOutlook, Outlook, outlook
from maintain.services.past_battles import PastBattle

SEED = 1
_PART_OF_A_DAY = 0.5  # fitted, of a part that failed on the day it was fitted
_DRAWS = 400  # of the law of days alone: its mean chance is all that is wanted


@dataclass(frozen=True)
class Forecasts:
    """
    Forecasts made on the eve of one battle; arrays by part.

    Each is the chance that the part has failed since it was last shown to work, or will by the day asked for.

    Attributes
    ----------
    tag, category : array of str
    ours : array
        As `maintain due` would have said, had it been asked until that day.
    by_rate : array
        By the failures a day of its category so far, whatever its age and water.
    by_days : array
        By a Weibull law of days for the whole category; by the rate where the age is unknown.
    """

    tag: Words
    category: Words
    ours: Floats
    by_rate: Floats
    by_days: Floats


Asked = Mapping[str, tuple[int, int]]


def forecasts(connection: sa.Connection, battle: PastBattle, until: Asked) -> Forecasts | None:
    """
    Forecast parts then fitted, from what was recorded up to the eve; None if there was nothing to go by yet.

    Parameters
    ----------
    connection : Connection
    battle : PastBattle
    until : mapping of str to pair of int
        Of each part to forecast, by tag: the last day that counts, since 1970, and how many sorties after the battle.
    """
    try:
        look = outlook(connection, battle.horizon)
    except NotEnoughData:
        return None
    lives = club_lives(look.past)
    rate = _rates(lives)
    if rate is None:
        return None
    made = [_of_category(look, of, lives, rate, until) for of in look.categories]
    if not made:
        return None
    return Forecasts(*(np.concatenate([getattr(each, name) for each in made]) for name in Forecasts.__annotations__))


def _of_category(
    look: Outlook, whole: CategoryOutlook, lives: ClubLives, rate: Mapping[str, float], until: Asked
) -> Forecasts:
    tags = look.fleet.tag[whole.parts]
    of = _some(whole, np.flatnonzero([tag in until for tag in tags]))
    tags = look.fleet.tag[of.parts]
    last = np.array([until[tag] for tag in tags], dtype=np.int64).reshape(-1, 2)
    days = np.array([_until(look, *each).water.horizon.days for each in last.tolist()], dtype=np.float64)
    untested = look.fleet.untested["days"][of.parts]
    by_rate = -np.expm1(-rate[of.category] * (untested + days))
    return Forecasts(
        tags,
        look.fleet.labels["category"][of.parts],
        _ours(look, of, last),
        by_rate,
        np.where(of.aged, _by_days(look, of, lives, untested + days), by_rate),
    )


def _some(of: CategoryOutlook, rows: NDArray[np.intp]) -> CategoryOutlook:
    return replace(of, parts=of.parts[rows], aged=of.aged[rows], group=of.group[rows])


def _until(look: Outlook, day: int, once_more: int) -> Outlook:
    """The same outlook until another day, with so many sorties besides those planned."""
    planned = look.water.horizon
    horizon = replace(planned, until=as_date(day), sorties=planned.sorties + once_more)
    return replace(look, water=replace(look.water, horizon=horizon))


def _ours(look: Outlook, of: CategoryOutlook, last: Ints) -> Floats:
    found = np.empty(last.shape[0])
    for each in sorted(set(map(tuple, last.tolist()))):
        rows = np.flatnonzero((last == each).all(axis=1))
        found[rows] = chances(_until(look, *each), _some(of, rows)).now.mean
    return found


def _rates(lives: ClubLives) -> dict[str, float] | None:
    """Failures a day fitted of each category, leaning on all of them as far as they are alike; None without use."""
    names, group = np.unique(lives.labels["category"][lives.told].astype(str), return_inverse=True)
    days = lives.ends["days"]
    failures = np.bincount(group, lives.failed[lives.told], names.size)
    fitted = np.bincount(group, (days.end - days.entry)[lives.told], names.size)
    if not fitted.any():
        return None
    fitted = np.maximum(fitted, _PART_OF_A_DAY * failures)
    return dict(zip(names.tolist(), pooled_rates(failures, fitted).mean.tolist(), strict=True))


def _by_days(look: Outlook, of: CategoryOutlook, lives: ClubLives, ahead: Floats) -> Floats:
    """Chance of failing in so many days from when each part was last shown to work; nan where its age is unknown."""
    known = lives.table.known
    mine = known.lives.take(known.labels["category"] == of.category)
    found = np.full(of.parts.size, np.nan)
    if mine.n:
        law = category_posterior(mine, np.zeros(mine.n, dtype=np.intp), 1, Prior(between_sd=0.0))
        drawn = law.sample(np.random.default_rng(SEED), _DRAWS)
        place = of.parts[of.aged]
        shown = (look.fleet.age["days"][place] - look.fleet.untested["days"][place]).clip(min=0.0)
        found[of.aged] = failure_chance(drawn.shape[:, None], np.log(drawn.scale), shown, ahead[of.aged]).mean(axis=0)
    return found
