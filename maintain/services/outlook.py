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
from maintain.core.service_age.earlier import draw_earlier
from maintain.errors import NotEnoughData
from maintain.results.outlook import Evidence
from maintain.services.horizon import Horizon
from maintain.services.kept_draws import KeptDraws
from maintain.services.lives.club import ClubLives, Fleet, club_lives, fleet_of
from maintain.services.lives.columns import Words
from maintain.services.lives.history import History, history
from maintain.services.lives.service_age_words import costs_told
from maintain.services.lives.service_ages import SEED, Learnt, Names, draws_for, learn
from maintain.services.unit import Desk
from maintain.services.water_ahead import WaterAhead, water_ahead

LEVEL = 0.8  # of every interval shown here
# Failures from which the 80 % limits of a steady rate lie within a factor of three: (2 x 1.2816 / ln 3)^2, rounded up.
TELLING = 6


HOW_TO_TEST = "test them, and say so: maintain reading add SHIP/POSITION 'demand test' 1"


@dataclass(frozen=True)
class CategoryOutlook:
    """
    What is known of one category.

    Attributes
    ----------
    category : str
    learnt : Learnt
        Its service age.
    seen : dict of str to pair of int
        Lives and failures of each group.
    seen_of_family : dict of str to pair of int
        Lives and failures of each family.
    parts : array of int
        Places in the fleet.
    aged : array of bool, by part
        True if its use is known.
    group : array of str, by part
    """

    category: str
    learnt: Learnt
    seen: dict[str, tuple[int, int]]
    seen_of_family: dict[str, tuple[int, int]]
    parts: NDArray[np.intp]
    aged: Bools
    group: Words

    def evidence(self, part: int) -> Evidence:
        """What the estimate of a part (by its place in `parts`) rests on."""
        group = str(self.group[part])
        n, failures = self.seen.get(group, (0, 0))
        of_category, failed = self.learnt.seen
        return Evidence(
            group=group,
            n=n,
            failures=failures,
            category=self.category,
            category_n=of_category,
            category_failures=failed,
            clock=self.clock,
            verdict=self.verdict,
            more_needed=max(0, TELLING - failed),
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
        Service age since they were last shown to work.
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

    @cached_property
    def hidden(self) -> Bools:
        """True for parts of the fleet that make no noise when they fail."""
        return _hidden(self.past, self.fleet)

    @property
    def draws(self) -> int:
        """How many draws everything is made of."""
        return draws_for(self.fleet.group.size)

    def sight(self, of: CategoryOutlook, rows: NDArray[np.intp]) -> Sight:
        """Parts of a category (by place in `of.parts`): how old they are and how they will age, draw by draw."""
        place = of.parts[rows]
        labels = {name: column[place] for name, column in self.fleet.labels.items()}
        own = np.arange(place.size)
        age, untested = (
            of.learnt.age({clock: use[place] for clock, use in each.items()})
            for each in (self.fleet.age, self.fleet.untested)
        )
        draws = of.learnt.draws(labels)
        strange = np.flatnonzero(~of.aged[rows])
        if strange.size:
            a_day = of.learnt.age({clock: pace[place[strange]] for clock, pace in self.fleet.a_day.items()})
            rng = np.random.default_rng([SEED, int(place[0]), *of.category.encode()])
            seen = (age - untested)[:, strange].clip(min=0.0)
            age[:, strange] += draw_earlier(rng, draws.take(strange), a_day, seen, of.learnt.longest)
        ship, zone = self.fleet.ship[place], self.fleet.zone[place]
        sinking = of.learnt.worth.get("immersions", np.zeros(self.draws))
        steady = self.water.steady(of.learnt.worth, ship, zone)
        ahead = Ahead(steady, np.repeat(sinking[:, None], place.size, axis=1), self.water.sunk.of(ship, zone))
        return Sight(draws, Installed(own, age), ahead, np.minimum(untested, age))


def outlook(connection: sa.Connection, horizon: Horizon, desk: Desk | None = None) -> Outlook:
    """
    Learn from all lives up to today, and look at every part fitted on a ship in commission.

    What is learnt is kept at `desk`, if one is given whose today is that of the horizon.

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
    kept = KeptDraws.at(connection, desk) if desk else None
    found = [_category(lives, fleet, category, kept) for category in sorted(set(fleet.labels["category"]))]
    if kept:
        kept.keep()
    heard = tuple(each for each in found if each is not None)
    water = water_ahead(past, horizon, np.random.default_rng(SEED), draws_for(fleet.group.size))
    return Outlook(past, fleet, heard, water, _notes(lives, fleet, heard, _hidden(past, fleet)))


def _category(lives: ClubLives, fleet: Fleet, category: str, kept: KeptDraws | None) -> CategoryOutlook | None:
    rows = np.flatnonzero((lives.labels["category"] == category) & lives.told)
    if not rows.size:
        return None
    parts = np.flatnonzero(fleet.labels["category"] == category)
    labels, fitted = (
        {name: column[chosen] for name, column in each.items()}
        for each, chosen in ((lives.labels, rows), (fleet.labels, parts))
    )
    names = Names.of(lives.clocks, labels, fitted)
    learnt = learn(names, lives.ages(rows, names.kinds(labels)), draws_for(fleet.group.size))
    learnt = kept.of(learnt) if kept else learnt
    seen, of_family = (_seen(each[rows], lives.failed[rows]) for each in (lives.group, lives.labels["family"]))
    return CategoryOutlook(category, learnt, seen, of_family, parts, fleet.aged[parts], fleet.group[parts])


def _seen(groups: Words, failed: Bools) -> dict[str, tuple[int, int]]:
    names, group = np.unique(groups.astype(str), return_inverse=True)
    counts = zip(np.bincount(group).tolist(), np.bincount(group[failed], minlength=names.size).tolist(), strict=True)
    return dict(zip(names.tolist(), counts, strict=True))


def _hidden(past: History, fleet: Fleet) -> Bools:
    families = past.rows.family
    unheard = {name for name, hidden in zip(families["name"], families["hidden"], strict=True) if hidden}
    return np.array([family in unheard for family in fleet.labels["family"].tolist()], dtype=np.bool_)


def _notes(lives: ClubLives, fleet: Fleet, heard: tuple[CategoryOutlook, ...], hidden: Bools) -> tuple[str, ...]:
    notes = list(lives.notes(lives.table, np.ones(lives.failed.size, dtype=np.bool_)))
    told = {each.category for each in heard}
    for unheard, why, how in (
        (False, "nothing was seen yet of", "log sorties, and say with --from when parts were fitted"),
        (True, "none was ever tested, and nobody hears them fail", HOW_TO_TEST),
    ):
        silent = sorted(set(fleet.labels["category"][hidden == unheard]) - told)
        if silent:
            notes.append(f"{why}: {', '.join(silent)}; their parts have no forecast ({how})")
    return tuple(notes)
