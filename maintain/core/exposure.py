"""What a part has been through: each sortie's gain on a clock of use, reaching every part by its place and zone.

A moment is a day and the number of sorties the ship had sailed that day, in one integer that sorts; a stay is one part
in one position between two moments. Sortie number k reaches the part if start < (day, k) <= end.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import ArrayLike, NDArray

from maintain.core.lives import Bools, Floats
from maintain.errors import InvalidRecord
from maintain.vocabulary import CLOCKS, UNDER_FROM, WET_FROM, ZONES

Ints = NDArray[np.int64]

NONE = -1
UNKNOWN = -1  # a wetness nobody wrote down
SANK = 3  # W3 or worse
DRY = 0  # what an opening found: 0 dry, 1 damp, 2 water

ASHORE = ZONES.index("ashore")

SLOTS = 2**16
LAST_SLOT = SLOTS - 1
_SHIP = 2**40


def moment(day: ArrayLike, sortie: ArrayLike) -> Ints:
    """Return the moments after a number of sorties on days (days since any epoch)."""
    return np.asarray(day, dtype=np.int64) * SLOTS + np.asarray(sortie, dtype=np.int64)


def day_of(moments: Ints) -> Ints:
    """Return the day of each moment."""
    return moments // SLOTS


@dataclass(frozen=True)
class Sorties:
    """
    Sorties of all ships, in any order.

    Attributes
    ----------
    ship, day, number : array of int, shape = (n,)
        Whose, when, and which of her sorties that day (from 1).
    wetness : array of int, shape = (n,)
        0 to 5 for W0 to W5; UNKNOWN where not recorded.
    minutes, minutes_under, shots : array, shape = (n,)
        nan where not recorded.
    """

    ship: Ints
    day: Ints
    number: Ints
    wetness: Ints
    minutes: Floats
    minutes_under: Floats
    shots: Floats


@dataclass(frozen=True)
class Openings:
    """
    What was found when ships were opened.

    Attributes
    ----------
    ship, day : array of int, shape = (n,)
    sortie : array of int, shape = (n,)
        Row of the sortie it followed; NONE: the ship's last one up to that day.
    zone : array of int, shape = (n,)
        Place in vocabulary.ZONES.
    position : array of int, shape = (n,)
        The one position that was looked at; NONE: the whole zone.
    found : array of int, shape = (n,)
        0 dry, 1 damp, 2 water.
    """

    ship: Ints
    day: Ints
    sortie: Ints
    zone: Ints
    position: Ints
    found: Ints


@dataclass(frozen=True)
class Stays:
    """
    Parts in positions; several of one part must not overlap.

    Attributes
    ----------
    part, ship, position, zone : array of int, shape = (n,)
        `zone` is the place in vocabulary.ZONES.
    start, end : array of int, shape = (n,)
        Moments.
    """

    part: Ints
    ship: Ints
    position: Ints
    zone: Ints
    start: Ints
    end: Ints

    def take(self, rows: NDArray[np.intp] | Bools) -> Stays:
        """Return the stays in `rows` (indices or mask)."""
        columns = (self.part, self.ship, self.position, self.zone, self.start, self.end)
        return Stays(*(column[rows] for column in columns))

    def until(self, moments: Ints) -> Stays:
        """Return the stays cut off at a moment of each part (`moments[part]`); one begun later comes to nothing."""
        return replace(self, end=np.clip(moments[self.part], self.start, self.end))

    def since(self, moments: Ints) -> Stays:
        """Return the stays from a moment of each part on; one ended earlier comes to nothing."""
        return replace(self, start=np.clip(moments[self.part], self.start, self.end))


@dataclass(frozen=True)
class Logbook:
    """
    Sorties by ship and in order of sailing, with what openings found.

    Attributes
    ----------
    sorties : Sorties
        Sorted by ship, day and number.
    order : array of int, shape = (n,)
        Row of each in the caller's order.
    key : array of int, shape = (n,)
        Ship and moment in one rising number.
    row, zone, position, found : array of int, shape = (m,)
        One finding for each sortie and zone or position, the wettest if there were several.
    untied : int
        Openings before which the ship had not sailed; they say nothing of any sortie.
    """

    sorties: Sorties
    order: Ints
    key: Ints
    row: Ints
    zone: Ints
    position: Ints
    found: Ints
    untied: int

    @property
    def moments(self) -> Ints:
        """The moment after each sortie."""
        return moment(self.sorties.day, self.sorties.number)

    def span(self, stays: Stays) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
        """Return the first row of the sorties that reach each stay, and the row behind the last."""
        low = np.searchsorted(self.key, stays.ship * _SHIP + stays.start, side="right")
        high = np.searchsorted(self.key, stays.ship * _SHIP + stays.end, side="right")
        return low, np.maximum(low, high)


def logbook(sorties: Sorties, openings: Openings, until: int | None = None) -> Logbook:
    """Put sorties in order and tie each opening to the sortie it speaks of; what is later than a day is left out."""
    order = np.lexsort((sorties.number, sorties.day, sorties.ship))
    if until is not None:
        order = order[sorties.day[order] <= until]
    columns = (getattr(sorties, name)[order] for name in Sorties.__dataclass_fields__)
    ordered = Sorties(*columns)
    key = ordered.ship * _SHIP + moment(ordered.day, ordered.number)
    place = np.full(sorties.day.shape, NONE)
    place[order] = np.arange(order.size)
    last = np.searchsorted(key, openings.ship * _SHIP + moment(openings.day, LAST_SLOT), side="right") - 1
    named = openings.sortie >= 0
    row = last.copy()
    row[named] = place[openings.sortie[named]]
    known = np.ones(row.shape, dtype=bool) if until is None else openings.day <= until
    tied = known & (row >= 0)
    tied[tied] = ordered.ship[row[tied]] == openings.ship[tied]
    told = np.flatnonzero(tied & (openings.zone != ASHORE))
    told = told[np.lexsort((openings.found[told], row[told], openings.zone[told], openings.position[told]))]
    same = np.column_stack((openings.position[told], openings.zone[told], row[told]))
    wettest = told[np.append(np.any(same[1:] != same[:-1], axis=1), True)] if told.size else told
    return Logbook(
        sorties=ordered,
        order=order,
        key=key,
        row=row[wettest],
        zone=openings.zone[wettest],
        position=openings.position[wettest],
        found=openings.found[wettest],
        untied=int(np.sum(known & ~tied)),
    )


@dataclass(frozen=True)
class Exposure:
    """
    What each sortie adds to one clock.

    Attributes
    ----------
    clock : str
    log : Logbook
    gain : array, shape = (1, n_sorties) or (n_zones, n_sorties)
        One row for all zones where the zone makes no difference. A sortie whose value is unknown has the mean of the
        known ones, never zero.
    unknown : int
        Sorties that have the mean.
    knowable : bool
        False if the value is known of no sortie at all: then there is no mean either and the clock can't be used.
    spots : array of int, shape = (m,)
        Position and sortie where an opening of that one position said otherwise, in one rising number.
    shift : array, shape = (m,)
        What to add to the zone's gain there.
    """

    clock: str
    log: Logbook
    gain: Floats
    unknown: int
    knowable: bool
    spots: Ints
    shift: Floats

    def of(self, stays: Stays) -> Floats:
        """Return what each stay adds to the clock, shape = (n_stays,)."""
        low, high = self.log.span(stays)
        lane = stays.zone if self.gain.shape[0] > 1 else np.zeros_like(stays.zone)
        gained = self._total[lane, high] - self._total[lane, low]
        if self.spots.size:
            shifts = np.concatenate(([0.0], np.cumsum(self.shift)))
            first, last = (np.searchsorted(self.spots, self._spot(stays.position, row)) for row in (low, high))
            gained += shifts[last] - shifts[first]
        return _rounded(gained)

    def of_sorties(self, zone: Ints, position: Ints, row: NDArray[np.intp]) -> Floats:
        """Return what single sorties (rows of the logbook) add for a zone and position, shape = (n,)."""
        gained = self.gain[zone if self.gain.shape[0] > 1 else 0, row]
        if self.spots.size:
            spot = self._spot(position, row)
            place = np.minimum(np.searchsorted(self.spots, spot), self.spots.size - 1)
            gained = gained + np.where(self.spots[place] == spot, self.shift[place], 0.0)
        return _rounded(gained)

    @cached_property
    def _total(self) -> Floats:
        total = np.zeros((self.gain.shape[0], self.gain.shape[1] + 1))
        np.cumsum(self.gain, axis=1, out=total[:, 1:])
        return total

    def _spot(self, position: Ints, row: NDArray[np.intp]) -> Ints:
        return position * _SHIP + row


def exposure(log: Logbook, clock: str) -> Exposure:
    """
    Work out what every sortie adds to a clock of use.

    Parameters
    ----------
    log : Logbook
    clock : str
        One of vocabulary.CLOCKS but "days".

    Raises
    ------
    InvalidRecord
        If there is no such clock of use.
    """
    if clock not in CLOCKS[1:]:
        raise InvalidRecord(f"{clock!r} is no clock of use", hint=f"choose from: {', '.join(CLOCKS[1:])}")
    if clock in ("wet sorties", "immersions", "minutes under"):
        return _zoned(log, clock)
    plain = {"sorties": np.ones(log.key.size), "minutes afloat": log.sorties.minutes, "shots": log.sorties.shots}
    value = plain[clock]
    known = ~np.isnan(value)
    gain = np.where(known, value, value[known].mean() if known.any() else 0.0)
    nowhere, nothing = np.empty(0, dtype=np.int64), np.empty(0)
    knowable = bool(known.any() or not known.size)
    return Exposure(clock, log, gain[None, :], int(np.sum(~known)), knowable, nowhere, nothing)


def _zoned(log: Logbook, clock: str) -> Exposure:
    """Gains that depend on where water comes."""
    wetness = log.sorties.wetness
    least = np.array(list((WET_FROM if clock == "wet sorties" else UNDER_FROM).values()))
    value = np.where(wetness == UNKNOWN, np.nan, wetness >= least[:, None])
    value[ASHORE] = 0.0
    told = _told(log, clock)
    whole = (log.position == NONE) & ~np.isnan(told)
    value[log.zone[whole], log.row[whole]] = told[whole]
    known_of_all = ~np.isnan(value).any(axis=0)
    knowable = True
    if clock == "minutes under":
        minutes, guessed, timed = _minutes_under(log.sorties)
        knowable = timed or not guessed.any()
        known_of_all &= ~guessed
        value = np.where(value == 0, 0.0, value * minutes)
        told = np.where(told == 0, 0.0, told * minutes[log.row])
    known = ~np.isnan(value)
    mean = np.divide(np.nansum(value, axis=1), known.sum(axis=1), out=np.zeros(len(ZONES)), where=known.any(axis=1))
    gain = np.where(known, value, mean[:, None])
    single = (log.position != NONE) & ~np.isnan(told)
    spots = log.position[single] * _SHIP + log.row[single]
    shift = told[single] - gain[log.zone[single], log.row[single]]
    in_order = np.argsort(spots)
    knowable = knowable and bool(known_of_all.any() or not known_of_all.size)
    return Exposure(clock, log, gain, int(np.sum(~known_of_all)), knowable, spots[in_order], shift[in_order])


def _told(log: Logbook, clock: str) -> Floats:
    """What each finding says: was the zone wet, or was the part under? nan: water, but nobody knows if she sank."""
    wet: Floats = (log.found != DRY).astype(np.float64)
    if clock == "wet sorties":
        return wet
    wetness = log.sorties.wetness[log.row]
    sank: Floats = np.where(wetness == UNKNOWN, np.nan, wetness >= SANK).astype(np.float64)
    said: Floats = np.where(wet == 0, 0.0, sank)
    return said


def _minutes_under(sorties: Sorties) -> tuple[Floats, Bools, bool]:
    """Minutes under of each ship, the mean where she sank and nobody timed it; which those are; was any timed?"""
    sank = sorties.wetness >= SANK
    timed = sank & ~np.isnan(sorties.minutes_under)
    mean = float(sorties.minutes_under[timed].mean()) if timed.any() else 0.0
    return np.where(timed, sorties.minutes_under, np.where(sank, mean, 0.0)), sank & ~timed, bool(timed.any())


def _rounded(gained: Floats) -> Floats:
    # Sums of means leave dust in the last places; a clock that stood still must read exactly 0.
    rounded: Floats = np.round(gained, 6)
    return rounded
