"""When each part was last shown to work: by a sortie, a test of it or of what needs it, or as she was gone over."""

from __future__ import annotations

import numpy as np

from maintain.core.exposure import LAST_SLOT, NONE, Ints, Stays, day_of, moment
from maintain.services.lives.columns import NO_DAY, first_rows, last_up_to, places, whole, words
from maintain.services.lives.evidence import Seen, fitted_in, seen_working
from maintain.services.lives.history import History
from maintain.services.lives.needs import Aboard
from maintain.vocabulary import UNDER_FROM

# How a failure is found by whoever goes over a ship: what else were dead aboard, he would have found as well.
_GONE_OVER = ("pre-battle check", "opened", "bench")
_SYSTEMS_TRIED = 3  # whoever tries parts of so many systems in one day goes over her (common practice, no source)


def last_shown(past: History) -> Ints:
    """
    Return the moment at which each part was last shown to work, in the last place it was fitted.

    It worked when it was fitted, at its last test, and in the last sortie of its ship: at its end, as she came home and
    nobody found it failed; only at its beginning if she sank, as nobody saw what that did to it. It worked, too, on the
    last day on which something passed a test that needs it (`needs`): a rudder that sweeps shows the receiver and its
    pack, and no pump. So it did on the last day on which somebody went over its ship: parts of three of her systems
    passed tests, or something else was found dead before a battle, on the bench or with her open. A hidden function
    shows nothing but at tests of its own.
    """
    last = np.append(first_rows(past.stays.part), past.stays.part.size)[1:] - 1
    stays = past.stays.take(last)
    low, high = past.log.span(stays)
    sailed = high > low
    row = high[sailed] - 1
    sank = past.log.sorties.wetness[row] >= UNDER_FROM["bilge"]
    shown = stays.start.copy()
    shown[sailed] = np.maximum(shown[sailed], past.log.moments[row] - sank)
    seen = seen_working(past.rows, past.part, past.stays, past.today)
    looked_at = np.maximum(_needed(past, seen, stays.end), _gone_over(past, seen, stays))
    shown = np.maximum(shown, np.where(past.ends.found, shown, looked_at))
    shown = np.where(past.watch.heard, shown, past.watch.end)
    tested = past.tested_on != NO_DAY
    shown[tested] = np.maximum(shown[tested], moment(past.tested_on[tested], 0))
    return np.maximum(shown, past.watch.from_moment)


def _needed(past: History, seen: Seen, until: Ints) -> Ints:
    """Morning of the last day up to a moment on which what needs each part worked; NO_DAY's if nothing did."""
    stay = _stay_on(past, seen.part, seen.day)
    there = stay != NONE
    needs = _positions(past).needs()
    tested = past.stays.position[stay[there]].tolist()
    each = np.array([len(needs[place]) for place in tested], dtype=np.int64)
    position = np.array([place for tested_place in tested for place in needs[tested_place]], dtype=np.int64)
    day = np.repeat(seen.day[there], each)
    shown = Seen.of(fitted_in(past.stays, position, day), day, past.today)
    return _latest(shown.part, shown.day, np.arange(until.size), until)


def _gone_over(past: History, seen: Seen, stays: Stays) -> Ints:
    """The same of each stay's last day on which somebody went over the ship; NO_DAY's if nobody did."""
    dead, tried = _found_dead(past), _much_tried(past, seen)
    ship, day = (np.concatenate(each) for each in zip(dead, tried, strict=True))
    order = np.lexsort((day, ship))
    return _latest(ship[order], day[order], stays.ship, stays.end)


def _found_dead(past: History) -> tuple[Ints, Ints]:
    """Ships and days on which whoever went over them found something dead."""
    found = past.ends.every
    recorded = found.failure != NONE
    how = words(past.rows.failure["found_by"])[np.where(recorded, found.failure, 0)] if recorded.any() else ""
    by_hand = recorded & np.isin(how, _GONE_OVER)
    day = day_of(found.moment[by_hand])
    stay = _stay_on(past, found.part[by_hand], day)
    return past.stays.ship[stay[stay != NONE]], day[stay != NONE]


def _much_tried(past: History, seen: Seen) -> tuple[Ints, Ints]:
    """Ships and days on which parts of many of their systems passed tests."""
    stay = _stay_on(past, seen.part, seen.day)
    there = stay != NONE
    _, system = np.unique(words(past.rows.position["system"]), return_inverse=True)
    tried = np.column_stack(
        [past.stays.ship[stay[there]], seen.day[there], system[past.stays.position[stay[there]]]]
    ).astype(np.int64)
    days, systems = np.unique(np.unique(tried, axis=0)[:, :2], axis=0, return_counts=True)
    many = days[systems >= _SYSTEMS_TRIED]
    return many[:, 0], many[:, 1]


def _stay_on(past: History, part: Ints, day: Ints) -> Ints:
    """Row of the stay of each part on a day; NONE where it was not fitted."""
    stay = last_up_to(past.stays.part, past.stays.start, part, moment(day, LAST_SLOT))
    there = stay != NONE
    there[there] = past.stays.end[stay[there]] >= moment(day[there], 0)
    return np.where(there, stay, NONE)


def _latest(owner: Ints, day: Ints, asked: Ints, until: Ints) -> Ints:
    """Morning of each owner's last day up to a moment; NO_DAY's where it has none. Sorted by owner, then day."""
    row = last_up_to(owner, moment(day, 0), asked, until)
    nothing = row == NONE
    latest = moment(day[np.where(nothing, 0, row)], 0) if day.size else np.zeros_like(until)
    return np.where(nothing, moment(NO_DAY, 0), latest)


def _positions(past: History) -> Aboard:
    """Positions with the category of the last part in each; of several parts at once nothing is told apart."""
    rows = past.rows
    ids = whole(rows.position["id"])
    family = places(whole(rows.family["id"]), whole(rows.part["family_id"]))[places(whole(rows.part["id"]), past.part)]
    category = np.full(ids.size, "", dtype=object)
    order = np.argsort(past.stays.start, kind="stable")
    category[past.stays.position[order]] = words(rows.family["category"])[family[past.stays.part[order]]]
    return Aboard(
        ship=places(whole(rows.ship["id"]), whole(rows.position["ship_id"])),
        powered_by=places(ids, whole(rows.position["powered_by_id"])),
        system=words(rows.position["system"]),
        category=category,
    )
