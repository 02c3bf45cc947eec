"""What failures, renewals and losses cost, and who owes what in kind."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from maintain.results.base import Column, Listing, Result

FAILED, RENEWED = "failed", "renewed"
USED, GIVEN = "used", "given"
SHELF, MISSING, SHIP_LOST = "off the shelf", "missing", "ship lost"
LOSSES = (SHELF, MISSING, SHIP_LOST)
USES = (USED, GIVEN)


@dataclass(frozen=True)
class Cost:
    """
    What went one way.

    Attributes
    ----------
    how : str
        "failed" (replaced after failing), "renewed" (thrown away working), "used" (counted pieces that went into a
        ship), "given" (to a member), "off the shelf" (thrown away from the pool), "missing" (at a count), "ship lost".
    pieces : int
    cents : int
        Of those whose price is known.
    unpriced : int
        Pieces whose price nobody knows, not in `cents`.
    pool_cents : int
        How much of it was the pool's own; the rest was captains'.
    """

    how: str
    pieces: int
    cents: int
    unpriced: int
    pool_cents: int


@dataclass(frozen=True)
class CostLine:
    """
    What one family, ship, season or captain cost.

    Attributes
    ----------
    name : str
    costs : tuple of Cost
        By how it went; only what happened.
    """

    name: str
    costs: tuple[Cost, ...]

    @property
    def cents(self) -> int:
        """In all, as far as prices are known."""
        return sum(each.cents for each in self.costs)

    @property
    def unpriced(self) -> int:
        """Pieces of unknown price."""
        return sum(each.unpriced for each in self.costs)

    def of(self, *ways: str) -> Cost:
        """What went these ways together."""
        chosen = [each for each in self.costs if each.how in ways]
        return Cost(
            how=", ".join(ways),
            pieces=sum(each.pieces for each in chosen),
            cents=sum(each.cents for each in chosen),
            unpriced=sum(each.unpriced for each in chosen),
            pool_cents=sum(each.pool_cents for each in chosen),
        )


@dataclass(frozen=True)
class InKind:
    """
    What stands between a member and everybody else, of one family.

    Attributes
    ----------
    owes, is_owed : int
        Pieces.
    cents : int, optional
        What is owed to the member less what the member owes, at today's price; None: nobody knows it.
    """

    member: str
    family: str
    owes: int
    is_owed: int
    cents: int | None


@dataclass(frozen=True)
class PoolCosts(Result):
    """
    What failures, renewals and losses cost.

    Attributes
    ----------
    since, until : date
        First and last day that count; `since` is None where everything on record does.
    by : str
        What the lines are: "family", "ship", "season" or "captain".
    total : CostLine
    lines : tuple of CostLine
        The dearest first; seasons in their order.
    unpriced : mapping of str to int
        Pieces of unknown price by family.
    kept_failed, kept_working : int
        Parts taken out failed, or working, and not thrown away: repaired or kept for use, and not counted as spent.
    balances : tuple of InKind
        Everything now owed to or by members, by member and family.
    """

    since: date | None
    until: date
    by: str
    currency: str
    total: CostLine
    lines: tuple[CostLine, ...]
    unpriced: Mapping[str, int]
    kept_failed: int
    kept_working: int
    balances: tuple[InKind, ...]
    notes: tuple[str, ...]

    def listing(self) -> Listing:
        """The lines as a table."""
        columns = (
            Column("name", self.by.capitalize()),
            Column("failed", "Failed", numeric=True),
            Column("failed_cost", f"Cost ({self.currency})", numeric=True),
            Column("each", "Each", numeric=True, wide=True),
            Column("renewed", "Renewed", numeric=True, wide=True),
            Column("renewed_cost", "Cost", numeric=True, wide=True),
            Column("used", "Pieces used", numeric=True, wide=True),
            Column("used_cost", "Cost", numeric=True, wide=True),
            Column("lost", "Lost", numeric=True, wide=True),
            Column("lost_cost", "Cost", numeric=True, wide=True),
            Column("cost", "In all", numeric=True),
            Column("unpriced", "Price unknown", numeric=True),
        )
        return Listing("What it cost", columns, tuple(map(_row, self.lines)), footer=self.notes)


def _row(line: CostLine) -> Mapping[str, Any]:
    row: dict[str, Any] = {"name": line.name, "cost": amount(line.cents), "unpriced": line.unpriced}
    for key, ways in (("failed", (FAILED,)), ("renewed", (RENEWED,)), ("used", USES), ("lost", LOSSES)):
        found = line.of(*ways)
        row |= {key: found.pieces, f"{key}_cost": known(found)}
    failed = line.of(FAILED)
    priced = failed.pieces - failed.unpriced
    return row | {"each": amount(round(failed.cents / priced)) if priced else None}


def known(cost: Cost) -> str | None:
    """What it cost; None if nothing went that way, or no price is known of all that did."""
    return amount(cost.cents) if cost.pieces > cost.unpriced else None


def amount(cents: int) -> str:
    """An amount of money with its two decimals."""
    return f"{cents / 100:.2f}"
