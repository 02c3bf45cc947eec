"""Battles fought, what was planned the day before each, and what became of the parts that sailed."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np
import sqlalchemy as sa

from maintain.core.exposure import LAST_SLOT, Ints, day_of, moment
from maintain.core.lives import Bools
from maintain.records import tables as t
from maintain.services.horizon import Horizon, usual_sorties_a_day
from maintain.services.lives.columns import Words, day_number
from maintain.services.lives.ends import FAILED, PULLED_WORKING
from maintain.services.lives.history import History
from maintain.services.lives.labels import tags_of

NEVER = np.iinfo(np.int64).max


@dataclass(frozen=True)
class PastBattle:
    """
    A battle, as it stood in the calendar on its eve.

    Attributes
    ----------
    name : str
    from_on, until_on : date
    horizon : Horizon
        From the eve to the last day of the battle, with the sorties then planned.
    """

    name: str
    from_on: date
    until_on: date
    horizon: Horizon


def past_battles(connection: sa.Connection, today: date) -> list[PastBattle]:
    """All battles fought and over, in order."""
    fought = sa.select(t.battle).where(t.battle.c.state == "fought", t.battle.c.until_on < today)
    rows = connection.execute(fought.order_by(t.battle.c.from_on, t.battle.c.id))
    found = []
    for row in rows:
        eve = row.from_on - timedelta(days=1)
        its_days = (row.until_on - row.from_on).days + 1
        planned = row.planned_sorties or usual_sorties_a_day(connection, eve) * its_days
        found.append(PastBattle(row.name, row.from_on, row.until_on, Horizon(eve, row.until_on, planned, its_days)))
    return found


@dataclass(frozen=True)
class Aftermath:
    """
    What became of the parts that were fitted on the eve; arrays by part.

    Attributes
    ----------
    tag : array of str
    failed : array of bool
        True if it was found failed after the eve, until its ship had sailed once more after the battle: what died
        ashore shows then.
    settled : array of bool
        True if the records tell. They don't of a part that left its place before the battle was over, was ended by a
        ball or by another part's failure, is under suspicion, had failed before and was put back to work, or fails
        unheard.
    sailed : array of bool
        True if its ship sailed in the battle.
    seen_to : array of bool
        True if she sailed again after it: whatever had failed by then was found.
    until : array of int
        The last day that counts, since 1970: the day she sailed again, or the day it was pulled working before that.
    once_more : array of int
        Sorties after the battle that count: that first one, or none.
    """

    tag: Words
    failed: Bools
    settled: Bools
    sailed: Bools
    seen_to: Bools
    until: Ints
    once_more: Ints

    @property
    def asked(self) -> dict[str, tuple[int, int]]:
        """Last day and sorties after the battle that count, of every part of which the records tell, by tag."""
        rows = np.flatnonzero(self.told)
        ends = zip(self.until[rows].tolist(), self.once_more[rows].tolist(), strict=True)
        return dict(zip(self.tag[rows].tolist(), ends, strict=True))

    @property
    def told(self) -> Bools:
        """True if a forecast of it can be held against what happened."""
        return self.sailed & self.seen_to & self.settled


def aftermath(known: History, battle: PastBattle) -> Aftermath:
    """Look up what became of every part fitted on the eve, by all that is known now."""
    eve = int(moment(day_number(battle.horizon.today), LAST_SLOT))
    there = np.flatnonzero((known.stays.start <= eve) & (known.stays.end > eve))
    part, ship = known.stays.part[there], known.stays.ship[there]
    stop = int(moment(day_number(battle.until_on), LAST_SLOT))
    sailed, again = (each[ship] for each in _sailing(known, battle))
    end, how = known.ends.moment[part], known.ends.how[part]
    failed = (how == FAILED) & (end > eve) & (end <= again)
    pulled = (how == PULLED_WORKING) & (end >= stop) & (end <= again)
    settled = (failed | pulled | (end > again)) & known.watch.heard[part]
    ashore = pulled & (end < again)
    return Aftermath(
        tag=tags_of(known)[part],
        failed=failed & settled,
        settled=settled,
        sailed=sailed < NEVER,
        seen_to=again < NEVER,
        until=np.where(ashore, day_of(end), day_of(again)),
        once_more=np.where(ashore, 0, 1),
    )


def _sailing(known: History, battle: PastBattle) -> tuple[Ints, Ints]:
    """For each ship the moments of her first sortie in the battle and of the first after it; NEVER without one."""
    sorties = known.log.sorties
    begun, over = day_number(battle.from_on), day_number(battle.until_on)
    found = []
    for rows in ((sorties.day >= begun) & (sorties.day <= over), sorties.day > over):
        first = np.full(len(known.rows.ship["id"]), NEVER)
        np.minimum.at(first, sorties.ship[rows], known.log.moments[rows])
        found.append(first)
    return found[0], found[1]
