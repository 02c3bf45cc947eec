"""Every life of the club, and every part now fitted, on all the plain clocks a forecast may run on."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from maintain.core.exposure import Ints
from maintain.core.lives import Bools, Floats
from maintain.core.service_age.ages import Ages, Kinds
from maintain.core.service_age.prior import CLOCKS
from maintain.services.lives.columns import Words, coded, days, places, whole, words
from maintain.services.lives.ends import PULLED_WORKING
from maintain.services.lives.history import History
from maintain.services.lives.labels import UNTREATED, labels_of
from maintain.services.lives.shown import last_shown
from maintain.services.lives.table import UNKNOWN_USE, LifeTable, UseAtEnds, fleet_now, life_table, use_at, use_at_ends
from maintain.vocabulary import ZONES


@dataclass(frozen=True)
class ClubLives:
    """
    Every part that was ever fitted; arrays by part of the history.

    Attributes
    ----------
    table : LifeTable
        On the clock of days, with what it had to leave out.
    ends : dict of UseAtEnds
        By plain clock; one that no sortie tells of is missing. A life in which nothing was found ends when the part was
        last shown to work.
    shown : dict of array
        By plain clock, use when each part was last shown to work, be it after a failure.
    before : dict of array
        By plain clock, use to be added where a part served before the records of its ship: its days then, at the pace
        at which its zone has been used since.
    failed : array of bool
    labels : dict of array of str
    group : array of str
        Parts most alike: family, zone and waterproofing.
    aged : array of bool
        True if its age is known, so that it tells how age counts.
    strange : array of bool
        True if nobody knows what it had been through when it was first seen.
    blind : array of bool
        True if it served before the records of its ship.
    pace : dict of array, shape = (n_zones,)
        Use in a day fitted, by plain clock.
    """

    table: LifeTable
    ends: dict[str, UseAtEnds]
    shown: dict[str, Floats]
    before: dict[str, Floats]
    failed: Bools
    labels: dict[str, Words]
    group: Words
    aged: Bools
    strange: Bools
    blind: Bools
    pace: dict[str, Floats]

    @property
    def clocks(self) -> tuple[str, ...]:
        """Clocks of service age of which sorties tell."""
        return tuple(self.ends)

    def ages(self, rows: NDArray[np.intp], kinds: Kinds) -> Ages:
        """The lives in `rows` on every clock, those of strange parts from first sight; `kinds` are theirs."""
        entry, alive, end = (
            np.stack(
                [getattr(each, name)[rows] + self.before[clock][rows] for clock, each in self.ends.items()], axis=1
            )
            for name in ("entry", "alive", "end")
        )
        strange = self.strange[rows, None]
        unseen = np.where(strange, entry, 0.0)
        zone = coded(self.labels["zone"][rows], ZONES)
        pace = np.stack([self.pace[clock][zone] for clock in self.ends], axis=1) * strange
        alive = np.where(self.failed[rows, None], alive, end)
        return Ages(entry - unseen, alive - unseen, end - unseen, self.failed[rows], kinds, pace)

    @property
    def told(self) -> Bools:
        """Lives that tell something: all that were seen for any time."""
        return self.aged | self.strange

    def notes(self, table: LifeTable, rows: Bools) -> tuple[str, ...]:
        """What is left out of these lives, and what is assumed of others; `table` is theirs."""
        left_out = [
            f"{n} of {each.of} lives left out: {each.reason}"
            for each in table.excluded
            if (n := each.n if each.reason != UNKNOWN_USE else each.n - int(np.sum(self.strange & rows)))
        ]
        if strange := int(np.sum(self.strange & rows)):
            left_out.append(
                f"{strange} lives began nobody knows how long before they were first seen: how long is learnt as far "
                "as failures tell, and no longer than such parts last"
            )
        if blind := int(np.sum(self.blind & self.aged & rows)):
            left_out.append(
                f"{blind} lives began before the records of their ship: until then the pace of their zone since is "
                "assumed"
            )
        return tuple(left_out)


def club_lives(past: History) -> ClubLives:
    """Read every life on every plain clock."""
    table = life_table(past, "days")
    ends = {name: each for name in CLOCKS if (each := use_at_ends(past, name)) is not None}
    shown_at = last_shown(past)
    shown = {name: use_at(past, name, shown_at) for name in ends}
    labels = labels_of(past)
    zone = coded(labels["zone"], ZONES)
    pace = _pace(ends, zone)
    blind = past.origins.blind_use
    aged = np.isin(past.part, table.known.part)
    before = {
        name: np.where(blind & (name != "days"), pace[name][zone] * ends["days"].entry - each.entry, 0.0).clip(min=0.0)
        for name, each in ends.items()
    }
    return ClubLives(
        table=table,
        ends={name: _until_shown(past, each, shown[name]) for name, each in ends.items()},
        shown=shown,
        before=before,
        failed=past.watch.failed,
        labels=labels,
        group=_group(labels),
        aged=aged,
        strange=np.isin(past.part, table.unknown_age.part),
        blind=blind,
        pace=pace,
    )


def _pace(ends: dict[str, UseAtEnds], zone: Ints) -> dict[str, Floats]:
    """Use in a day fitted, by zone; the fleet's where nothing was ever fitted in a zone."""
    fitted = np.bincount(zone, ends["days"].end - ends["days"].entry, len(ZONES))
    found = {}
    for name, each in ends.items():
        used = np.bincount(zone, each.end - each.entry, len(ZONES))
        of_fleet = used.sum() / max(fitted.sum(), 1.0)
        found[name] = np.where(fitted > 0, used / np.maximum(fitted, 1.0), of_fleet)
    return found


@dataclass(frozen=True)
class Fleet:
    """
    Parts now fitted on ships in commission; all arrays by part.

    Attributes
    ----------
    tag : array of str
    position_id : array of int
    last_tested : array of int
        Last day it was shown to work, days since 1970; columns.NO_DAY if never.
    labels : dict of array of str
    age : dict of array
        Use by plain clock; what was seen of it where what came before is unknown.
    aged : array of bool
        True if its use is known.
    a_day : dict of array
        Use by plain clock in a day fitted in its zone.
    untested : dict of array
        Use by plain clock since it was last shown to work.
    ship, zone : array of int
        Row of the ship in the history's records; place in vocabulary.ZONES.
    group : array of str
        Parts most alike: family, zone and waterproofing.
    """

    tag: Words
    position_id: Ints
    last_tested: Ints
    labels: dict[str, Words]
    age: dict[str, Floats]
    aged: Bools
    a_day: dict[str, Floats]
    untested: dict[str, Floats]
    ship: Ints
    zone: Ints
    group: Words


def fleet_of(past: History, lives: ClubLives) -> Fleet:
    """Look at every part now fitted on a ship in commission."""
    on = {name: fleet_now(past, name, lives.labels) for name in lives.ends}
    now = on["days"]
    ship = places(whole(past.rows.ship["id"]), now.ship_id)
    rows = np.flatnonzero(_in_commission(past)[ship])
    labels = {name: column[rows] for name, column in now.labels.items()}
    zone = coded(labels["zone"], ZONES)
    days = now.age[rows]
    unseen = days - now.observed[rows]
    life = places(past.part, now.part[rows])
    aged = ~np.isnan(days)
    age, untested = {}, {}
    for name, each in on.items():
        paced = each.observed[rows] + lives.pace[name][zone] * unseen
        known = np.where(np.isnan(each.age[rows]), paced, each.age[rows])
        age[name] = np.where(aged, known, each.observed[rows])
        shown = lives.shown[name] - lives.ends[name].entry
        untested[name] = (each.observed[rows] - shown[life]).clip(min=0.0)
    return Fleet(
        tag=now.tag[rows],
        position_id=now.position_id[rows],
        last_tested=now.last_tested[rows],
        labels=labels,
        age=age,
        aged=aged,
        a_day={name: pace[zone] for name, pace in lives.pace.items()},
        untested=untested,
        ship=ship[rows],
        zone=zone,
        group=_group(labels),
    )


def _until_shown(past: History, ends: UseAtEnds, shown: Floats) -> UseAtEnds:
    """Use at the ends of lives; of those at whose end nobody looked, when they were last shown to work."""
    looked = past.ends.found | (past.ends.how == PULLED_WORKING)
    end = np.where(looked, ends.end, np.minimum(ends.end, shown))
    return UseAtEnds(ends.entry, np.minimum(ends.alive, end), end)


def _in_commission(past: History) -> Bools:
    """Tell which ships were in commission on the day, by row; a ship that left it later was still in it."""
    ships = past.rows.ship
    commissioned: Bools = (words(ships["state"]) == "in commission") | (days(ships["state_since"]) > past.today)
    return commissioned


def _group(labels: dict[str, Words]) -> Words:
    columns = zip(labels["family"], labels["zone"], labels["waterproofing"], strict=True)
    named = [f"{family}, {zone}" + (f", {how}" if how != UNTREATED else "") for family, zone, how in columns]
    return np.array(named, dtype=object)
