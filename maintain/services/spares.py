"""What the pool should hold, what to buy, and what to pack for a meet."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from maintain.results.outlook import Interval
from maintain.results.spares import Spares, SparesLine
from maintain.services.outlook import LEVEL
from maintain.services.spares_basis import Basis, Family, basis
from maintain.services.spares_policy import Aim, Aims, aim, what_money_buys
from maintain.services.spell import Until
from maintain.services.unit import Desk
from maintain.vocabulary import DEPENDENCE


@dataclass(frozen=True)
class Question:
    """
    What is asked.

    Attributes
    ----------
    until : Until
        Default: the end of the last battle planned.
    service : float
        Chance with which each holding should suffice.
    whole : bool
        True asks it of all holdings together.
    budget_cents : int, optional
        Spend no more than this.
    everything : bool
        True shows families that hardly run out as well.
    """

    until: Until = field(default_factory=Until)
    service: float = 0.95
    whole: bool = False
    budget_cents: int | None = None
    everything: bool = False


def spares(desk: Desk, question: Question) -> Spares:
    """What the pool should hold of every family until a day."""
    found = basis(desk, question.until)
    aims = aim(found, question.service, whole=question.whole, budget_cents=question.budget_cents)
    return Spares(everything=question.everything, **plan(found, question, aims))


def plan(found: Basis, question: Question, aims: Aims) -> dict[str, Any]:
    """What every plan says, by field."""
    lines = [spares_line(family, each, question.service) for family, each in zip(found.families, aims.of, strict=True)]
    meet = found.spell.meet is not None
    pairs = list(zip(found.families, aims.of, strict=True))
    asked = {family.name: each.needed if meet else family.have + each.buy for family, each in pairs}
    there = {family.name: there_in_time(found, family, each) for family, each in pairs}
    lines.sort(key=_most_pressing_first)
    on_hand = {each.name: each.supply.on_hand for each in found.families}
    return {
        "until": found.spell.last.until,
        "service": question.service,
        "whole": question.whole,
        "sorties": found.sorties,
        "level": LEVEL,
        "currency": found.currency,
        "together": found.together(there),
        "together_asked": None if there == asked else found.together(asked),
        "lines": tuple(lines),
        "uncovered": found.cover.uncovered(on_hand),
        "lumps": found.lumps,
        "frontier": what_money_buys(found),
        "budget": aims.budget,
        "silent": found.silent,
        "notes": found.notes,
    }


def there_in_time(found: Basis, family: Family, aimed: Aim) -> int:
    """Pieces there when they are wanted, if what is proposed is ordered today; in a crate no more than it asks for."""
    there = family.supply.in_time(aimed.buy)
    return min(there, aimed.needed) if found.spell.meet else there


def _most_pressing_first(line: SparesLine) -> tuple[Any, ...]:
    """What is to be bought; hidden and vital functions before others; then by the chance of running out."""
    critical = (not line.hidden, DEPENDENCE.index(line.dependence)) if line.buy else (False, 0)
    return (not line.buy, *critical, -line.running_out, line.family)


def spares_line(family: Family, aimed: Aim, service: float) -> SparesLine:
    """What a plan says of one family."""
    row, supply, demand = family.row, family.supply, family.called.demand_in_all
    line = family.until_delivery.holding_for(service) if family.until_delivery else None
    return SparesLine(
        family=family.name,
        category=row.category,
        dependence=family.serves.dependence,
        hidden=family.serves.hidden,
        hours_lost=family.serves.hours,
        ships=family.serves.ships,
        on_hand=supply.on_hand,
        stale=supply.stale,
        on_order=supply.on_order,
        lent=row.lent,
        installed=row.installed,
        demand=Interval(demand.mean, *demand.interval(LEVEL)),
        running_out=demand.shortage_chance(supply.on_hand),
        running_out_ordered=demand.shortage_chance(family.have),
        running_out_then=demand.shortage_chance(family.have + aimed.buy),
        needed=aimed.needed,
        buy=aimed.buy,
        unit_cost_cents=row.unit_cost_cents,
        cost_cents=None if row.unit_cost_cents is None else aimed.buy * row.unit_cost_cents,
        lead_time_days=row.lead_time_days,
        too_late=bool(aimed.buy and supply.too_late),
        reorder_line=line,
        order_now=line is not None and family.have < line,
        capped_by_shelf_life=aimed.capped,
        too_few=family.called.too_few,
        guess=family.called.guess,
        basis=family.called.basis,
    )
