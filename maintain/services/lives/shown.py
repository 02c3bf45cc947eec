"""When each part was last shown to work: by a sortie, by a test, or because somebody was at work on its ship."""

from __future__ import annotations

import numpy as np

from maintain.core.exposure import LAST_SLOT, NONE, Ints, day_of, moment
from maintain.core.lives import Bools
from maintain.services.lives.columns import NO_DAY, first_rows, last_up_to, words
from maintain.services.lives.evidence import seen_working
from maintain.services.lives.history import History
from maintain.vocabulary import UNDER_FROM

# How a failure is found by whoever is at work on a ship.
_AT_WORK = ("pre-battle check", "demand test", "opened", "bench")


def last_shown(past: History) -> Ints:
    """
    Return the moment at which each part was last shown to work, in the last place it was fitted.

    It worked when it was fitted, at its last test, and in the last sortie of its ship: at its end, as she came home and
    nobody found it failed; only at its beginning if she sank, as nobody saw what that did to it. It worked, too, on the
    last day somebody tested anything aboard her, or found something else dead at a check, an opening or the bench: with
    her power on it would have been noticed (common practice, no source). A hidden function shows nothing but at tests
    of its own.
    """
    last = np.append(first_rows(past.stays.part), past.stays.part.size)[1:] - 1
    stays = past.stays.take(last)
    low, high = past.log.span(stays)
    sailed = high > low
    row = high[sailed] - 1
    sank = past.log.sorties.wetness[row] >= UNDER_FROM["bilge"]
    shown = stays.start.copy()
    shown[sailed] = np.maximum(shown[sailed], past.log.moments[row] - sank)
    shown = np.maximum(shown, np.where(past.ends.found, shown, _looked_over(past, stays.ship, stays.end)))
    shown = np.where(past.watch.heard, shown, past.watch.end)
    tested = past.tested_on != NO_DAY
    shown[tested] = np.maximum(shown[tested], moment(past.tested_on[tested], 0))
    return np.maximum(shown, past.watch.from_moment)


def _looked_over(past: History, ship: Ints, until: Ints) -> Ints:
    """Morning of the last day up to a moment on which somebody was at work on each ship; NO_DAY's if nobody was."""
    seen = seen_working(past.rows, past.part, past.stays, past.today)
    found = past.ends.every
    told = found.failure != NONE
    at_work = told & np.isin(words(past.rows.failure["found_by"])[np.where(told, found.failure, 0)], _AT_WORK)
    owner = np.concatenate([seen.part, found.part[at_work]])
    day = np.concatenate([seen.day, day_of(found.moment[at_work])])
    stay = last_up_to(past.stays.part, past.stays.start, owner, moment(day, LAST_SLOT))
    there = _aboard(past, stay, day)
    ships, days = past.stays.ship[stay[there]], day[there]
    order = np.lexsort((days, ships))
    row = last_up_to(ships[order], moment(days[order], 0), ship, until)
    nobody = row == NONE
    latest = moment(days[order][np.where(nobody, 0, row)], 0) if days.size else np.zeros(ship.size, dtype=np.int64)
    return np.where(nobody, moment(NO_DAY, 0), latest)


def _aboard(past: History, stay: Ints, day: Ints) -> Bools:
    """Tell which were fitted on the day, by their last stay begun by then."""
    aboard: Bools = stay != NONE
    aboard[aboard] = past.stays.end[stay[aboard]] >= moment(day[aboard], 0)
    return aboard
