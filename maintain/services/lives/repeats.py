"""Failures of positions and ships through their replacements: which units were watched, how long, and what failed."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from maintain import vocabulary as say
from maintain.core.exposure import LAST_SLOT, NONE, Ints, Stays, day_of, moment
from maintain.core.lives import Bools, Floats
from maintain.core.repeats import Histories, histories
from maintain.results.life import Exclusion
from maintain.services.lives.columns import NO_DAY, Words, days, last_up_to, places, whole, words
from maintain.services.lives.ends import DAMAGED, FAILED, SECONDARY
from maintain.services.lives.history import History
from maintain.services.lives.labels import tags_of
from maintain.services.lives.table import EXAMPLES

LABELS = ("position", "ship", "system", "category", "zone")
UNITS = ("position", "ship")
CLOCKS = ("days", "sorties")

_LEFT_OUT = {
    SECONDARY: "brought about by another part's failure",
    DAMAGED: "battle damage",
    "unwatched": "found before the records of the ship begin, or after she was gone",
    "ashore": "found before the ship first sailed under these records",
}


@dataclass(frozen=True)
class Positions:
    """
    Positions that have held a part; all arrays by position.

    Attributes
    ----------
    row : array of int
        Place among the positions of the records.
    ship : array of int
        Place among the ships of the records.
    labels : dict of array of str
        By the names in LABELS; category is that of the last part it held.
    begin, end : array of int
        First and last day on which it was watched.
    """

    row: Ints
    ship: Ints
    labels: dict[str, Words]
    begin: Ints
    end: Ints

    def take(self, rows: NDArray[np.intp] | Bools) -> Positions:
        """Return the positions in `rows` (indices or mask)."""
        labels = {name: column[rows] for name, column in self.labels.items()}
        return Positions(self.row[rows], self.ship[rows], labels, self.begin[rows], self.end[rows])


@dataclass(frozen=True)
class Failures:
    """Failures that were found; all arrays by failure: position, moment, part (its place in the history), and how."""

    position: Ints
    moment: Ints
    part: Ints
    how: Words

    def take(self, rows: NDArray[np.intp] | Bools) -> Failures:
        """Return the failures in `rows` (indices or mask)."""
        return Failures(self.position[rows], self.moment[rows], self.part[rows], self.how[rows])


def positions_of(past: History, wanted: Mapping[str, str]) -> Positions:
    """Return the positions that held a part and have all the labels wanted."""
    stays = past.stays
    by_position = np.lexsort((stays.start, stays.position))
    row, first = np.unique(stays.position[by_position], return_index=True)
    last = by_position[np.append(first[1:], by_position.size) - 1] if row.size else by_position
    ship = stays.ship[last]
    family = places(whole(past.rows.family["id"]), whole(past.rows.part["family_id"]))
    of_part = family[places(whole(past.rows.part["id"]), past.part)]
    labels = {
        "position": words(past.rows.position["name"])[row],
        "ship": words(past.rows.ship["name"])[ship],
        "system": words(past.rows.position["system"])[row],
        "category": words(past.rows.family["category"])[of_part[stays.part[last]]],
        "zone": words(past.rows.position["zone"])[row],
    }
    begun = days(past.rows.ship["records_from"])[ship]
    begin = np.maximum(day_of(stays.start[by_position[first]]), begun)
    found = Positions(row, ship, labels, begin, _last_day(past)[ship])
    chosen = found.end >= found.begin
    for name, value in wanted.items():
        chosen &= labels[name] == value
    return found.take(chosen)


def _last_day(past: History) -> Ints:
    """The last day each ship could be watched: today, or the day she was lost or paid off."""
    state, since = words(past.rows.ship["state"]), days(past.rows.ship["state_since"])
    gone = np.isin(state, ("lost", "paid off")) & (since != NO_DAY) & (since <= past.today)
    return np.where(gone, since, past.today)


def failures_of(past: History) -> Failures:
    """Return every failure once, with the position the part was in, or had last been in, when it was found."""
    found, stays = past.ends.every, past.stays
    row = last_up_to(stays.part, stays.start, found.part, found.moment - 1)
    known = np.flatnonzero(row != NONE)
    recorded = known[found.failure[known] != NONE]
    once = recorded[np.unique(found.failure[recorded], return_index=True)[1]]
    kept = np.concatenate((once, known[found.failure[known] == NONE]))
    return Failures(stays.position[row[kept]], found.moment[kept], found.part[kept], _how(past, found.failure[kept]))


def _how(past: History, failure: Ints) -> Words:
    how = np.full(failure.size, FAILED, dtype=object)
    told = failure != NONE
    secondary, cause = np.array(past.rows.failure["secondary"], dtype=bool), words(past.rows.failure["cause"])
    how[told] = np.where(secondary[failure[told]], SECONDARY, FAILED)
    how[told] = np.where(cause[failure[told]] == say.BATTLE_DAMAGE, DAMAGED, how[told])
    return how


@dataclass(frozen=True)
class Watch:
    """
    Units watched on one clock, and their own failures.

    Attributes
    ----------
    histories : Histories
        None where nothing was watched.
    excluded : tuple of Exclusion
        Failures that do not count, and why.
    """

    histories: Histories | None
    excluded: tuple[Exclusion, ...]


def watch(past: History, chosen: Positions, found: Failures, unit: str, clock: str) -> Watch:
    """
    Watch the chosen positions, each on its own or all of one ship together.

    Parameters
    ----------
    past : History
    chosen : Positions
    found : Failures
        Of the whole club.
    unit : str
        One of UNITS.
    clock : str
        "days" since the watch of the unit began, or "sorties" of its ship since then.

    Notes
    -----
    A day or sortie counts from its beginning to its end, and a failure found on it lies in its middle: so none comes
    at the very start or end of a watch.
    """
    names = chosen.labels["ship"] + ("" if unit == "ship" else "/" + chosen.labels["position"])
    units, of_position = np.unique(names.astype(str), return_inverse=True)
    begin, end = np.full(units.size, past.today + 1), np.full(units.size, NO_DAY)
    np.minimum.at(begin, of_position, chosen.begin)
    np.maximum.at(end, of_position, chosen.end)
    ship = np.full(units.size, NONE)
    ship[of_position] = chosen.ship
    at = _place(chosen.row, found.position)
    mine, owner = found.take(at != NONE), of_position[at[at != NONE]]
    day = day_of(mine.moment)
    use = _Use(past, ship, moment(begin, 0), clock)
    time = use.at(owner, mine.moment)
    why = np.where((day < begin[owner]) | (day > end[owner]), "unwatched", mine.how)
    why = np.where((why == FAILED) & (time <= 0), "ashore", why)
    excluded = _excluded(past, mine, why)
    counted = why == FAILED
    length = use.length(moment(end, LAST_SLOT))
    watched = length > 0
    if not watched.any():
        return Watch(None, excluded)
    label = np.concatenate((units[owner[counted]], units[watched]))
    ends = np.zeros(label.size, dtype=bool)
    ends[int(counted.sum()) :] = True
    return Watch(histories(label, np.concatenate((time[counted], length[watched])), ~ends), excluded)


@dataclass(frozen=True)
class _Use:
    """The clock of every unit since its watch began."""

    past: History
    ship: Ints
    begin: Ints
    clock: str

    def at(self, unit: Ints, moments: Ints) -> Floats:
        """The middle of the day or sortie in which something was found; 0 or less if the clock had not begun."""
        if self.clock == "days":
            return (day_of(moments) - day_of(self.begin[unit])).astype(np.float64) + 0.5
        middle: Floats = self._sailed(unit, moments) - 0.5
        return middle

    def length(self, end: Ints) -> Floats:
        """How long each unit was watched."""
        if self.clock == "days":
            return (day_of(end) - day_of(self.begin)).astype(np.float64) + 1.0
        return self._sailed(np.arange(end.size), end)

    def _sailed(self, unit: Ints, until: Ints) -> Floats:
        nowhere = np.zeros_like(unit)
        begin = self.begin[unit]
        low, high = self.past.log.span(Stays(unit, self.ship[unit], nowhere, nowhere, begin, np.maximum(begin, until)))
        return (high - low).astype(np.float64)


def _place(rows: Ints, wanted: Ints) -> Ints:
    order = np.argsort(rows)
    at = places(rows[order], wanted)
    return np.where(at == NONE, NONE, order[at] if order.size else NONE)


def _excluded(past: History, mine: Failures, why: Words) -> tuple[Exclusion, ...]:
    tag = tags_of(past)
    found = []
    for name, reason in _LEFT_OUT.items():
        rows = np.flatnonzero(why == name)
        if rows.size:
            examples = tuple(str(each) for each in tag[mine.part[rows[:EXAMPLES]]])
            found.append(Exclusion(reason, rows.size, mine.part.size, examples))
    return tuple(found)
