"""How each life ended: the first failure of a part, or what took it from our eyes while it worked."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from maintain import vocabulary as say
from maintain.core.exposure import LAST_SLOT, NONE, Ints, Logbook, Stays, day_of, moment
from maintain.core.lives import Bools
from maintain.records.life_rows import LifeRows
from maintain.services.lives.columns import NO_DAY, Words, days, first_rows, last_up_to, places, whole, words

FAILED, SECONDARY, DAMAGED, RUNNING = "failed", "secondary failure", "battle damage", "still running"
PULLED_WORKING = "pulled working"
_PULLED = {
    "working": PULLED_WORKING,
    "suspect": "suspect, not judged",
    "ship lost": "ship lost",
    "ship paid off": "ship paid off",
}


@dataclass(frozen=True)
class Pulls:
    """How stays ended, by stay: not yet, or for which reason."""

    still_open: Bools
    reason: Words


@dataclass(frozen=True)
class Found:
    """
    Parts found failed, in any order.

    Attributes
    ----------
    part : array of int
        By its place among the parts.
    moment : array of int
    failure : array of int
        Row of the failure's record; NONE where there is none.
    """

    part: Ints
    moment: Ints
    failure: Ints


@dataclass(frozen=True)
class Ends:
    """
    The end of each life, by part.

    Attributes
    ----------
    moment : array of int
        When it was found failed or was last seen.
    stay : array of int
        The stay it was in then.
    how : array of str
        "failed", "secondary failure", "battle damage", "still running", "pulled working" ...
    found : array of bool
        True for the first three: something was found.
    cause, mode : array of str
        Blamed cause and symptom; "" where nothing was found or no failure was recorded.
    failure : array of int
        Row of the failure's record; NONE where there is none.
    sortie : array of int
        Row of the logbook it was found in or after; NONE if the ship had not sailed with it.
    every : Found
        All that was found, of parts put back to work after failing too; a failure may stand here twice, as recorded and
        as condemned later.
    """

    moment: Ints
    stay: Ints
    how: Words
    found: Bools
    cause: Words
    mode: Words
    failure: Ints
    sortie: Ints
    every: Found


def ends_of(rows: LifeRows, part: Ints, stays: Stays, pulls: Pulls, log: Logbook, today: int) -> Ends:
    """
    Find how each life ended.

    Parameters
    ----------
    rows : LifeRows
    part : array of int
        Ids of the parts, rising.
    stays : Stays
        Sorted by part and start; every part has one.
    pulls : Pulls
        By stay.
    log : Logbook
    today : int
        Nothing found later counts.
    """
    every = _events(rows, part, stays, pulls, log, today)
    first = _first_of_each(every)
    last = np.append(first_rows(stays.part), stays.part.size)[1:] - 1
    end, found = stays.end[last].copy(), np.zeros(part.size, dtype=bool)
    failure = np.full(part.size, NONE)
    end[first.part], found[first.part], failure[first.part] = first.moment, True, first.failure
    before = last_up_to(stays.part, stays.start, np.arange(part.size), end - 1)
    stay = np.where(before == NONE, first_rows(stays.part), before)
    cause, mode = (_of_failure(rows, name, failure) for name in ("cause", "mode"))
    secondary = failure != NONE
    secondary[secondary] = np.array(rows.failure["secondary"], dtype=bool)[failure[secondary]]
    pulled = [_PULLED.get(reason, "pulled") for reason in pulls.reason[last]]
    how = np.where(pulls.still_open[last], RUNNING, np.array(pulled, dtype=object))
    how[found] = FAILED
    how[secondary] = SECONDARY
    how[cause == say.BATTLE_DAMAGE] = DAMAGED
    low, high = log.span(stays.until(end).take(stay))
    return Ends(end, stay, how, found, cause, mode, failure, np.where(high > low, high - 1, NONE), every)


def _events(rows: LifeRows, part: Ints, stays: Stays, pulls: Pulls, log: Logbook, today: int) -> Found:
    """All that ends lives: recorded failures, suspects condemned later, and parts pulled as failed without a record."""
    recorded = _recorded(rows, part, log, today)
    condemned = _condemned(rows, part, recorded, today)
    untold = (pulls.reason == "failed") & ~pulls.still_open & ~np.isin(stays.part, recorded.part)
    pulled = Found(stays.part[untold], stays.end[untold], np.full(int(untold.sum()), NONE))
    kinds = (recorded, condemned, pulled)
    return Found(*(np.concatenate([getattr(kind, name) for kind in kinds]) for name in ("part", "moment", "failure")))


def _recorded(rows: LifeRows, part: Ints, log: Logbook, today: int) -> Found:
    columns = rows.failure
    owner, found_on = places(part, whole(columns["part_id"])), days(columns["found_on"])
    when = moment(found_on, whole(columns["found_sortie"]))
    sortie = sortie_of_failure(rows, log)
    in_battle = sortie != NONE
    # A swap between two sorties may be logged before the sortie it followed.
    when[in_battle] = np.maximum(when[in_battle], log.moments[sortie[in_battle]])
    told = np.flatnonzero((owner != NONE) & (found_on <= today) & ~_unjudged(rows, today))
    told = told[np.lexsort((when[told], owner[told]))]
    return Found(owner[told], when[told], told)


def _unjudged(rows: LifeRows, today: int) -> Bools:
    """Tell which failures were logged when a suspect was withdrawn whom no retest has judged yet."""
    doubts, failures = rows.suspicion, rows.failure
    closed = days(doubts["closed_on"])
    pending = np.flatnonzero((closed == NO_DAY) | (closed > today))
    raised, mode = days(doubts["raised_on"]), words(doubts["mode"])
    part = whole(doubts["part_id"])
    doubted = {(part[row], raised[row], mode[row]) for row in pending.tolist()}  # a handful, never the fleet
    keys = zip(whole(failures["part_id"]), days(failures["found_on"]), words(failures["mode"]), strict=True)
    return np.fromiter((key in doubted for key in keys), dtype=bool)


def sortie_of_failure(rows: LifeRows, log: Logbook) -> Ints:
    """Return the row in the logbook of the sortie in which each failure showed; NONE if it showed another way."""
    ids = whole(rows.sortie["id"])[log.order]
    by_id = np.argsort(ids)
    at = places(ids[by_id], whole(rows.failure["sortie_id"]))
    named = (at != NONE) & (words(rows.failure["found_by"]) == "in battle")
    return np.where(named, by_id[at] if by_id.size else NONE, NONE)


def _condemned(rows: LifeRows, part: Ints, recorded: Found, today: int) -> Found:
    """Suspects that a retest condemned had failed when they were withdrawn; a failure recorded then tells of what."""
    columns = rows.suspicion
    owner, raised = places(part, whole(columns["part_id"])), days(columns["raised_on"])
    closed = days(columns["closed_on"])
    judged = (words(columns["outcome"]) == "condemned") & (owner != NONE) & (closed <= today) & (closed != NO_DAY)
    owner, raised, closed = owner[judged], raised[judged], closed[judged]
    told = last_up_to(recorded.part, recorded.moment, owner, moment(closed, LAST_SLOT))
    failure = np.full(owner.size, NONE)
    known = told != NONE
    known[known] = day_of(recorded.moment[told[known]]) >= raised[known]
    failure[known] = recorded.failure[told[known]]
    return Found(owner, moment(raised, LAST_SLOT), failure)


def _first_of_each(events: Found) -> Found:
    # At one moment the record of a failure comes before what only follows from it.
    order = np.lexsort((events.failure == NONE, events.moment, events.part))
    rows = order[first_rows(events.part[order])]
    return Found(events.part[rows], events.moment[rows], events.failure[rows])


def _of_failure(rows: LifeRows, name: str, failure: Ints) -> Words:
    told = failure != NONE
    value = np.full(failure.size, "", dtype=object)
    value[told] = words(rows.failure[name])[failure[told]]
    return value
