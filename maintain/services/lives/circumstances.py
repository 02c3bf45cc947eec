"""Under what circumstances lives were lived: what ended them, which they shared, how hard they were used."""

from __future__ import annotations

import numpy as np

from maintain.core.exposure import NONE, day_of
from maintain.core.lives import Floats
from maintain.services.lives.columns import Words, places
from maintain.services.lives.ends import DAMAGED, FAILED, SECONDARY
from maintain.services.lives.history import History
from maintain.services.lives.table import Cohort, use_at_ends
from maintain.vocabulary import BATTLE_DAMAGE

ANOTHER_PART, UNKNOWN = "another part's failure", "unknown"
DAYS_A_SEASON = 365.25

# Labels that often differ between groups and of themselves make parts last longer or shorter.
MAY_BE_UNFAIR = ("family", "zone", "water", "waterproofing")
RATES = {"immersions": "sinkings a season", "minutes afloat": "minutes afloat a season"}
AGE_AT_FIRST = "days old when first seen"


def causes_of(lived: Cohort) -> Words:
    """Return what ended each life; "" where nothing did. A ball and another part's failure are causes of their own."""
    cause = np.where((lived.ending == FAILED) & (lived.cause == ""), UNKNOWN, lived.cause)
    cause = np.where(lived.ending == DAMAGED, BATTLE_DAMAGE, cause)
    cause = np.where(lived.ending == SECONDARY, ANOTHER_PART, cause)
    ended: Words = np.where(np.isin(lived.ending, (FAILED, DAMAGED, SECONDARY)), cause, "")
    return ended


def sinkings_of(lived: Cohort) -> Words:
    """Return a word for the sortie at which each life ended; lives that ended otherwise share it with none."""
    own = np.array([f"part {part}" for part in lived.part.tolist()], dtype=object)
    return np.where(lived.event == NONE, own, lived.event.astype(str).astype(object))


def told_of(past: History, lived: Cohort) -> dict[str, Floats]:
    """Return how old each part was when first seen, and how much it was used in a season, where that is recorded."""
    rows = places(past.part, lived.part)
    days = use_at_ends(past, "days")
    assert days is not None  # the calendar is always known
    seasons = np.maximum(days.end - days.entry, 1.0)[rows] / DAYS_A_SEASON
    told = {AGE_AT_FIRST: days.entry[rows]}
    for clock, name in RATES.items():
        use = use_at_ends(past, clock)
        if use is not None:
            told[name] = (use.end - use.entry)[rows] / seasons
    return told


def sunk_of(past: History, lived: Cohort) -> Floats | None:
    """Return the sinkings each part was under in while it was watched; None if no sortie tells of them."""
    use = use_at_ends(past, "immersions")
    return None if use is None else (use.end - use.entry)[places(past.part, lived.part)]


def seasons_of(past: History, lived: Cohort) -> float | None:
    """Return the years from the day the first of these lives was watched to today; None if less than a season."""
    begun = day_of(past.watch.from_moment[places(past.part, lived.part)]).min(initial=past.today)
    seasons = float(past.today - begun) / DAYS_A_SEASON
    return seasons if seasons >= 1 else None
