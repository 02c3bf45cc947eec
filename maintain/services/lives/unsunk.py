"""The time parts served before their first sinking: what deaths after a sinking are to be compared with."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from maintain.core.at_risk import total_by
from maintain.core.exposure import Ints, day_of
from maintain.core.lives import Bools, Floats
from maintain.core.rate_ratio import Spent
from maintain.services.lives.columns import first_rows, places, whole
from maintain.services.lives.ends import FAILED
from maintain.services.lives.history import History
from maintain.services.lives.soakings import DIED, Soakings

YEAR = 365.25
OLDEST = 4  # years of life told apart; all beyond count as one


@dataclass(frozen=True)
class Likeness:
    """
    Which parts are compared with which: of one family, in the same year of their lives, by ship.

    Attributes
    ----------
    family, begun, ship : array of int, by part
        Its family, the day it was first fitted and the ship it then served on.
    prior_unknown : array of bool, by part
        True if nobody knows its age; such parts are compared among themselves.
    shape : tuple of int
        Ships and strata.
    """

    family: Ints
    begun: Ints
    ship: Ints
    prior_unknown: Bools
    shape: tuple[int, int]

    @classmethod
    def of(cls, past: History) -> Likeness:
        """Read it from the records."""
        rows, first = past.rows, first_rows(past.stays.part)
        own = whole(rows.part["family_id"])[places(whole(rows.part["id"]), past.part)]
        family = places(whole(rows.family["id"]), own)
        ships, families = len(rows.ship["id"]), len(rows.family["id"])
        return cls(
            family,
            day_of(past.stays.start[first]),
            past.stays.ship[first],
            past.origins.prior_unknown,
            (ships, families * (OLDEST + 2)),
        )

    def spent(self, part: Ints, ship: Ints, age: Floats, found: tuple[Bools, Floats]) -> Spent:
        """Add up deaths and days by ship, family and year of life."""
        year = np.clip(age // YEAR, 0, OLDEST).astype(np.int64)
        stratum = self.family[part] * (OLDEST + 2) + np.where(self.prior_unknown[part], OLDEST + 1, year)
        cell = ship * self.shape[1] + stratum
        ships, strata = self.shape
        deaths, days = (total_by(cell, each.astype(np.float64), ships * strata).reshape(self.shape) for each in found)
        return Spent(deaths, days)


def after_sinkings(like: Likeness, found: Soakings, since: float, until: float) -> Spent:
    """Deaths and days between so many days after each sinking and so many, until the next one."""
    died = (found.next == DIED) & (found.days > since) & (found.days <= until)
    days = np.clip(found.days, since, until) - since
    age = (found.day - like.begun[found.part]).astype(np.float64)
    return like.spent(found.part, found.ship, age, (died, days))


def before_any(like: Likeness, past: History, chosen: Bools, found: Soakings) -> Spent:
    """Deaths and days of the chosen parts (mask, by part) from when they were first watched to their first sinking."""
    end = day_of(past.ends.moment)
    sunk = np.bincount(found.part, minlength=end.size) > 0
    until = end.copy()
    first = first_rows(found.part)
    until[found.part[first]] = found.day[first]
    begun = np.minimum(day_of(past.watch.from_moment), until)
    parts = np.flatnonzero(chosen)
    spent = [np.zeros(like.shape), np.zeros(like.shape)]
    for year in range(OLDEST + 1):
        low = np.maximum(begun, like.begun + round(year * YEAR))[parts]
        high = until[parts] if year == OLDEST else np.minimum(until, like.begun + round((year + 1) * YEAR))[parts]
        here = high > low
        died = here & (past.ends.how == FAILED)[parts] & ~sunk[parts] & (high == until[parts])
        age = np.full(parts.size, (year + 0.5) * YEAR)
        part = like.spent(parts, like.ship[parts], age, (died, np.maximum(high - low, 0).astype(np.float64)))
        spent = [spent[0] + part.deaths, spent[1] + part.time]
    return Spent(*spent)
