"""What the pool should hold: demand of each family by a day, the chance of running out, what to buy."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Any

from maintain.core.spares import demand_from_counts
from maintain.errors import InvalidRecord, NotEnoughData
from maintain.records import holdings
from maintain.results.outlook import Interval, Spares, SparesLine
from maintain.services.demand import Called, counted_demand, tagged_demand
from maintain.services.horizon import Horizon, until_day
from maintain.services.outlook import LEVEL, outlook
from maintain.services.unit import Desk, reading


@dataclass(frozen=True)
class Question:
    """
    What is asked.

    Attributes
    ----------
    until : date, optional
        Default: the end of the last battle planned.
    service : float
        Chance with which each holding should suffice.
    everything : bool
        True shows families that hardly run out as well.
    """

    until: date | None = None
    service: float = 0.95
    everything: bool = False


def spares(desk: Desk, question: Question) -> Spares:
    """What the pool should hold of every family until a day."""
    if not 0 < question.service < 1:
        raise InvalidRecord(
            f"--service {question.service:g} is no chance", hint="write one between 0 and 1, for example 0.95"
        )
    with reading(desk) as connection:
        horizon = until_day(connection, desk.today, question.until)
        stock = holdings.by_family(connection, desk.today)
        issues, since = holdings.issues(connection, desk.today), holdings.stocked_since(connection)
        called = counted_demand(issues, since, horizon)
        currency = holdings.currency(connection)
        notes: tuple[str, ...]
        try:
            look = outlook(connection, horizon)
        except NotEnoughData as error:
            notes = (error.message,)
        else:
            called |= tagged_demand(look, horizon)
            notes = look.notes
    lines = [_line(row, called[row.name], question.service, horizon) for row in stock if row.name in called]
    lines.sort(key=lambda line: (-line.buy, -line.running_out, line.family))
    return Spares(
        until=horizon.until,
        service=question.service,
        everything=question.everything,
        sorties=horizon.sorties,
        level=LEVEL,
        currency=currency,
        lines=tuple(lines),
        silent=tuple(row.name for row in stock if row.name not in called),
        notes=(*horizon.notes, *notes),
    )


def _line(row: Any, called: Called, service: float, horizon: Horizon) -> SparesLine:
    demand = demand_from_counts(called.counts)
    low, high = demand.interval(LEVEL)
    needed = demand.holding_for(service)
    buy = max(0, needed - row.on_hand - row.on_order)
    return SparesLine(
        family=row.name,
        category=row.category,
        on_hand=row.on_hand,
        on_order=row.on_order,
        installed=row.installed,
        demand=Interval(demand.mean, low, high),
        running_out=demand.shortage_chance(row.on_hand),
        needed=needed,
        buy=buy,
        unit_cost_cents=row.unit_cost_cents,
        cost_cents=None if row.unit_cost_cents is None else buy * row.unit_cost_cents,
        lead_time_days=row.lead_time_days,
        too_late=bool(buy and row.lead_time_days is not None and row.lead_time_days > horizon.days),
        too_few=called.too_few,
        basis=called.basis,
    )
