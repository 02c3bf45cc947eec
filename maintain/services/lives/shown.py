"""When each part was last shown to work: by a sortie, by a test of its own, or by one of what needs it."""

from __future__ import annotations

import numpy as np

from maintain.core.exposure import LAST_SLOT, NONE, Ints, moment
from maintain.services.lives.columns import NO_DAY, first_rows, last_up_to, places, whole, words
from maintain.services.lives.evidence import Seen, fitted_in, seen_working
from maintain.services.lives.history import History
from maintain.services.lives.needs import Aboard
from maintain.vocabulary import UNDER_FROM


def last_shown(past: History) -> Ints:
    """
    Return the moment at which each part was last shown to work, in the last place it was fitted.

    It worked when it was fitted, at its last test, and in the last sortie of its ship: at its end, as she came home and
    nobody found it failed; only at its beginning if she sank, as nobody saw what that did to it. It worked, too, on the
    last day on which something passed a test that needs it (`needs`): a rudder that sweeps shows the receiver and its
    pack, and no pump. A hidden function shows nothing but at tests of its own.
    """
    last = np.append(first_rows(past.stays.part), past.stays.part.size)[1:] - 1
    stays = past.stays.take(last)
    low, high = past.log.span(stays)
    sailed = high > low
    row = high[sailed] - 1
    sank = past.log.sorties.wetness[row] >= UNDER_FROM["bilge"]
    shown = stays.start.copy()
    shown[sailed] = np.maximum(shown[sailed], past.log.moments[row] - sank)
    shown = np.maximum(shown, np.where(past.ends.found, shown, _needed(past, stays.end)))
    shown = np.where(past.watch.heard, shown, past.watch.end)
    tested = past.tested_on != NO_DAY
    shown[tested] = np.maximum(shown[tested], moment(past.tested_on[tested], 0))
    return np.maximum(shown, past.watch.from_moment)


def _needed(past: History, until: Ints) -> Ints:
    """Morning of the last day up to a moment on which what needs each part worked; NO_DAY's if nothing did."""
    seen = seen_working(past.rows, past.part, past.stays, past.today)
    stay = last_up_to(past.stays.part, past.stays.start, seen.part, moment(seen.day, LAST_SLOT))
    there = stay != NONE
    there[there] = past.stays.end[stay[there]] >= moment(seen.day[there], 0)
    needs = _aboard(past).needs()
    tested = past.stays.position[stay[there]].tolist()
    each = np.array([len(needs[place]) for place in tested], dtype=np.int64)
    position = np.array([place for tested_place in tested for place in needs[tested_place]], dtype=np.int64)
    day = np.repeat(seen.day[there], each)
    shown = Seen.of(fitted_in(past.stays, position, day), day, past.today)
    row = last_up_to(shown.part, moment(shown.day, 0), np.arange(until.size), until)
    nothing = row == NONE
    latest = moment(shown.day[np.where(nothing, 0, row)], 0) if shown.day.size else np.zeros_like(until)
    return np.where(nothing, moment(NO_DAY, 0), latest)


def _aboard(past: History) -> Aboard:
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
