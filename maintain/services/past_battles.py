"""Battles fought, what was planned the day before each, and what became of the parts that sailed."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np
import sqlalchemy as sa
from numpy.typing import NDArray

from maintain.core.exposure import LAST_SLOT, Ints, day_of, moment
from maintain.core.lives import Bools
from maintain.records import tables as t
from maintain.services.horizon import Horizon, usual_sorties_a_day
from maintain.services.lives.columns import Words, day_number
from maintain.services.lives.ends import FAILED, RUNNING
from maintain.services.lives.history import History
from maintain.services.lives.labels import labels_of, tags_of

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
        From the eve to the day before the next battle: what died in the water is found ashore, when somebody looks.
    """

    name: str
    from_on: date
    until_on: date
    horizon: Horizon


def past_battles(connection: sa.Connection, today: date) -> list[PastBattle]:
    """All battles fought and over, in order."""
    query = sa.select(t.battle).where(t.battle.c.state != "called off").order_by(t.battle.c.from_on, t.battle.c.id)
    rows = connection.execute(query).all()
    found = []
    for place, row in enumerate(rows):
        if row.state != "fought" or row.until_on >= today:
            continue
        later = [each.from_on for each in rows[place + 1 :] if each.from_on > row.until_on]
        eve = row.from_on - timedelta(days=1)
        until = min(min(later, default=today), today) - timedelta(days=1)
        its_days = (row.until_on - row.from_on).days + 1
        planned = row.planned_sorties or usual_sorties_a_day(connection, eve) * its_days
        found.append(PastBattle(row.name, row.from_on, row.until_on, Horizon(eve, until, planned, its_days)))
    return found


@dataclass(frozen=True)
class Aftermath:
    """
    What became of parts that were fitted on the eve.

    Attributes
    ----------
    failed : array of bool
        True if it was found failed after the eve, before its ship sailed again after the battle.
    settled : array of bool
        True if the records tell. They don't of a part that left its place before the battle was over, was ended by a
        ball or by another part's failure, is under suspicion, had failed before and was put back to work, or fails
        unheard.
    sailed : array of bool
        True if its ship sailed in the battle.
    found_on : array of int
        The day it was found failed, since 1970; of no meaning for others.
    """

    failed: Bools
    settled: Bools
    sailed: Bools
    found_on: Ints


def fitted_on_eve(known: History, battle: PastBattle) -> tuple[Words, Words, Ints]:
    """Tag, category and ship (by row) of every part that was fitted on the eve."""
    eve = int(moment(day_number(battle.horizon.today), LAST_SLOT))
    there = np.flatnonzero((known.stays.start <= eve) & (known.stays.end > eve))
    part = known.stays.part[there]
    return tags_of(known)[part], labels_of(known)["category"][part], known.stays.ship[there]


def aftermath(known: History, battle: PastBattle, tags: Words, ship: Ints) -> Aftermath:
    """
    Look up what became of parts.

    Parameters
    ----------
    known : History
        All that is known now.
    battle : PastBattle
    tags : array of str, shape = (n,)
    ship : array of int, shape = (n,)
        Row of the ship each was fitted on.
    """
    part = _places_of(tags_of(known), tags)
    ends, watch = known.ends, known.watch
    eve, stop = (int(moment(day_number(day), LAST_SLOT)) for day in (battle.horizon.today, battle.until_on))
    first, again = _sailing(known, battle)
    end, how, alive = ends.moment[part], ends.how[part], watch.alive_until[part]
    # What is found at the bank had failed since it was last shown to work, which is part of the question.
    failed = (how == FAILED) & (end > eve) & (end < again[ship]) & (alive < stop)
    worked = (end >= stop) & (np.isin(how, (RUNNING, "pulled working")) | (end >= again[ship]) | (alive >= stop))
    settled = (failed | worked) & watch.heard[part]
    return Aftermath(failed & settled, settled, first[ship] < NEVER, day_of(end))


def _places_of(all_tags: Words, tags: Words) -> NDArray[np.intp]:
    place = {tag: i for i, tag in enumerate(all_tags.tolist())}
    return np.array([place[tag] for tag in tags.tolist()], dtype=np.intp)


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
