"""The whole reasoning about the spares of one family."""

from __future__ import annotations

from collections.abc import Iterator

from maintain.core.stock.demand import Demand
from maintain.core.stock.lines import newsvendor
from maintain.errors import InvalidRecord, NotEnoughData
from maintain.records import find
from maintain.results.spares_why import Holding, SparesWhy
from maintain.services.outlook import LEVEL
from maintain.services.spares import Question, spares_line
from maintain.services.spares_basis import REVIEW_DAYS, Basis, Family, basis
from maintain.services.spares_policy import aim
from maintain.services.stakes import HOUR_CENTS
from maintain.services.unit import Desk, reading

_BEYOND = 2  # holdings shown beyond the one needed
_LASTS_DAYS = 3650  # what does not age is taken to be sought for ten years (common practice, no source)


def why(desk: Desk, name: str, question: Question) -> SparesWhy:
    """
    Why so many of a family.

    Raises
    ------
    NotFound
        If there is no such family.
    NotEnoughData
        If there is nothing to go by.
    InvalidRecord
        If a budget is named, or as `spares_policy.aim`.
    """
    if question.budget_cents is not None:
        raise InvalidRecord("--why tells of one family, and a budget is spent on all", hint="leave one of them out")
    found = basis(desk, question.until)
    place = _place(desk, found, name)
    family = found.families[place]
    aimed = aim(found, question.service, whole=question.whole, budget_cents=question.budget_cents).of[place]
    line = spares_line(family, aimed, question.service)
    demand = family.called.demand if found.spell.meet else family.called.demand_in_all
    short, over = family.serves.hours * HOUR_CENTS, _left_over_cents(family)
    return SparesWhy(
        family=family.name,
        until=found.spell.last.until,
        service=question.service,
        level=LEVEL,
        currency=found.currency,
        sorties=found.sorties,
        line=line,
        chances=tuple(demand.chances.tolist()),
        holdings=tuple(_holdings(family, demand, max(line.needed + _BEYOND, line.on_hand + 1))),
        worth_holding=None if over is None else newsvendor(demand, short=short, over=over),
        short_cents=round(short),
        over_cents=None if over is None else round(over),
        worth_shelving=family.worth_shelving,
        own_line=family.row.reorder_line,
        review_days=REVIEW_DAYS,
        positions=tuple(f"{each.ship}/{each.position}" for each in found.cover.rows if each.family == family.name),
        stands_in=_stands_in(found, family.name),
        lumps=found.lumps,
        notes=found.notes,
    )


def _place(desk: Desk, found: Basis, name: str) -> int:
    """Where in the basis a family stands."""
    with reading(desk) as connection:
        row = find.family(connection, name)
    for place, each in enumerate(found.families):
        if each.row.id == row.id:
            return place
    raise NotEnoughData(
        f"{row.name}: nothing to go by: no part of it is fitted on a ship in commission, and too little was issued",
        hint="say what is fitted with: maintain part add --into, or count and issue it with: maintain pool",
    )


def _holdings(family: Family, demand: Demand, most: int) -> Iterator[Holding]:
    for pieces in range(most + 1):
        yield Holding(
            pieces=pieces,
            running_out=demand.shortage_chance(pieces),
            short=demand.expected_shortages(pieces),
            supplied=demand.share_supplied(pieces),
            cost_cents=_cost(family, pieces),
        )


def _cost(family: Family, pieces: int) -> int | None:
    unit = family.row.unit_cost_cents
    return None if unit is None else max(0, pieces - family.have) * unit


def _left_over_cents(family: Family) -> float | None:
    """What one left over costs: the share of its price that its time on the shelf takes."""
    unit = family.row.unit_cost_cents
    return None if unit is None else unit * min(1.0, family.whole.days / (family.shelf_days or _LASTS_DAYS))


def _stands_in(found: Basis, name: str) -> tuple[str, ...]:
    """Other families that fit every position this one does."""
    of_position: dict[int, set[str]] = {}
    for row in found.cover.rows:
        if row.family:
            of_position.setdefault(row.position_id, set()).add(row.family)
    mine = [families for families in of_position.values() if name in families]
    return tuple(sorted(set.intersection(*mine) - {name})) if mine else ()
