"""Failures of positions and ships through their replacements: which units were watched, how long, and what failed."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from maintain import vocabulary as say
from maintain.core.exposure import LAST_SLOT, NONE, Ints, Stays, day_of, moment
from maintain.core.first_parts import FirstParts, first_parts
from maintain.core.histories import Histories, histories
from maintain.core.lives import Bools, Floats
from maintain.results.life_source import Exclusion
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
    "before": "found before the day from which you asked to watch",
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
    one_stay : array of bool
        True if only one part was ever fitted there, once.
    """

    row: Ints
    ship: Ints
    labels: dict[str, Words]
    begin: Ints
    end: Ints
    one_stay: Bools

    def take(self, rows: NDArray[np.intp] | Bools) -> Positions:
        """Return the positions in `rows` (indices or mask)."""
        labels = {name: column[rows] for name, column in self.labels.items()}
        return Positions(self.row[rows], self.ship[rows], labels, self.begin[rows], self.end[rows], self.one_stay[rows])


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
    row, first, stayed = np.unique(stays.position[by_position], return_index=True, return_counts=True)
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
    found = Positions(row, ship, labels, begin, _last_day(past)[ship], stayed == 1)
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
    first_parts : FirstParts
        How many positions were never renewed, and how many began together.
    excluded : tuple of Exclusion
        Failures that do not count, and why.
    """

    histories: Histories | None
    first_parts: FirstParts
    excluded: tuple[Exclusion, ...]


@dataclass(frozen=True)
class HowWatched:
    """
    How positions are watched.

    Attributes
    ----------
    unit : str
        One of UNITS: each on its own, or all of one ship together.
    clock : str
        "days" since the watch of the unit began, or "sorties" of its ship since then.
    since : int, optional
        Day from which failures count; units keep the age they had by then.
    """

    unit: str
    clock: str
    since: int | None = None


def watch(past: History, chosen: Positions, found: Failures, how: HowWatched) -> Watch:
    """
    Watch the chosen positions.

    Parameters
    ----------
    past : History
    chosen : Positions
    found : Failures
        Of the whole club.
    how : HowWatched

    Notes
    -----
    A day or sortie counts from its beginning to its end, and a failure found on it lies in its middle: so none comes
    at the very start or end of a watch. Units of one ship share her luck, above all on one day.
    """
    names = chosen.labels["ship"] + ("" if how.unit == "ship" else "/" + chosen.labels["position"])
    units, of_position = np.unique(names.astype(str), return_inverse=True)
    begin, end = np.full(units.size, past.today + 1), np.full(units.size, NO_DAY)
    np.minimum.at(begin, of_position, chosen.begin)
    np.maximum.at(end, of_position, chosen.end)
    ship = np.full(units.size, NONE)
    ship[of_position] = chosen.ship
    at = _place(chosen.row, found.position)
    mine, owner = found.take(at != NONE), of_position[at[at != NONE]]
    use = _Use(past, ship, moment(begin, 0), how.clock)
    time = use.at(owner, mine.moment)
    length = use.length(moment(end, LAST_SLOT))
    before = use.length(moment(np.maximum(how.since, begin) - 1, LAST_SLOT)) if how.since else np.zeros(length.shape)
    why = np.where((day_of(mine.moment) < begin[owner]) | (day_of(mine.moment) > end[owner]), "unwatched", mine.how)
    why = np.where((why == FAILED) & (time <= 0), "ashore", why)
    why = np.where((why == FAILED) & (time <= before[owner]), "before", why)
    excluded = _excluded(past, mine, why)
    mended = np.bincount(at[at != NONE][np.isin(why, (FAILED, "before"))], minlength=chosen.row.size) > 0
    days_watched = (chosen.end - chosen.begin + 1).astype(np.float64)
    aged = first_parts(chosen.one_stay & ~mended, days_watched, chosen.begin.astype(np.float64))
    seen = length > before
    if not seen.any():
        return Watch(None, aged, excluded)
    fails = np.flatnonzero(why == FAILED)
    unit = np.concatenate((owner[fails], np.flatnonzero(seen)))
    watched = histories(
        units[unit],
        np.concatenate((time[fails], length[seen])),
        np.arange(unit.size) < fails.size,
        start=before[unit],
        cluster=ship[unit],
        event=np.concatenate((day_of(mine.moment[fails]), end[seen])),
    )
    return Watch(watched, aged, excluded)


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
