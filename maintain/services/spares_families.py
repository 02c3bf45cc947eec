"""What sharing would save in holdings: fewer families of a kind, and one shelf for many ships."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from itertools import combinations
from typing import Any

import numpy as np

from maintain.core.stock.demand import require_service
from maintain.core.stock.pooling import pooled, private_holdings
from maintain.errors import NotEnoughData
from maintain.results.spares_families import Shared, SparesFamilies, StandIn
from maintain.services.outlook import LEVEL, Outlook
from maintain.services.spares_basis import Basis, Family, basis
from maintain.services.spell import Until
from maintain.services.stakes import HOUR_CENTS
from maintain.services.standards import standards
from maintain.services.unit import Desk

_NOTES = (
    "families are put together if they are of one category: whether one does for another (size, force, volts, thread, "
    "protocol) only a trial fit tells; a micro servo does not always stand in for a standard servo",
    "demand is drawn together, so that what one sinking calls for counts at once; the other family's parts are taken "
    "to go on failing as they do",
    f"running costs: a new part for each failure, and the hours of battle it takes at {HOUR_CENTS / 100:.2f} each "
    "(common practice, no source)",
    "on ships apart, calls are taken to fall on each ship by how many of the parts she has, each ship by herself",
)


def families(desk: Desk, until: Until, service: float) -> SparesFamilies:
    """What one more shared family, and one shelf for many ships, would save."""
    require_service(service)
    found = basis(desk, until)
    if found.look is None:
        raise NotEnoughData(found.notes[-1], hint="fit some with: maintain part install")
    kinds = _kinds(found)
    groups = [_stand_in(found, found.look, each, service) for kind in kinds.values() for each in _groups(kind)]
    groups.sort(key=lambda each: (not each.shared_positions, not each.alike, -each.saved, each.families))
    return SparesFamilies(
        until=found.spell.last.until,
        sorties=found.sorties,
        service=service,
        level=LEVEL,
        currency=found.currency,
        groups=tuple(groups),
        standards=standards(found.look, [each for kind in kinds.values() for each in kind]),
        shared=_shared(found, found.look, service),
        notes=(*_NOTES, *found.notes),
    )


def _kinds(found: Basis) -> dict[str, list[Family]]:
    """Families of tagged parts now fitted, by category, where there are several."""
    kinds: dict[str, list[Family]] = defaultdict(list)
    for each in found.families:
        if each.row.tracking == "tagged" and each.row.installed:
            kinds[each.row.category].append(each)
    return {category: kinds[category] for category in sorted(kinds) if len(kinds[category]) > 1}


def _groups(kind: list[Family]) -> Iterator[tuple[Family, ...]]:
    """Every pair, and all together."""
    yield from combinations(kind, 2)
    if len(kind) > 2:
        yield tuple(kind)


def _stand_in(found: Basis, look: Outlook, group: tuple[Family, ...], service: float) -> StandIn:
    names = tuple(each.name for each in group)
    hold = pooled(np.stack([_calls(each) for each in group], axis=1), service)
    fits = [{row.position_id for row in found.cover.rows if row.family == name} for name in names]
    prices = {each.name: each.row.unit_cost_cents for each in group}
    saved: dict[str, int] = {}
    if None not in prices.values():
        apart = sum(number * prices[name] for number, name in zip(hold.apart, names, strict=True))
        saved = {name: apart - hold.together * prices[name] for name in names}
    family, system = (look.fleet.labels[name].astype(str) for name in ("family", "system"))
    served = [set(system[family == name].tolist()) for name in names]
    return StandIn(
        category=group[0].row.category,
        families=names,
        systems=tuple(sorted(set.union(*served))),
        alike=bool(set.intersection(*served)),
        positions=len(set.union(*fits)),
        shared_positions=len(set.intersection(*fits)),
        apart=hold.apart,
        together=hold.together,
        saved=hold.saved,
        chance_apart=hold.chance_apart,
        chance_together=hold.chance_together,
        safety_share=hold.safety_share,
        saved_cents=saved,
    )


def _calls(family: Family) -> Any:
    """Called for within the whole spell, by draw."""
    return family.called.counts.sum(axis=0)


def _shared(found: Basis, look: Outlook, service: float) -> tuple[Shared, ...]:
    """Every family of tagged parts: held by each ship for herself, and in the pool."""
    fitted = look.fleet.labels["family"].astype(str)
    lines = []
    for each in found.families:
        ship = look.fleet.ship[fitted == each.name]
        if not ship.size:
            continue
        parts = np.unique(ship, return_counts=True)[1]
        demand = each.called.demand_in_all
        of_each = service ** (1 / parts.size)  # so that none of so many boxes runs out
        private, one = sum(private_holdings(demand, parts / parts.sum(), of_each)), demand.holding_for(service)
        price = each.row.unit_cost_cents
        lines.append(
            Shared(
                family=each.name,
                ships=int(parts.size),
                installed=int(ship.size),
                demand=demand.mean,
                private=private,
                pooled=one,
                saved=private - one,
                saved_cents=None if price is None else (private - one) * price,
            )
        )
    return tuple(sorted(lines, key=lambda line: (-(line.saved_cents or 0), -line.saved, line.family)))
