"""What to aim at and what to buy: family by family, for all together, or as far as the money goes."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import islice

import numpy as np

from maintain.core.stock.demand import require_service
from maintain.core.stock.joint import hold_together
from maintain.core.stock.marginal import Item, best_use, frontier
from maintain.errors import InvalidRecord
from maintain.results.spares import Budget, FrontierPoint
from maintain.services.spares_basis import Basis, Family

_NEARLY_SURE = 0.999
_STEPS_SHOWN = 100
_ONE_CENT = 1  # what is given away is not priceless
_NOTHING = 1e-6  # shortages not worth a thought


@dataclass(frozen=True)
class Aim:
    """
    What is aimed at for one family.

    Attributes
    ----------
    needed : int
        To hold, or to pack for a meet.
    buy : int
        On top of what is held and on order.
    capped : bool
        True if more would be needed and would go stale.
    """

    needed: int
    buy: int
    capped: bool = False


@dataclass(frozen=True)
class Aims:
    """Of every family by its place, and what the budget came to."""

    of: tuple[Aim, ...]
    budget: Budget | None = None


def aim(basis: Basis, service: float, *, whole: bool, budget_cents: int | None) -> Aims:
    """
    Decide what to hold.

    Parameters
    ----------
    basis : Basis
    service : float
        Chance aimed at: of each family, or with `whole` of all together.
    whole : bool
    budget_cents : int, optional
        Spend no more than this, on what saves most hours of battle; the service level then only says what to pack.

    Raises
    ------
    InvalidRecord
        If the service level lies outside 0 and 1, or there is no money to spend.
    """
    require_service(service)
    if budget_cents is not None:
        if whole:
            raise InvalidRecord("--budget and --whole ask for different plans", hint="give one of them")
        if budget_cents == 0:
            raise InvalidRecord("a budget of 0 buys nothing", hint="leave --budget out to see what would be needed")
        return _within(basis, service, budget_cents)
    return Aims(_together(basis, service) if whole else tuple(_each(basis, each, service) for each in basis.families))


def _each(basis: Basis, family: Family, service: float) -> Aim:
    needed = family.called.demand.holding_for(service)
    if basis.spell.meet:
        return Aim(needed, _missing(family, service))
    cap = family.worth_shelving
    held = needed if cap is None else min(needed, max(cap, family.have))
    return Aim(held, max(0, held - family.have), capped=held < needed)


def _missing(family: Family, service: float) -> int:
    """Pieces to buy so that those called for by the end of the meet, before it and at it, are there."""
    return max(0, family.called.demand_in_all.holding_for(min(service, _NEARLY_SURE)) - family.have)


def _together(basis: Basis, service: float) -> tuple[Aim, ...]:
    if not basis.families:
        return ()
    meet = basis.spell.meet is not None
    held = [_left_for_the_last_stage(each, service) for each in basis.families]
    found = hold_together(basis.counts, held, _prices(basis.families), service)
    aims = []
    for family, holding in zip(basis.families, found.holdings, strict=True):
        demand = family.called.demand
        needed = min(holding, demand.chances.size - 1)  # more was never called for in any draw
        short = 1 - demand.shortage_chance(needed)
        aims.append(Aim(needed, _missing(family, short) if meet else max(0, needed - family.have)))
    return tuple(aims)


def _left_for_the_last_stage(family: Family, service: float) -> int:
    before = family.called.counts[:-1].sum(axis=0)
    return max(0, family.have - int(np.quantile(before, service, method="inverted_cdf")))


def _prices(families: Sequence[Family]) -> list[float]:
    """Cents for a piece; where nobody knows, the mean of the others."""
    known = [each.row.unit_cost_cents for each in families if each.row.unit_cost_cents is not None]
    usual = sum(known) / len(known) if known else 1.0
    return [
        float(max(_ONE_CENT, usual if each.row.unit_cost_cents is None else each.row.unit_cost_cents))
        for each in families
    ]


def _within(basis: Basis, service: float, cents: int) -> Aims:
    priced = [n for n, each in enumerate(basis.families) if each.row.unit_cost_cents is not None]
    found = best_use([_item(basis.families[n]) for n in priced], float(cents))
    bought = dict(zip(priced, found.pieces, strict=True))
    aims = []
    for place, family in enumerate(basis.families):
        buy = bought.get(place, 0)
        needed = family.have + buy
        if basis.spell.meet:
            needed = min(needed, max(family.called.demand.holding_for(service), buy))
        aims.append(Aim(needed, buy))
    unpriced = tuple(each.name for each in basis.families if each.row.unit_cost_cents is None)
    left_out = sum(float(_losses(each)[0]) for each in basis.families if each.row.unit_cost_cents is None)
    budget = Budget(
        cents=cents,
        spent_cents=round(found.spent),
        hours_before=left_out + sum(float(_losses(basis.families[n])[0]) for n in priced),
        hours_after=left_out + found.loss,
        at_most_better=max(0.0, found.loss - found.least_loss),
        unpriced=unpriced,
    )
    return Aims(tuple(aims), budget)


def _item(family: Family) -> Item:
    return Item(float(max(_ONE_CENT, family.row.unit_cost_cents)), _losses(family))


def _losses(family: Family) -> np.ndarray:
    """Hours of battle lost with 0, 1, ... pieces more than there are (expected backorders, weighted)."""
    demand, losses = family.called.demand_in_all, []
    for more in range(max(1, demand.chances.size - family.have)):
        losses.append(family.serves.hours * demand.expected_shortages(family.have + more))
        if losses[-1] < _NOTHING:
            break
    return np.array(losses)


def what_money_buys(basis: Basis) -> tuple[FrontierPoint, ...]:
    """What each further coin would buy, and the hours of battle then still lost, families without price aside."""
    priced = [each for each in basis.families if each.row.unit_cost_cents is not None]
    steps = frontier([_item(each) for each in priced])
    return tuple(
        FrontierPoint(priced[step.item].name, step.pieces, round(step.spent), step.loss)
        for step in islice(steps, _STEPS_SHOWN)
    )
