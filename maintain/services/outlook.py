"""What the club's lives say of every part now fitted: the basis of both what is due and what to hold."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
import sqlalchemy as sa
from numpy.typing import NDArray

from maintain.core.forecast import Ahead, Installed
from maintain.core.lives import Bools, Floats
from maintain.core.mixture import Clock, Weighed, weigh_clocks
from maintain.core.rates import Rates, pooled_rates, steady_rates
from maintain.errors import NotEnoughData
from maintain.results.outlook import Evidence
from maintain.services.horizon import Horizon
from maintain.services.lives.club import ClubLives, Fleet, club_lives, fleet_of
from maintain.services.lives.columns import Words
from maintain.services.lives.history import History, history
from maintain.services.water_ahead import WaterAhead, water_ahead

SPOKEN = {"immersions": "sinkings"}
DRAWS = 4000
SEED = 1
LEVEL = 0.8  # of every interval shown here


@dataclass(frozen=True)
class CategoryOutlook:
    """
    What is known of one category.

    Attributes
    ----------
    category : str
    groups : tuple of str
        Names of the groups, lives and fitted parts alike.
    weighed : Weighed
    rate : Rates
        Failures per unit of the likeliest clock of parts whose earlier use is unknown.
    parts : array of int
        Places in the fleet.
    aged : array of bool, by part
        True if its use is known, so that age counts.
    group : array of int, by part
    """

    category: str
    groups: tuple[str, ...]
    weighed: Weighed
    rate: Rates
    parts: NDArray[np.intp]
    aged: Bools
    group: NDArray[np.intp]

    def evidence(self, part: int) -> Evidence:
        """What the estimate of a part (by its place in `parts`) rests on."""
        likeliest = self.weighed.posteriors[0]
        group = int(self.group[part])
        return Evidence(
            group=self.groups[group],
            n=int(likeliest.n[group]),
            failures=int(likeliest.failures[group]),
            category=self.category,
            category_n=int(likeliest.n.sum()),
            category_failures=int(likeliest.failures.sum()),
            clock=self.clock,
            verdict=self.verdict,
        )

    @cached_property
    def clock(self) -> str:
        """What ages these parts, in shares."""
        shares = sorted(self.weighed.ageing.items(), key=lambda item: -item[1])
        return ", ".join(f"{share:.0%} {SPOKEN.get(name, name)}" for name, share in shares)

    @cached_property
    def verdict(self) -> str:
        """How the hazard goes with use; nine chances in ten are asked for before saying which way."""
        rising = self.weighed.chance_shape_above(1.0)
        if rising >= 0.9:
            return "wear-out"
        if rising <= 0.1:
            return "early failures"
        steady = self.weighed.chance_shape_above(0.8) - self.weighed.chance_shape_above(1.25)
        return "steady" if steady >= 0.9 else "can't tell yet"


@dataclass(frozen=True)
class Outlook:
    """The whole fleet's outlook, and what had to be left out."""

    past: History
    fleet: Fleet
    categories: tuple[CategoryOutlook, ...]
    notes: tuple[str, ...]

    def installed(self, of: CategoryOutlook, clock: Clock, rows: NDArray[np.intp]) -> Installed:
        """Parts of a category (by place in `of.parts`) with their use on a clock."""
        return Installed(
            of.group[rows], clock.read({name: use[of.parts[rows]] for name, use in self.fleet.age.items()})
        )

    def untested(self, of: CategoryOutlook, clock: Clock, rows: NDArray[np.intp]) -> Floats:
        """Use on a clock since those parts were last shown to work; 0 where a failure would have been heard."""
        return clock.read({name: use[of.parts[rows]] for name, use in self.fleet.untested.items()})

    def ahead(self, of: CategoryOutlook, clock: Clock, rows: NDArray[np.intp], horizon: Horizon) -> Ahead:
        """How the clock of those parts goes on until the horizon."""
        worth = clock.worth
        steady = worth.get("days", 0.0) * horizon.days + worth.get("sorties", 0.0) * horizon.sorties
        place = of.parts[rows]
        lane = self.water.lanes(self.fleet.ship[place], self.fleet.zone[place])
        jump = worth.get("immersions", 0.0)
        return Ahead(np.full(rows.size, steady), np.full(rows.size, jump), lane)

    @cached_property
    def water(self) -> WaterAhead:
        """How often each ship sinks, learnt once."""
        return water_ahead(self.past)


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
    return Outlook(past, fleet, heard, _notes(lives, fleet, heard))


def _category(lives: ClubLives, fleet: Fleet, category: str) -> CategoryOutlook | None:
    mine = lives.labels["category"] == category
    rows = np.flatnonzero(mine & lives.aged)
    if not rows.size:
        return None
    parts = np.flatnonzero(fleet.labels["category"] == category)
    groups = tuple(sorted({*lives.group[rows], *fleet.group[parts]}))
    number = {name: i for i, name in enumerate(groups)}

    def numbered(names: Words) -> NDArray[np.intp]:
        return np.array([number[name] for name in names], dtype=np.intp)

    weighed = weigh_clocks(lives.observed(rows), numbered(lives.group[rows]), len(groups))
    rate = _rate(weighed.clocks[0], lives, np.flatnonzero(mine & lives.rated))
    return CategoryOutlook(category, groups, weighed, rate, parts, fleet.aged[parts], numbered(fleet.group[parts]))


def _rate(clock: Clock, lives: ClubLives, rows: NDArray[np.intp]) -> Rates:
    """Failures per unit of the clock of parts whose earlier use is unknown, leaning on those whose use is known."""
    used = clock.read({name: each.end[rows] - each.entry[rows] for name, each in lives.ends.items()})
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
