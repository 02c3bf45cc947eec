"""From records to lives: one life a part, up to its first failure, on the clock that is asked for."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from maintain.core.exposure import LAST_SLOT, NONE, Exposure, Ints, Stays, day_of, exposure, moment
from maintain.core.exposure_rows import ExposureRows, exposure_rows
from maintain.core.lives import Bools, Floats, Lives
from maintain.results.life_source import Exclusion
from maintain.services.lives.columns import Words, first_rows, whole
from maintain.services.lives.history import History
from maintain.services.lives.labels import labels_of, retreated, tags_of
from maintain.vocabulary import CLOCKS

EXAMPLES = 5
UNKNOWN_USE = "unknown prior use"
ENDED_OTHERWISE = "ended by battle damage or another part's failure: they worked until then"


@dataclass(frozen=True)
class Cohort:
    """
    Lives with what they can be grouped by; all arrays are by life.

    Attributes
    ----------
    part : array of int
        Ids.
    tag : array of str
    lives : Lives
    labels : dict of array of str
        By the names in labels.LABELS.
    ending : array of str
        "failed", "secondary failure", "battle damage", "still running", "pulled working" ...
    cause : array of str
        Blamed cause; "" where nothing was found.
    event : array of int
        Id of the sortie at or after which something was found; NONE without one. Lives that share it may have ended by
        one sinking; with the ship they are the clusters of any standard error.
    """

    part: Ints
    tag: Words
    lives: Lives
    labels: dict[str, Words]
    ending: Words
    cause: Words
    event: Ints

    def take(self, rows: NDArray[np.intp] | Bools) -> Cohort:
        """Return the lives in `rows` (indices or mask)."""
        return Cohort(
            self.part[rows],
            self.tag[rows],
            self.lives.take(rows),
            {name: column[rows] for name, column in self.labels.items()},
            self.ending[rows],
            self.cause[rows],
            self.event[rows],
        )


@dataclass(frozen=True)
class LifeTable:
    """
    All lives on one clock.

    Attributes
    ----------
    clock : str
    known : Cohort
        Lives whose use is known from new, or from an age that is known.
    unknown_age : Cohort
        Lives with unknown prior use, from 0 when observation began: right for rates (failures over exposure), wrong
        for anything that depends on age.
    excluded : tuple of Exclusion
        What is not in `known`, and why.
    notes : tuple of str
        What was assumed, one line each.
    """

    clock: str
    known: Cohort
    unknown_age: Cohort
    excluded: tuple[Exclusion, ...]
    notes: tuple[str, ...]


@dataclass(frozen=True)
class FleetNow:
    """
    Every part now fitted; all arrays by part.

    Attributes
    ----------
    part : array of int
        Ids.
    tag : array of str
    ship_id, position_id : array of int
    age : array
        Use so far on the clock, through all its places; nan if unknown.
    observed : array
        Use seen since its records begin; never nan.
    since : array of int
        The day it was fitted where it is, days since 1970.
    last_tested : array of int
        The last day a reading, check or retest showed it to work, days since 1970; columns.NO_DAY if none did.
    labels : dict of array of str
    """

    part: Ints
    tag: Words
    ship_id: Ints
    position_id: Ints
    age: Floats
    observed: Floats
    since: Ints
    last_tested: Ints
    labels: dict[str, Words]


@dataclass(frozen=True)
class Selection:
    """
    Which lives are meant.

    Attributes
    ----------
    wanted : dict of str
        Labels that lives must have, by name of the label: {"family": "standard servo"}.
    fitted_since : int, optional
        The day on or after which they were first fitted, days since 1970.
    """

    wanted: dict[str, str]
    fitted_since: int | None = None

    def __call__(self, labels: dict[str, Words]) -> Bools:
        """Tell which lives have them all."""
        chosen = np.ones(next(iter(labels.values())).size, dtype=bool)
        for name, value in self.wanted.items():
            chosen &= labels[name] == value
        return chosen


EVERY = Selection({})


@dataclass(frozen=True)
class _Use:
    """Use of every part on one clock."""

    past: History
    clock: str
    exposure: Exposure | None

    @classmethod
    def on(cls, past: History, clock: str) -> _Use:
        return cls(past, clock, None if clock == "days" else exposure(past.log, clock))

    def of(self, stays: Stays) -> Floats:
        """What each stay adds."""
        if self.exposure is None:
            return (day_of(stays.end) - day_of(stays.start)).astype(np.float64)
        return self.exposure.of(stays)

    def at(self, moments: Ints) -> Floats:
        """Use on each part at a moment of its own."""
        past = self.past
        gained = self.of(past.stays.until(moments))
        service = np.bincount(past.stays.part, gained, past.part.size).astype(
            np.float64
        )  # whole numbers if there are none
        if self.clock != "days":
            return service
        lain = (day_of(moments) - past.origins.held_from).astype(np.float64)
        return np.where(past.origins.ages_on_shelf, lain, service)

    def last_gain(self, parts: NDArray[np.intp]) -> Floats:
        """What the last sortie that moved the clock of each of these parts added to it; 0 if none did."""
        assert self.exposure is not None
        past = self.past
        stays = past.stays.until(past.ends.moment)
        stays = stays.take(np.isin(stays.part, parts))
        low, high = past.log.span(stays)
        stay = np.repeat(np.arange(low.size), high - low)
        row = np.arange(stay.size) - np.repeat(np.cumsum(high - low) - high, high - low)
        gain = self.exposure.of_sorties(stays.zone[stay], stays.position[stay], row)
        moved = np.flatnonzero(gain > 0)
        found = np.zeros(past.part.size)
        found[stays.part[stay[moved]]] = gain[moved]  # rows are in order of time: the last one stays
        return found[parts]


def life_table(past: History, clock: str, chosen: Selection = EVERY) -> LifeTable:
    """
    Make lives of the chosen parts on one clock.

    Parameters
    ----------
    past : History
    clock : str
        One of vocabulary.CLOCKS.
    chosen : Selection
        Which parts; exclusions and notes speak of these only.
    """
    use = _Use.on(past, clock)
    labels = labels_of(past)
    mine = chosen(labels)
    if chosen.fitted_since is not None:
        mine &= day_of(past.stays.start[first_rows(past.stays.part)]) >= chosen.fitted_since
    lives = _lives(use)
    unknown = past.origins.prior_unknown | ((clock == "days") & past.origins.ages_on_shelf & past.origins.held_unknown)
    reasons = _reasons(use, lives, unknown)
    kept = mine.copy()
    excluded = []
    tag = tags_of(past)
    for reason, rows in reasons:
        left_out = np.flatnonzero(kept & rows)
        kept[left_out] = False
        if left_out.size:
            excluded.append(Exclusion(reason, left_out.size, int(mine.sum()), tuple(tag[left_out[:EXAMPLES]])))
    everyone = Cohort(past.part, tag, lives, labels, past.ends.how, past.ends.cause, _event_ids(past))
    since_seen = Lives(np.zeros(past.part.size), lives.lower - lives.entry, lives.upper - lives.entry)
    seen = mine & unknown & (np.where(since_seen.failed, since_seen.upper, since_seen.lower) > 0)
    aside = Cohort(past.part, tag, since_seen, labels, past.ends.how, past.ends.cause, everyone.event)
    return LifeTable(clock, everyone.take(kept), aside.take(seen), tuple(excluded), _notes(use, mine))


def fleet_now(past: History, clock: str, labels: dict[str, Words] | None = None) -> FleetNow:
    """Return every part now fitted, with its use so far on a clock; `labels` are those of all parts, if known."""
    use = _Use.on(past, clock)
    rows = np.flatnonzero(past.open_stay)
    part = past.stays.part[rows]
    now = np.full(past.part.size, moment(past.today, LAST_SLOT))
    used, seen_from = use.at(now), use.at(past.watch.from_moment)
    on_days = clock == "days"
    blind = (past.origins.ages_on_shelf & past.origins.held_unknown) if on_days else past.origins.blind_use
    age = np.where(
        past.origins.prior_unknown | blind | (use.exposure is not None and not use.exposure.knowable), np.nan, used
    )
    return FleetNow(
        part=past.part[part],
        tag=tags_of(past)[part],
        ship_id=whole(past.rows.ship["id"])[past.stays.ship[rows]],
        position_id=whole(past.rows.position["id"])[past.stays.position[rows]],
        age=age[part],
        observed=(used - seen_from)[part],
        since=day_of(past.stays.start[rows]),
        last_tested=past.tested_on[part],
        labels={name: column[part] for name, column in (labels or labels_of(past)).items()},
    )


def history_rows(past: History) -> ExposureRows:
    """Return the exposure history of every part, on all clocks at once; parts by their place in `past.part`."""
    exposures = {clock: exposure(past.log, clock) for clock in CLOCKS[1:]}
    return exposure_rows(past.stays, exposures, past.watch)


def days_at(past: History, owner: Ints, moments: Ints) -> Floats:
    """
    Return the days on parts at moments.

    Parameters
    ----------
    past : History
    owner, moments : array of int, shape = (n,)
        Parts by their place in the history, in order; any number of moments of each.
    """
    use, found = _Use.on(past, "days"), np.empty(owner.size)
    rank = np.arange(owner.size) - np.searchsorted(owner, owner)
    for turn in range(int(rank.max(initial=-1)) + 1):  # as many as the most of one part: a handful
        rows = np.flatnonzero(rank == turn)
        asked = np.zeros(past.part.size, dtype=np.int64)
        asked[owner[rows]] = moments[rows]
        found[rows] = use.at(asked)[owner[rows]]
    return found


@dataclass(frozen=True)
class UseAtEnds:
    """
    Use of every part of a history on one clock, whether or not its age is known; arrays by part.

    Attributes
    ----------
    entry, alive, end : array
        When observation began, when it was last known to work, and when it was found failed or last seen; a failure
        takes at least a part of a day.
    """

    entry: Floats
    alive: Floats
    end: Floats


def use_at(past: History, clock: str, moments: Ints) -> Floats:
    """Use of every part of a history on one clock, each at a moment of its own."""
    return _Use.on(past, clock).at(moments)


def use_at_ends(past: History, clock: str) -> UseAtEnds | None:
    """Read a clock at the ends of every life; None if no sortie tells of it."""
    use = _Use.on(past, clock)
    return None if use.exposure is not None and not use.exposure.knowable else _at_ends(use)


def _at_ends(use: _Use) -> UseAtEnds:
    watch = use.past.watch
    entry, alive, end = (use.at(moments) for moments in (watch.from_moment, watch.alive_until, watch.end))
    alive = np.where(watch.failed, alive, end)
    if use.exposure is None:
        # A failure takes a part of a day, even on the day the part was fitted.
        end = np.where(watch.failed, np.maximum(end, entry + 1), end)
        alive = np.where(watch.failed, np.minimum(alive, end - 1), alive)
    return UseAtEnds(entry, np.maximum(alive, entry), end)


def _lives(use: _Use) -> Lives:
    """Entry and failure interval of every part, whether or not they can be used."""
    ends, failed = _at_ends(use), use.past.watch.failed
    low = ends.alive
    if use.exposure is not None:
        # Found after the clock had stood still: it can only have failed when the clock last moved.
        stood = np.flatnonzero(failed & (low >= ends.end))
        low[stood] = ends.end[stood] - use.last_gain(stood)
    return Lives(ends.entry, np.where(failed, np.maximum(low, ends.entry), low), np.where(failed, ends.end, np.inf))


def _reasons(use: _Use, lives: Lives, unknown: Bools) -> list[tuple[str, Bools]]:
    """Why lives are left out of age models, first reason first."""
    past, clock = use.past, use.clock
    idle = np.where(lives.failed, lives.upper, lives.lower) <= lives.entry
    gone = past.ends.moment <= past.watch.from_moment
    silent = idle & ~past.watch.heard & ~lives.failed
    reasons = [(UNKNOWN_USE, unknown), ("never tested, and nobody hears it fail", silent)]
    if past.since is not None:
        reasons.insert(0, ("ended before the day asked for", past.ends.moment <= moment(past.since, 0)))
    if use.exposure is None:
        return [
            *reasons,
            ("gone before the records of their ship begin", idle & past.origins.late & gone),
            ("fitted, or last shown to work, on the day observation began", idle),
        ]
    return [
        *reasons,
        ("fitted before the records of their ship begin: earlier use unknown", past.origins.blind_use),
        (f"no sortie has its {clock} recorded", np.full(idle.shape, not use.exposure.knowable)),
        (f"failed before the clock moved (no {clock} until then)", idle & lives.failed),
        (f"the clock has not moved yet (no {clock})", idle),
    ]


def _event_ids(past: History) -> Ints:
    ids = np.append(whole(past.rows.sortie["id"])[past.log.order], NONE)
    found: Ints = np.where(past.ends.found, ids[past.ends.sortie], NONE)
    return found


def _notes(use: _Use, mine: Bools) -> tuple[str, ...]:
    past, ends = use.past, use.past.ends
    first = past.stays.zone[np.searchsorted(past.stays.part, np.arange(past.part.size))]
    counted = (
        (past.served_on, "put back to work after failing: only the life up to the first failure counts"),
        (
            ends.found & (ends.how != "failed"),
            ENDED_OTHERWISE,
        ),
        (ends.found & (ends.failure == NONE), "pulled as failed or condemned without a record of the failure"),
        (retreated(past), "had their waterproofing changed: they count under the one they began with"),
        (first != past.stays.zone[ends.stay], "changed zone: they count in their last"),
        (past.fuzzy, "fitted or pulled on a day known only to the month or season: its middle counts"),
    )
    total = int(mine.sum())
    notes = [f"{n} of {total} parts {what}" for rows, what in counted if (n := int(np.sum(rows & mine)))]
    if use.exposure is not None and use.exposure.knowable and use.exposure.unknown:
        sailed = use.past.log.key.size
        notes.append(
            f"{use.exposure.unknown} of {sailed} sorties have no {use.clock} recorded: the fleet's mean counts"
        )
    if past.log.untied and use.clock in ("wet sorties", "immersions", "minutes under"):
        notes.append(f"{past.log.untied} openings follow no sortie and say nothing of the water")
    return tuple(notes)
