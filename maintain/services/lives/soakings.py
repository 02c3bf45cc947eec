"""Every time a part was under, and what came next: its death, the next sinking, or neither so far."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from maintain.core.exposure import Ints, day_of, exposure
from maintain.core.lives import Bools, Floats
from maintain.services.lives.columns import Words
from maintain.services.lives.ends import FAILED
from maintain.services.lives.history import History

DIED, SUNK_AGAIN, NEITHER = "died", "sunk again", ""


@dataclass(frozen=True)
class Soakings:
    """
    Sinkings as parts lived them; arrays by soaking, in order of part and time.

    Attributes
    ----------
    part : array of int
        Place in the history.
    ship : array of int
        Place in the records.
    day : array of int
        Of the sinking.
    days : array
        From the sinking to what came next, or to the last day the part was seen to live. The sinking's own day counts
        as half a day.
    next : array of str
        DIED, SUNK_AGAIN or NEITHER.
    unknown : int
        Sorties of which nobody knows whether they sank; they count as none.
    """

    part: Ints
    ship: Ints
    day: Ints
    days: Floats
    next: Words
    unknown: int


def soakings_of(past: History, chosen: Bools) -> Soakings:
    """Return the soakings of the chosen parts (mask, by part), up to the end of each life."""
    under = exposure(past.log, "immersions")
    stays = past.stays.until(past.ends.moment)
    stays = stays.take(chosen[stays.part])
    low, high = past.log.span(stays)
    stay = np.repeat(np.arange(low.size), high - low)
    row = np.arange(stay.size) - np.repeat(np.cumsum(high - low) - high, high - low)
    sank = under.of_sorties(stays.zone[stay], stays.position[stay], row) >= 1  # an unknown one has the mean, below 1
    part, ship = stays.part[stay[sank]], stays.ship[stay[sank]]
    day = past.log.sorties.day[row[sank]]
    again = np.append(part[1:] == part[:-1], False)
    until = np.where(again, np.append(day[1:], 0), day_of(past.ends.moment)[part])
    died = ~again & (past.ends.how == FAILED)[part]
    return Soakings(
        part=part,
        ship=ship,
        day=day,
        days=(until - day).astype(np.float64) + 0.5,
        next=np.where(again, SUNK_AGAIN, np.where(died, DIED, NEITHER)).astype(object),
        unknown=under.unknown,
    )
