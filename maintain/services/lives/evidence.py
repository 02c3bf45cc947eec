"""When each part was last known to work."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from maintain.core.exposure import LAST_SLOT, NONE, Ints, Logbook, Stays, day_of, moment
from maintain.core.lives import Bools
from maintain.records.life_rows import LifeRows
from maintain.services.lives.columns import NO_DAY, days, last_up_to, places, whole, words
from maintain.services.lives.ends import Ends, sortie_of_failure


@dataclass(frozen=True)
class Seen:
    """Days on which parts were seen to work by a reading, a passed check or a passed retest; by part, then day."""

    part: Ints
    day: Ints

    @classmethod
    def of(cls, part: Ints, day: Ints, today: int) -> Seen:
        """What was seen up to today, put in order; of parts NONE nothing is told."""
        told = np.flatnonzero((part != NONE) & (day <= today))
        told = told[np.lexsort((day[told], part[told]))]
        return cls(part[told], day[told])

    def last_of(self, n_parts: int, before: Ints | None = None) -> Ints:
        """Return the last such day of each part (before a day of its own); NO_DAY if there is none."""
        until = np.full(n_parts, np.iinfo(np.int32).max) if before is None else before - 1
        row = last_up_to(self.part, self.day, np.arange(n_parts), until)
        return np.where(row == NONE, NO_DAY, self.day[row] if self.day.size else NO_DAY)


def seen_working(rows: LifeRows, part: Ints, stays: Stays, today: int) -> Seen:
    """Gather the evidence; what was seen of a position counts for the part that was in it then."""
    day = days(rows.evidence["seen_on"])
    owner = places(part, whole(rows.evidence["part_id"]))
    position = places(whole(rows.position["id"]), whole(rows.evidence["position_id"]))
    owner = np.where(owner == NONE, fitted_in(stays, position, day), owner)
    return Seen.of(owner, day, today)


def fitted_in(stays: Stays, position: Ints, day: Ints) -> Ints:
    """Return the part that was in each position (by its place in the records) on a day; NONE if none was."""
    by_position = np.lexsort((stays.start, stays.position))
    ordered = stays.take(by_position)
    row = last_up_to(ordered.position, ordered.start, position, moment(day, LAST_SLOT))
    there = (row != NONE) & (position != NONE)
    there[there] = ordered.end[row[there]] >= moment(day[there], 0)
    found = np.full(position.size, NONE)
    found[there] = ordered.part[row[there]]
    return found


def known_to_work(rows: LifeRows, log: Logbook, seen: Seen, stays: Stays, ends: Ends, hidden: Bools) -> Ints:
    """
    Return the last moment at which each part was known to work before its end, by part.

    What the captain wrote down as last known good decides. A hidden function (`hidden`, by part) makes no noise when it
    fails: only a test shows that it worked, of one found failed a test before that day. Any other part that failed in
    battle worked when that sortie began. One found ashore worked when its ship last set out, or at a later test: water
    of that day may have killed it weeks before anybody looked.
    """
    spell = stays.until(ends.moment).take(ends.stay)
    sailed = ends.sortie != NONE
    last = np.where(sailed, ends.sortie, 0)
    alive = spell.start.copy()
    alive[sailed] = np.maximum(moment(log.sorties.day[last[sailed]], 0), alive[sailed])
    during = sailed & _in_that_sortie(rows, log, ends)
    alive[during] = log.moments[last[during]] - 1
    tested = seen.last_of(ends.moment.size, day_of(ends.moment) + ~ends.found)
    first = stays.start[np.searchsorted(stays.part, np.arange(ends.moment.size))]
    shown = np.where(tested == NO_DAY, first, moment(np.maximum(tested, 0), 0))
    alive = np.where(hidden, shown, np.maximum(alive, shown))
    return _as_written(rows, ends, alive)


def _in_that_sortie(rows: LifeRows, log: Logbook, ends: Ends) -> Bools:
    """Tell which parts failed in the very sortie that was their last, rather than after it."""
    told = np.flatnonzero(ends.failure != NONE)
    failure, last = ends.failure[told], ends.sortie[told]
    named = sortie_of_failure(rows, log)[failure]
    same_day = log.sorties.day[last] == day_of(ends.moment[told]) if log.key.size else np.zeros(told.size, dtype=bool)
    unnamed = (words(rows.failure["found_by"])[failure] == "in battle") & (named == NONE)
    during = np.zeros(ends.failure.size, dtype=bool)
    during[told] = (named == last) | (unnamed & same_day)
    return during


def _as_written(rows: LifeRows, ends: Ends, alive: Ints) -> Ints:
    """Put what was recorded as last known good in place of what we infer."""
    good_on, good_sortie = days(rows.failure["last_good_on"]), whole(rows.failure["last_good_sortie"])
    told = ends.failure != NONE
    told[told] = good_on[ends.failure[told]] != NO_DAY
    alive[told] = moment(good_on[ends.failure[told]], good_sortie[ends.failure[told]])
    return alive
