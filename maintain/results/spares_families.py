"""What sharing would save: families that could stand in for each other, and one shelf for many ships."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from maintain.results.base import Column, Listing, Result
from maintain.results.outlook import Interval


@dataclass(frozen=True)
class StandIn:
    """
    Families of one category on one shelf, if one of them can do for all.

    Attributes
    ----------
    families : tuple of str
    systems : tuple of str
        That their parts serve.
    alike : bool
        True if some system is served by all of them: else that one does for another is far-fetched.
    positions, shared_positions : int
        That any of them fits, and that the records say all of them fit.
    apart : tuple of int
        Held of each, so that each suffices.
    together : int
        Held of the one, so that it suffices for all.
    saved : int
        Pieces fewer.
    chance_apart, chance_together : float
        That nobody goes without.
    safety_share : float
        Spread of the whole demand over the sum of the spreads; the square-root law makes it 0.71 for two alike.
    saved_cents : mapping of str to int
        Money saved in holdings, by the family that becomes the standard; empty where a price is unknown.
    """

    category: str
    families: tuple[str, ...]
    systems: tuple[str, ...]
    alike: bool
    positions: int
    shared_positions: int
    apart: tuple[int, ...]
    together: int
    saved: int
    chance_apart: float
    chance_together: float
    safety_share: float
    saved_cents: Mapping[str, int]


@dataclass(frozen=True)
class Candidate:
    """
    A family that could become the standard of its category.

    Attributes
    ----------
    ships, installed : int
        Where it is fitted now, in this system and zone.
    parts, failures, sorties : int
        Seen there: parts, failures of their own, and sorties sailed by the parts.
    rate : Interval, optional
        Failures in 100 sorties of a part; None if no part of the category was seen to sail.
    unit_cost_cents : int, optional
    running_cents : Interval, optional
        Of new parts and of the hours of battle lost, for 100 sorties; None if the rate or the price is unknown.
    chance_cheapest : float, optional
        That it runs at less than the others with a price.
    lead_time_days : int, optional
    """

    family: str
    ships: int
    installed: int
    parts: int
    failures: int
    sorties: int
    rate: Interval | None
    unit_cost_cents: int | None
    running_cents: Interval | None
    chance_cheapest: float | None
    lead_time_days: int | None


@dataclass(frozen=True)
class Standard:
    """
    Which family to standardise on, of those of a category that serve in like places.

    Attributes
    ----------
    category, system, zone : str
    family : str, optional
        The cheapest to run, if that is known well enough; None: can't tell yet.
    why_not : str, optional
        What stands in the way of telling.
    candidates : tuple of Candidate
        The cheapest to run first.
    """

    category: str
    system: str
    zone: str
    family: str | None
    why_not: str | None
    candidates: tuple[Candidate, ...]


@dataclass(frozen=True)
class Shared:
    """
    A family on one shelf for all ships, against a holding on each.

    Attributes
    ----------
    ships, installed : int
    demand : float
        Expected to be called for.
    private, pooled : int
        Held on all ships together, each for herself, and in the pool, so that with the same chance nobody goes without.
    saved : int
    saved_cents : int, optional
    """

    family: str
    ships: int
    installed: int
    demand: float
    private: int
    pooled: int
    saved: int
    saved_cents: int | None


@dataclass(frozen=True)
class SparesFamilies(Result):
    """
    What sharing would save.

    Attributes
    ----------
    until : date
    service, level : float
        Chance each holding should suffice with; of the intervals.
    groups : tuple of StandIn
        Pairs, and all of a category together; those that serve alike first, then those that save most.
    standards : tuple of Standard
    shared : tuple of Shared
        What saves most money on one shelf first.
    """

    until: date
    sorties: int
    service: float
    level: float
    currency: str
    groups: tuple[StandIn, ...]
    standards: tuple[Standard, ...]
    shared: tuple[Shared, ...]
    notes: tuple[str, ...]

    def listing(self) -> Listing:
        """The groups as a table."""
        columns = (
            Column("families", "Families"),
            Column("category", "Category"),
            Column("apart", "Held apart", numeric=True),
            Column("together", "Held together", numeric=True),
            Column("saved", "Pieces saved", numeric=True),
            Column("least", f"Least saved ({self.currency})", numeric=True),
            Column("most", f"Most saved ({self.currency})", numeric=True),
            Column("safety_share", "Spread shrinks to", numeric=True),
            Column("shared_positions", "Fit already", numeric=True),
            Column("positions", "Positions", numeric=True),
        )
        return Listing("What sharing would save", columns, tuple(map(_row, self.groups)), footer=self.notes)


def _row(group: StandIn) -> Mapping[str, Any]:
    names = ("category", "together", "saved", "safety_share", "shared_positions", "positions")
    saved = [each / 100 for each in group.saved_cents.values()]
    return {each: getattr(group, each) for each in names} | {
        "families": ", ".join(group.families),
        "apart": sum(group.apart),
        "least": min(saved, default=None),
        "most": max(saved, default=None),
    }
