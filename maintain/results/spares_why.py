"""The whole reasoning about the spares of one family."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from maintain.results.base import Column, Listing, Pictured
from maintain.results.spares import Lumps, SparesLine, in_whole


@dataclass(frozen=True)
class Holding:
    """
    What a holding of a family would mean.

    Attributes
    ----------
    running_out : float
        Chance that more are called for.
    short : float
        Calls expected to find the shelf empty.
    supplied : float
        Share of the calls expected to be supplied.
    cost_cents : int, optional
        Of what is not there yet.
    """

    pieces: int
    running_out: float
    short: float
    supplied: float
    cost_cents: int | None


@dataclass(frozen=True)
class SparesWhy(Pictured):
    """
    The whole reasoning about one family.

    Attributes
    ----------
    line : SparesLine
    chances : tuple of float
        Of 0, 1, 2 ... calls within the horizon.
    holdings : tuple of Holding
    worth_holding : int, optional
        At which one missing and one left over cost the same; None if the unit cost is unknown.
    short_cents, over_cents : int, optional
        What one missing and one left over cost.
    worth_shelving : int, optional
        Most that is rather used than stale; None if nobody said how long it may lie.
    own_line : int, optional
        The reorder line that the club set itself.
    review_days : int
        Days between two looks at the shelf.
    positions : tuple of str
        That it fits.
    stands_in : tuple of str
        Other families that fit all these positions as well.
    """

    family: str
    until: date
    service: float
    level: float
    currency: str
    sorties: int
    line: SparesLine
    chances: tuple[float, ...]
    holdings: tuple[Holding, ...]
    worth_holding: int | None
    short_cents: int
    over_cents: int | None
    worth_shelving: int | None
    own_line: int | None
    review_days: int
    positions: tuple[str, ...]
    stands_in: tuple[str, ...]
    lumps: Lumps | None
    notes: tuple[str, ...]

    def listing(self) -> Listing:
        """The holdings as a table."""
        columns = (
            Column("pieces", "Holding", numeric=True),
            Column("running_out", "Chance of running out", numeric=True),
            Column("short", "Calls unmet", numeric=True),
            Column("supplied", "Share supplied", numeric=True),
            Column("cost", f"Cost ({self.currency})", numeric=True),
        )
        rows = [
            {each: getattr(line, each) for each in ("pieces", "running_out", "short", "supplied")}
            | {"cost": in_whole(line.cost_cents)}
            for line in self.holdings
        ]
        return Listing(f"Holdings of {self.family}", columns, tuple(rows), footer=self.notes)
