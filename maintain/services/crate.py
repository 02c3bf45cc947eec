"""The crate for a meet: what to pack of every family, what weighs how much, what to add and what to mind."""

from __future__ import annotations

from maintain.errors import InvalidRecord
from maintain.results.crate import Crate, Packed
from maintain.services.crate_template import cautions, consumables
from maintain.services.spares import Question, plan, there_in_time
from maintain.services.spares_basis import Basis, Family, basis
from maintain.services.spares_policy import Aim, aim
from maintain.services.unit import Desk
from maintain.vocabulary import DEPENDENCE


def crate(desk: Desk, question: Question) -> Crate:
    """
    What to pack for a meet, so that nobody goes home for want of a spare.

    Raises
    ------
    InvalidRecord
        If the meet has no days left, or as `spares_policy.aim`.
    """
    found = basis(desk, question.until)
    meet, from_on = found.spell.meet, found.spell.from_on
    if meet is None or from_on is None:
        raise InvalidRecord("a crate is packed for a meet", hint="name it with --meet")
    aims = aim(found, question.service, whole=question.whole, budget_cents=question.budget_cents)
    packed = [_packed(found, family, each) for family, each in zip(found.families, aims.of, strict=True) if each.needed]
    packed.sort(key=lambda line: _critical_first(found, line))
    ships = len({row.ship for row in found.cover.rows})
    days = (found.spell.last.until - from_on).days + 1
    packing = {line.family: line.there for line in packed}
    recorded = [*(each.name for each in found.families), *found.silent]
    categories = {family.row.category for family in found.families if family.name in packing}
    fields = plan(found, question, aims) | {"uncovered": found.cover.uncovered(packing)}
    return Crate(
        meet=meet,
        from_on=from_on,
        resupply=found.spell.resupply,
        ships=ships,
        packed=tuple(packed),
        weight_grams=sum(line.weight_grams or 0.0 for line in packed),
        consumables=consumables(recorded, ships, days),
        cautions=cautions(categories | _carried(found)),
        **fields,
    )


def _packed(found: Basis, family: Family, aimed: Aim) -> Packed:
    grams, demand, there = family.row.weight_grams, family.called.demand, there_in_time(found, family, aimed)
    return Packed(
        family=family.name,
        category=family.row.category,
        pack=aimed.needed,
        missing=max(0, aimed.needed - family.have),
        there=there,
        running_out=demand.shortage_chance(there),
        running_out_asked=demand.shortage_chance(aimed.needed),
        weight_grams=None if grams is None else grams * aimed.needed,
        ships=family.serves.ships,
        hidden=family.serves.hidden,
        guess=family.called.guess,
    )


def _critical_first(found: Basis, line: Packed) -> tuple[bool, int, str]:
    serves = found.cover.of(line.family)
    return (not serves.hidden, DEPENDENCE.index(serves.dependence), line.family)


def _carried(found: Basis) -> set[str]:
    """Categories that travel aboard the ships, packed or not."""
    return {family.row.category for family in found.families if family.row.installed}
