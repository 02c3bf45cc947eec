"""What the club's lives say of every part now fitted: the basis of both what is due and what to hold."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
import sqlalchemy as sa
from numpy.typing import NDArray

from maintain.core.forecast import Ahead, Installed
from maintain.core.lives import Bools, Floats
from maintain.core.posterior import Draws
from maintain.core.rates import Rates, pooled_rates, steady_rates
from maintain.errors import NotEnoughData
from maintain.results.outlook import Evidence
from maintain.services.horizon import Horizon
from maintain.services.lives.club import ClubLives, Fleet, club_lives, fleet_of
from maintain.services.lives.columns import Words
from maintain.services.lives.history import History, history
from maintain.services.lives.service_age_words import costs_told
from maintain.services.lives.service_ages import DRAWS, SEED, Learnt, Names, learn
from maintain.services.water_ahead import WaterAhead, water_ahead

LEVEL = 0.8  # of every interval shown here
# Failures from which the 80 % limits of a steady rate lie within a factor of three: (2 x 1.2816 / ln 3)^2, rounded up.
TELLING = 6


@dataclass(frozen=True)
class CategoryOutlook:
    """
    What is known of one category.

    Attributes
    ----------
    category : str
    learnt : Learnt
        Its service age.
    rate : Rates
        Failures in a day of service age of parts whose earlier use is unknown.
    seen : dict of str to pair of int
        Lives and failures of each group.
    seen_of_family : dict of str to pair of int
        Lives and failures of each family.
    parts : array of int
        Places in the fleet.
    aged : array of bool, by part
        True if its use is known, so that age counts.
    group : array of str, by part
    """

    category: str
    learnt: Learnt
    rate: Rates
    seen: dict[str, tuple[int, int]]
    seen_of_family: dict[str, tuple[int, int]]
    parts: NDArray[np.intp]
    aged: Bools
    group: Words

    def evidence(self, part: int) -> Evidence:
        """What the estimate of a part (by its place in `parts`) rests on."""
        group = str(self.group[part])
        n, failures = self.seen.get(group, (0, 0))
        ages = self.learnt.posterior.ages
        return Evidence(
            group=group,
            n=n,
            failures=failures,
            category=self.category,
            category_n=ages.n,
            category_failures=ages.failures,
            clock=self.clock,
            verdict=self.verdict,
            more_needed=max(0, TELLING - ages.failures),
        )

    @cached_property
    def clock(self) -> str:
        """What ages these parts, in words."""
        return costs_told(self.learnt.costs(LEVEL))

    @property
    def verdict(self) -> str:
        """How the hazard goes with service age."""
        return self.learnt.verdict


@dataclass(frozen=True)
class Sight:
    """
    Some parts of one category, as a forecast needs them.

    Attributes
    ----------
    draws : Draws
        A column of scales for each part.
    parts : Installed
    ahead : Ahead
    untested : array, shape = (n_draws, n_parts)
        Service age since they were last shown to work; 0 where a failure would have been heard.
    """

    draws: Draws
    parts: Installed
    ahead: Ahead
    untested: Floats


@dataclass(frozen=True)
class Outlook:
    """The whole fleet's outlook, and what had to be left out."""

    past: History
    fleet: Fleet
    categories: tuple[CategoryOutlook, ...]
    water: WaterAhead
    notes: tuple[str, ...]

    def sight(self, of: CategoryOutlook, rows: NDArray[np.intp]) -> Sight:
        """Parts of a category (by place in `of.parts`): how old they are and how they will age, draw by draw."""
        place = of.parts[rows]
        labels = {name: column[place] for name, column in self.fleet.labels.items()}
        own = np.arange(place.size)
        age, untested = (
            of.learnt.age({clock: use[place] for clock, use in each.items()})
            for each in (self.fleet.age, self.fleet.untested)
        )
        ship, zone = self.fleet.ship[place], self.fleet.zone[place]
        sinking = of.learnt.worth.get("immersions", np.zeros(DRAWS))
        steady = self.water.steady(of.learnt.worth, ship, zone)
        ahead = Ahead(steady, np.repeat(sinking[:, None], place.size, axis=1), self.water.sunk.of(ship, zone))
        return Sight(of.learnt.draws(labels), Installed(own, age), ahead, untested)

    def steady_hazard(
        self, of: CategoryOutlook, rows: NDArray[np.intp], rng: np.random.Generator, sinkings: NDArray[np.int64]
    ) -> Floats:
        """
        Failures to expect of parts whose earlier use is unknown: age cannot be held for or against them.

        Returns
        -------
        array, shape = (DRAWS, rows.size)
        """
        place = of.parts[rows]
        ship, zone = self.fleet.ship[place], self.fleet.zone[place]
        worth = {clock: np.full(DRAWS, each) for clock, each in of.learnt.worth_middle.items()}
        gained = self.water.steady(worth, ship, zone)
        gained = (
            gained + sinkings[:, self.water.sunk.of(ship, zone)] * worth.get("immersions", np.zeros(DRAWS))[:, None]
        )
        hazard: Floats = of.rate.draw(rng, DRAWS)[:, :1] * gained
        return hazard


def outlook(connection: sa.Connection, horizon: Horizon) -> Outlook:
    """
    Learn from all lives up to today, and look at every part fitted on a ship in commission.

    Raises
    ------
    NotEnoughData
        If no part is fitted on any ship in commission.
    """
    past = history(connection, horizon.today)
    lives = club_lives(past)
    fleet = fleet_of(past, lives)
    if not fleet.group.size:
        raise NotEnoughData("no part is fitted on any ship in commission", hint="fit some with: maintain part install")
    found = [_category(lives, fleet, category) for category in sorted(set(fleet.labels["category"]))]
    heard = tuple(each for each in found if each is not None)
    water = water_ahead(past, horizon, np.random.default_rng(SEED), DRAWS)
    return Outlook(past, fleet, heard, water, _notes(lives, fleet, heard))


def _category(lives: ClubLives, fleet: Fleet, category: str) -> CategoryOutlook | None:
    mine = lives.labels["category"] == category
    rows = np.flatnonzero(mine & lives.aged)
    if not rows.size:
        return None
    parts = np.flatnonzero(fleet.labels["category"] == category)
    labels, fitted = (
        {name: column[chosen] for name, column in each.items()}
        for each, chosen in ((lives.labels, rows), (fleet.labels, parts))
    )
    names = Names.of(lives.clocks, labels, fitted)
    learnt = learn(names, lives.ages(rows, names.kinds(labels)))
    rate = _rate(learnt, lives, np.flatnonzero(mine & lives.rated))
    seen, of_family = (_seen(each[rows], lives.failed[rows]) for each in (lives.group, lives.labels["family"]))
    return CategoryOutlook(category, learnt, rate, seen, of_family, parts, fleet.aged[parts], fleet.group[parts])


def _seen(groups: Words, failed: Bools) -> dict[str, tuple[int, int]]:
    names, group = np.unique(groups.astype(str), return_inverse=True)
    counts = zip(np.bincount(group).tolist(), np.bincount(group[failed], minlength=names.size).tolist(), strict=True)
    return dict(zip(names.tolist(), counts, strict=True))


def _rate(learnt: Learnt, lives: ClubLives, rows: NDArray[np.intp]) -> Rates:
    """Failures in a day of service age of parts whose earlier use is unknown, leaning on those whose use is known."""
    worth = learnt.worth_middle
    used = np.sum([worth[name] * (each.end[rows] - each.entry[rows]) for name, each in lives.ends.items()], axis=0)
    unknown = ~lives.aged[rows]
    failures = [int(np.sum(lives.failed[rows] & side)) for side in (unknown, ~unknown)]
    exposure = [float(np.sum(used[side])) for side in (unknown, ~unknown)]
    if exposure[0] == 0:
        return steady_rates(failures[1:], exposure[1:])
    return pooled_rates(failures, exposure)


def _notes(lives: ClubLives, fleet: Fleet, heard: tuple[CategoryOutlook, ...]) -> tuple[str, ...]:
    left_out = [f"{each.n} of {each.of} lives left out: {each.reason}" for each in lives.table.excluded]
    blind = int(np.sum(lives.blind & lives.aged))
    paced = f"{blind} lives began before the records of their ship: until then the pace of their zone since is assumed"
    silent = sorted(set(fleet.labels["category"]) - {each.category for each in heard})
    quiet = f"no life of known age yet of: {', '.join(silent)}; their parts have no forecast"
    return (*left_out, *([paced] if blind else []), *([quiet] if silent else []))
