"""What the pool should hold, what to buy, and what that comes to."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from maintain.results.base import Column, Listing, Pictured
from maintain.results.outlook import Interval


@dataclass(frozen=True)
class SparesLine:
    """
    What the pool should hold of one family.

    Attributes
    ----------
    dependence : str
        How much the ship that depends on it most does: "vital", "degrades" or "nuisance".
    hidden : bool
        True if it makes no noise when it fails.
    hours_lost : float
        Of battle, for each piece missing.
    ships : tuple of str
        That it fits.
    on_hand, stale, on_order, lent : int
        Good ones in the pool now; in the pool past their limit and not tested since, which are not counted on; ordered
        and not yet received; out of the pool and to come back.
    installed : int
        Parts of it now fitted that could call for one.
    demand : Interval
        Parts called for by the end of the horizon.
    running_out : float
        Chance that more are called for than the pool holds now.
    running_out_ordered : float
        The same once what is on order has come.
    running_out_then : float
        The same once what is to be bought has come as well.
    needed : int
        Holding aimed at.
    buy : int
        To reach it, counting what is on order.
    cost_cents : int, optional
        Of buying them; None if the unit cost is unknown.
    too_late : bool
        True if what is ordered today comes after the horizon, or after a meet has begun.
    reorder_line : int, optional
        With fewer than this many held and on order, an order is due; None if the lead time is unknown.
    order_now : bool
        True if there are fewer.
    capped_by_shelf_life : bool
        True if more would be needed, and would rather go stale than be used.
    too_few : bool
        True if the estimate rests on what was believed beforehand more than on what was seen.
    guess : bool
        True if nothing at all was seen of its kind.
    basis : str
        What the estimate rests on, with n and failures.
    """

    family: str
    category: str
    dependence: str
    hidden: bool
    hours_lost: float
    ships: tuple[str, ...]
    on_hand: int
    stale: int
    on_order: int
    lent: int
    installed: int
    demand: Interval
    running_out: float
    running_out_ordered: float
    running_out_then: float
    needed: int
    buy: int
    unit_cost_cents: int | None
    cost_cents: int | None
    lead_time_days: int | None
    too_late: bool
    reorder_line: int | None
    order_now: bool
    capped_by_shelf_life: bool
    too_few: bool
    guess: bool
    basis: str


@dataclass(frozen=True)
class Together:
    """
    Chance that no family runs out.

    Attributes
    ----------
    value : float
    lower, upper : float, optional
        Limits of what is not known of that chance, luck with sinkings averaged; None for fleets too large to tell soon.
    """

    value: float
    lower: float | None
    upper: float | None


@dataclass(frozen=True)
class Uncovered:
    """Positions for which nothing is held: what would fit, and how much the ships depend on them."""

    families: tuple[str, ...]
    positions: tuple[str, ...]
    ships: tuple[str, ...]
    dependence: str
    hidden: bool


@dataclass(frozen=True)
class Lumps:
    """
    How lumpy demand is: the variance of the parts called for, over their mean; 1 is chance alone.

    Attributes
    ----------
    battles, calls : int
        Past battles with sorties on record, and the parts they called for.
    past : Interval, optional
        In those battles, beyond what their sorties explain; None if too little was recorded.
    forecast : float
        Of what is forecast, all families together.
    """

    battles: int
    calls: int
    past: Interval | None
    forecast: float


@dataclass(frozen=True)
class FrontierPoint:
    """What is bought next, what has been spent by then, and the hours of battle then still lost to want of spares."""

    family: str
    pieces: int
    spent_cents: int
    hours_lost: float


@dataclass(frozen=True)
class Budget:
    """
    The best use of a budget.

    Attributes
    ----------
    cents, spent_cents : int
    hours_before, hours_after : float
        Of battle expected to be lost to want of spares.
    at_most_better : float
        No other purchase within the budget saves more hours beyond ours.
    unpriced : tuple of str
        Families left out as nobody knows what they cost.
    """

    cents: int
    spent_cents: int
    hours_before: float
    hours_after: float
    at_most_better: float
    unpriced: tuple[str, ...]


@dataclass(frozen=True)
class Plan(Pictured):
    """
    What both plans share.

    Attributes
    ----------
    until : date
    service : float
        Chance aimed at.
    whole : bool
        True if it is aimed at for all families together: that nobody goes home for want of a spare.
    sorties : int
        Planned for each ship within the horizon.
    level : float
        Of the intervals.
    together : Together, optional
        With what is there when it is wanted, if what is proposed is ordered today; None if nothing can be forecast.
    together_asked : Together, optional
        With all that is proposed, where some of it comes too late.
    lines : tuple of SparesLine
    uncovered : tuple of Uncovered
    lumps : Lumps, optional
    frontier : tuple of FrontierPoint
        What each further coin would buy, the best first.
    budget : Budget, optional
    silent : tuple of str
        Families with nothing to go by.
    """

    until: date
    service: float
    whole: bool
    sorties: int
    level: float
    currency: str
    together: Together | None
    together_asked: Together | None
    lines: tuple[SparesLine, ...]
    uncovered: tuple[Uncovered, ...]
    lumps: Lumps | None
    frontier: tuple[FrontierPoint, ...]
    budget: Budget | None
    silent: tuple[str, ...]
    notes: tuple[str, ...]


@dataclass(frozen=True)
class Spares(Plan):
    """
    What the pool should hold until a day.

    Attributes
    ----------
    everything : bool
        True if families that hardly run out are to be shown as well.
    """

    everything: bool

    def listing(self) -> Listing:
        """The lines as a table."""
        columns = (
            Column("family", "Family"),
            Column("on_hand", "On hand", numeric=True),
            Column("stale", "Stale", numeric=True),
            Column("on_order", "On order", numeric=True),
            Column("lent", "Lent", numeric=True),
            Column("installed", "Installed", numeric=True),
            Column("demand", "Expected demand", numeric=True),
            Column("lower", "Lower", numeric=True),
            Column("upper", "Upper", numeric=True),
            Column("running_out", "Chance of running out", numeric=True),
            Column("running_out_ordered", "With what is on order", numeric=True),
            Column("running_out_then", "With what is proposed", numeric=True),
            Column("needed", "Needed", numeric=True),
            Column("buy", "Buy", numeric=True),
            Column("cost", f"Cost ({self.currency})", numeric=True),
            Column("lead_time_days", "Lead time (days)", numeric=True),
            Column("reorder_line", "Reorder line", numeric=True),
            Column("dependence", "Dependence"),
            Column("ships", "Ships"),
            Column("basis", "Evidence"),
        )
        return Listing("Spares", columns, tuple(map(_row, self.lines)), footer=self.notes)


_PLAIN = (
    "family", "on_hand", "stale", "on_order", "lent", "installed", "running_out", "running_out_ordered",
    "running_out_then", "needed", "buy", "lead_time_days", "reorder_line", "dependence", "basis",
)  # fmt: skip


def _row(line: SparesLine) -> Mapping[str, Any]:
    row = {each: getattr(line, each) for each in _PLAIN}
    row |= {"demand": line.demand.value, "lower": line.demand.lower, "upper": line.demand.upper}
    return row | {"cost": in_whole(line.cost_cents), "ships": ", ".join(line.ships)}


def in_whole(cents: int | None) -> float | None:
    """An amount in the currency's own unit."""
    return None if cents is None else cents / 100
