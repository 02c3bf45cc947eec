"""What happened to every part up to a day: where it served, how that ended, and when it was known to work."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

import numpy as np
import sqlalchemy as sa
from numpy.typing import NDArray

from maintain import vocabulary as say
from maintain.core.exposure import (
    LAST_SLOT,
    NONE,
    SLOTS,
    Ints,
    Logbook,
    Openings,
    Sorties,
    Stays,
    day_of,
    logbook,
    moment,
)
from maintain.core.exposure_rows import Watch
from maintain.core.lives import Bools
from maintain.records import life_rows
from maintain.records.life_rows import LifeRows
from maintain.services.lives.columns import (
    NO_DAY,
    Words,
    coded,
    day_number,
    days,
    first_rows,
    measured,
    places,
    whole,
    words,
)
from maintain.services.lives.ends import FAILED, Ends, Pulls, ends_of
from maintain.services.lives.evidence import known_to_work, seen_working

_FUZZY = ("month", "season")


@dataclass(frozen=True)
class Origins:
    """
    Where each part's life began, by part.

    Attributes
    ----------
    held_from : array of int
        The day it came to the club, as far as recorded.
    ages_on_shelf : array of bool
        True if its family grows old on a shelf.
    prior_unknown : array of bool
        True if nobody knows what it had been through before it was first fitted.
    held_unknown : array of bool
        True if nobody knows how long it had lain before.
    late : array of bool
        True if it was first fitted on a known day before the records of its ship begin.
    blind_use : array of bool
        True if it served, at any time in its life, before the records of its ship begin.
    """

    held_from: Ints
    ages_on_shelf: Bools
    prior_unknown: Bools
    held_unknown: Bools
    late: Bools
    blind_use: Bools


@dataclass(frozen=True)
class History:
    """
    All parts that were ever fitted, as known on a day; arrays by part unless said otherwise.

    Attributes
    ----------
    today : int
        Days since 1970; what was recorded of later days is left out.
    rows : LifeRows
        The records themselves.
    log : Logbook
    part : array of int
        Their ids, rising; every other array names a part by its place in this one.
    stays : Stays
        All times in a position, sorted by part and start; ships and positions by their place in `rows`.
    open_stay : array of bool, by stay
        True if the part is still there.
    origins : Origins
    watch : Watch
    ends : Ends
    fuzzy : array of bool
        True if it was fitted or pulled on a day known only to the month or season.
    served_on : array of bool
        True if it was put back to work after its first failure.
    tested_on : array of int
        The last day a reading, check or retest showed it to work; NO_DAY if none did.
    since : int, optional
        The day from which lives are watched, if that was asked: whatever ended before tells nothing.
    """

    today: int
    rows: LifeRows
    log: Logbook
    part: Ints
    stays: Stays
    open_stay: Bools
    origins: Origins
    watch: Watch
    ends: Ends
    fuzzy: Bools
    served_on: Bools
    tested_on: Ints
    since: int | None = None


def history(connection: sa.Connection, today: date, since: date | None = None) -> History:
    """Read what is known on a day."""
    return history_of(life_rows.read(connection), today, since)


def history_of(rows: LifeRows, today: date, since: date | None = None) -> History:
    """
    Put the records in order as they stood on a day.

    Parameters
    ----------
    rows : LifeRows
    today : date
    since : date, optional
        Watch lives only from this day on; parts fitted earlier enter at the age they had then.
    """
    now = day_number(today)
    log = _logbook(rows, now)
    held = _Held.read(rows, now)
    fitted = held.take(np.flatnonzero(held.position != NONE))
    part = fitted.part[first_rows(fitted.part)]
    stays, pulls = _stays(rows, fitted, part)
    ends = ends_of(rows, part, stays, pulls, log, now)
    first = first_rows(stays.part)
    records_from = _records_from(rows)
    origins = _origins(rows, held, part, stays, records_from, ends)
    begun = np.maximum(stays.start[first], records_from[stays.ship[first]])
    if since is not None:
        begun = np.maximum(begun, moment(day_number(since), 0))
    hidden = _of_family(rows, part, "hidden")
    seen = seen_working(rows, part, stays, now)
    alive = np.clip(known_to_work(rows, log, seen, stays, ends, hidden), np.minimum(begun, ends.moment), ends.moment)
    return History(
        today=now,
        rows=rows,
        log=log,
        part=part,
        stays=stays,
        open_stay=pulls.still_open,
        origins=origins,
        watch=Watch(begun, alive, _seen_until(ends, alive, hidden), ends.how == FAILED, ~hidden),
        ends=ends,
        fuzzy=np.isin(fitted.from_precision[first], _FUZZY) | np.isin(fitted.until_precision[ends.stay], _FUZZY),
        served_on=_served_on(stays, ends),
        tested_on=seen.last_of(part.size),
        since=None if since is None else day_number(since),
    )


@dataclass(frozen=True)
class _Held:
    """Placements, sorted by part and start: part by id, position by its place in the records, NONE if not fitted."""

    part: Ints
    position: Ints
    start: Ints
    end: Ints
    still_open: Bools
    from_precision: Words
    until_precision: Words
    reason: Words

    @classmethod
    def read(cls, rows: LifeRows, now: int) -> _Held:
        columns = rows.placement
        until = days(columns["until_on"])
        still_open = (until == NO_DAY) | (until > now)
        held = cls(
            part=whole(columns["part_id"]),
            position=places(whole(rows.position["id"]), whole(columns["position_id"])),
            start=moment(days(columns["from_on"]), whole(columns["from_sortie"])),
            end=moment(
                np.where(still_open, now, until), np.where(still_open, LAST_SLOT, whole(columns["until_sortie"]))
            ),
            still_open=still_open,
            from_precision=words(columns["from_precision"]),
            until_precision=words(columns["until_precision"]),
            reason=words(columns["reason"]),
        )
        known = np.flatnonzero((places(whole(rows.part["id"]), held.part) != NONE) & (day_of(held.start) <= now))
        return held.take(known[np.lexsort((held.start[known], held.part[known]))])

    def take(self, rows: NDArray[np.intp]) -> _Held:
        return _Held(*(getattr(self, name)[rows] for name in _Held.__dataclass_fields__))


def _logbook(rows: LifeRows, now: int) -> Logbook:
    """Sorties and openings up to the day; the rows of the log's `order` are those of the records."""
    sailed, opened = rows.sortie, rows.opening
    ships, positions = whole(rows.ship["id"]), whole(rows.position["id"])
    sorties = Sorties(
        ship=places(ships, whole(sailed["ship_id"])),
        day=days(sailed["sailed_on"]),
        number=whole(sailed["number"]),
        wetness=coded(sailed["wetness"], tuple(say.WETNESS)),
        minutes=measured(sailed["minutes_afloat"]),
        minutes_under=measured(sailed["minutes_under"]),
        shots=measured(sailed["shots"]),
    )
    ids = whole(sailed["id"])
    by_id = np.argsort(ids)
    at = places(ids[by_id], whole(opened["sortie_id"]))
    openings = Openings(
        ship=places(ships, whole(opened["ship_id"])),
        day=days(opened["opened_on"]),
        sortie=np.where(at == NONE, NONE, by_id[at] if by_id.size else NONE),
        zone=coded(opened["zone"], say.ZONES),
        position=places(positions, whole(opened["position_id"])),
        found=coded(opened["found"], say.OPENED_FINDINGS),
    )
    return logbook(sorties, openings, until=now)


def _stays(rows: LifeRows, fitted: _Held, part: Ints) -> tuple[Stays, Pulls]:
    """The times in positions; a ship lost or paid off ends those of all parts still in her."""
    ship = places(whole(rows.ship["id"]), whole(rows.position["ship_id"]))[fitted.position]
    zone = coded(rows.position["zone"], say.ZONES)[fitted.position]
    state, since = words(rows.ship["state"]), days(rows.ship["state_since"])
    now = day_of(fitted.end.max(initial=0))
    struck = np.isin(state, ("lost", "paid off")) & (since != NO_DAY) & (since <= now)
    state, since, gone = state[ship], since[ship], fitted.still_open & struck[ship]
    end = np.where(gone, np.maximum(fitted.start, moment(since, LAST_SLOT)), fitted.end)
    reason = np.where(gone, "ship " + state, fitted.reason)
    stays = Stays(places(part, fitted.part), ship, fitted.position, zone, fitted.start, end)
    return stays, Pulls(fitted.still_open & ~gone, reason)


def _records_from(rows: LifeRows) -> Ints:
    """The moment each ship's records begin; a ship without such a day was watched from ever."""
    begun = days(rows.ship["records_from"])
    return np.where(begun == NO_DAY, moment(-SLOTS, 0), moment(np.maximum(begun, -SLOTS), 0))


def _origins(  # six arrays that all describe one set of parts
    rows: LifeRows, held: _Held, part: Ints, stays: Stays, records_from: Ints, ends: Ends
) -> Origins:
    first = first_rows(stays.part)
    came = np.searchsorted(held.part, part)
    second_hand = words(rows.part["prior_use"])[places(whole(rows.part["id"]), part)] != "none"
    fitted = np.flatnonzero(held.position != NONE)[first]
    before = stays.start < records_from[stays.ship]
    prior_unknown = second_hand | (held.from_precision[fitted] == "before records")
    lived = stays.start < ends.moment[stays.part]
    return Origins(
        held_from=day_of(held.start[came]),
        ages_on_shelf=_of_family(rows, part, "ages_on_shelf"),
        prior_unknown=prior_unknown,
        held_unknown=held.from_precision[came] == "before records",
        late=before[first] & ~prior_unknown,
        blind_use=np.bincount(stays.part, before & lived, part.size) > 0,
    )


def _of_family(rows: LifeRows, part: Ints, name: str) -> Bools:
    """A yes-or-no of the family of each part."""
    family = places(whole(rows.family["id"]), whole(rows.part["family_id"]))[places(whole(rows.part["id"]), part)]
    return np.array(rows.family[name], dtype=bool)[family]


def _served_on(stays: Stays, ends: Ends) -> Bools:
    later = ends.found[stays.part] & (stays.start >= ends.moment[stays.part]) & (stays.end > stays.start)
    return np.bincount(stays.part[later], minlength=ends.moment.size) > 0


def _seen_until(ends: Ends, alive: Ints, hidden: Bools) -> Ints:
    """When each life was last seen: a hidden function that was never found failed, only at its last test."""
    silent = hidden & (ends.how != FAILED)
    return np.where(silent, alive, ends.moment)
