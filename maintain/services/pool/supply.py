"""Supply: ordered, delivered, called off."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

import sqlalchemy as sa

from maintain.core.names import quoted
from maintain.core.when import When
from maintain.errors import InvalidRecord
from maintain.records import open_items
from maintain.records import tables as t
from maintain.records.journal import Recorder
from maintain.records.ledger import POOL
from maintain.results.base import Done, money
from maintain.services.parts import NewPart
from maintain.services.pool import cautions, stock
from maintain.services.pool.closing import close
from maintain.services.pool.items import at_least_one, by_when, family, named
from maintain.services.unit import Desk, writing

Row = sa.Row[Any]


@dataclass(frozen=True)
class Order:
    """What is ordered; None is unknown."""

    family: str
    quantity: int
    expected: When | None = None
    unit_cost_cents: int | None = None
    supplier: str | None = None
    note: str | None = None


def order(desk: Desk, new: Order) -> Done:
    """Order pieces of a family; without a date they are expected after the family's lead time."""
    with writing(desk, "pool order") as recorder:
        row = family(recorder.connection, new.family)
        expected = by_when(new.expected, desk.today, "--expected")
        if expected is None and row.lead_time_days is not None:
            expected = desk.today + timedelta(days=row.lead_time_days)
        recorder.insert(
            t.purchase,
            family_id=row.id,
            quantity=at_least_one(new.quantity),
            unit_cost_cents=new.unit_cost_cents,
            supplier=new.supplier,
            ordered_on=desk.today,
            expected_on=expected,
            note=new.note,
        )
        arrives = f"expected by {expected}" if expected else "nobody knows when it comes"
        did = f"ordered {named(new.quantity, row)}, {arrives}"
        recorder.summarise(did)
    cost = None if new.unit_cost_cents is None else money(new.quantity * new.unit_cost_cents)
    record = {"family": row.name, "quantity": new.quantity, "expected_on": expected, "cost": cost}
    return Done(did, notes=() if cost is None else (f"{cost} in all",), record=record)


@dataclass(frozen=True)
class Delivery:
    """
    What came.

    Attributes
    ----------
    family : str
    quantity : int, optional
        None: all of the oldest open order.
    unit_cost_cents : int, optional
        None: what the order says.
    made_on : date, optional
        Printed on the bag: rubber ages from its cure.
    batch, model : str, optional
        Of tagged parts.
    origin : str
        Gifts and bequests are not new.
    """

    family: str
    quantity: int | None = None
    unit_cost_cents: int | None = None
    made_on: date | None = None
    batch: str | None = None
    model: str | None = None
    origin: str = "new"
    note: str | None = None


def receive(desk: Desk, came: Delivery) -> Done:
    """Take a delivery into the pool and close the orders it fills, the oldest first; a gift fills none."""
    with writing(desk, "pool receive") as recorder:
        connection = recorder.connection
        row = family(connection, came.family)
        if came.made_on is not None and came.made_on > desk.today:
            raise InvalidRecord(f"--made {came.made_on} is in the future", hint=f"today is {desk.today}")
        orders = [each for each in open_items.orders(connection, desk.today) if each.family_id == row.id]
        orders = orders if came.origin == "new" else []
        quantity = _quantity(row, came, orders)
        filled, told = _fill(recorder, orders, quantity, came, desk.today)
        tags = [tag for number, cost in filled for tag in _arrive(recorder, row, came, number, cost, desk.today)]
        did = f"received {named(quantity, row)} into the pool" + (f": {', '.join(tags)}" if tags else "")
        recorder.summarise(did)
        notes = (*told, *_tagged_notes(tags), *cautions.of(connection, row, None, desk.today))
    return Done(did, notes=notes, record={"family": row.name, "quantity": quantity, "tags": tags})


def _quantity(row: Row, came: Delivery, orders: list[Row]) -> int:
    if came.quantity is not None:
        return at_least_one(came.quantity)
    if not orders:
        raise InvalidRecord(f"no {row.name} is on order", hint="say how many came")
    return int(orders[0].quantity)


def _fill(
    recorder: Recorder, orders: list[Row], quantity: int, came: Delivery, today: date
) -> tuple[list[tuple[int, int | None]], tuple[str, ...]]:
    """Close orders by what came: how many at which cost, and what to say of it."""
    filled, notes, left = [], [], quantity
    for each in orders:
        taken = min(left, each.quantity)
        if not taken:
            break
        cost = each.unit_cost_cents if came.unit_cost_cents is None else came.unit_cost_cents
        close(recorder, t.purchase, each, taken, unit_cost_cents=cost, received_on=today)
        rest = each.quantity - taken
        notes.append(f"ordered {each.ordered_on}: " + (f"{rest} of {each.quantity} still to come" if rest else "done"))
        filled.append((taken, cost))
        left -= taken
    if left:
        filled.append((left, came.unit_cost_cents))
        if orders:
            notes.append(f"{left} more than were on order")
    return filled, tuple(notes)


def _arrive(recorder: Recorder, row: Row, came: Delivery, quantity: int, cost: int | None, today: date) -> list[str]:
    if row.tracking == "counted":
        facts = {"unit_cost_cents": cost, "made_on": came.made_on, "reason": came.note or "delivered"}
        stock.move(recorder, row, quantity, (stock.SUPPLIER, POOL), today, **facts)
        return []
    new = NewPart(
        family=row.name,
        model=came.model,
        batch=came.batch,
        origin=came.origin,
        acquired=When(today),
        made_on=came.made_on,
        cost_cents=cost,
        note=came.note,
    )
    return [stock.enter(recorder, new, today).tag for _ in range(quantity)]


def _tagged_notes(tags: list[str]) -> tuple[str, ...]:
    return ("the tags were made for you: write them on the parts",) if tags else ()


def cancel(desk: Desk, *, family_text: str, quantity: int | None) -> Done:
    """Call off what is on order, the newest first; the journal keeps it."""
    with writing(desk, "pool cancel") as recorder:
        row = family(recorder.connection, family_text)
        orders = [each for each in open_items.orders(recorder.connection, desk.today) if each.family_id == row.id]
        awaited = sum(each.quantity for each in orders)
        wanted = awaited if quantity is None else at_least_one(quantity)
        if not awaited or wanted > awaited:
            raise InvalidRecord(
                f"{awaited or 'no'} {row.name} {'are' if awaited > 1 else 'is'} on order",
                hint=f"see: maintain pool history {quoted(row.name)}",
            )
        left = wanted
        for each in reversed(orders):
            taken = min(left, each.quantity)
            if taken == each.quantity:
                recorder.delete(t.purchase, each.id)
            elif taken:
                recorder.update(t.purchase, each.id, quantity=each.quantity - taken)
            left -= taken
        did = f"called off {named(wanted, row)}"
        recorder.summarise(did)
    return Done(did, record={"family": row.name, "quantity": wanted})
