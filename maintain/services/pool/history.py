"""What happened to the pool's stock of a family, in order."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from typing import Any

import sqlalchemy as sa

from maintain.records import ledger, places
from maintain.records import tables as t
from maintain.results.base import Column, Listing
from maintain.services.pool.items import Item, item
from maintain.services.unit import Desk, reading

Row = dict[str, Any]

_COLUMNS = (
    Column("on", "Day"),
    Column("what", "What"),
    Column("part", "Part"),
    Column("change", "Change", numeric=True),
    Column("held", "In the pool", numeric=True),
    Column("note", "Note"),
)
_ON_SCREEN = 40


def history(desk: Desk, *, item_text: str) -> Listing:
    """Every coming and going, order and count of a family up to today, newest first, with what the pool then held."""
    with reading(desk) as connection:
        of = item(connection, item_text)
        moved = _pieces(connection, of, desk.today) if of.counted else _parts(connection, of, desk.today)
        told = [*moved, *_counts(connection, of, desk.today), *_orders(connection, of, desk.today)]
    told.sort(key=lambda row: (row["on"], row["order"]))
    held = 0
    for row in told:
        held += row["change"] or 0
        row["held"] = held
    title = f"{of.family.name} in the pool" if of.part is None else f"{of.part.tag} ({of.family.name})"
    return Listing(title, _COLUMNS, tuple(reversed(told)), empty="nothing recorded", on_screen=_ON_SCREEN)


def _event(on: date, what: str, change: int | None = None, **more: Any) -> Row:
    return {"on": on, "what": what, "change": change, "part": None, "note": None, "order": 1, **more}


def _pieces(connection: sa.Connection, of: Item, day: date) -> Iterator[Row]:
    for row in ledger.of_family(connection, of.family.id, day):
        ends = [_end(row, row.from_place, row.giver), _end(row, row.to_place, row.taker)]
        change = row.quantity * ((row.to_place == "pool") - (row.from_place == "pool"))
        number = "" if change else f"{row.quantity} "
        yield _event(row.moved_on, f"{number}{ends[0]} to {ends[1]}", change, note=row.reason)


def _end(row: Any, place: str, member: str | None) -> str:
    named = {"captain": member, "ship": row.ship, "suspect": "quarantine", "count": "the count", "pool": "the pool"}
    return str(named.get(place, place))


def _parts(connection: sa.Connection, of: Item, day: date) -> Iterator[Row]:
    """The placements of each part, as far as the pool, a loan, quarantine or scrap has to do with them."""
    query = sa.select(t.part.c.id, t.part.c.tag).where(t.part.c.family_id == of.family.id)
    if of.part is not None:
        query = query.where(t.part.c.id == of.part.id)
    for part in connection.execute(query.order_by(t.part.c.id)).all():
        been = places.of_part_by(connection, part.id, day)
        for before, now in zip([None, *been], been, strict=False):
            came, left = now.place == "pool", before is not None and before.place == "pool"
            if came or left or now.place in ("loan", "suspect", "scrapped", "lost"):
                start = "" if before is None else f"{places.spoken(before)}, then "
                what = f"{start}{places.spoken(now)}"
                yield _event(now.from_on, what, came - left, part=part.tag, note=now.note)


def _counts(connection: sa.Connection, of: Item, day: date) -> Iterator[Row]:
    count = t.stocktake
    query = sa.select(count).where(count.c.family_id == of.family.id, count.c.counted_on <= day)
    for row in connection.execute(query.order_by(count.c.counted_on, count.c.id)):
        yield _event(row.counted_on, f"counted: {row.counted}", note=row.note, order=2)
    odd = t.discrepancy
    query = sa.select(odd).where(odd.c.family_id == of.family.id, odd.c.found_on <= day)
    for row in connection.execute(query):
        state = "settled" if row.stocktake_id else "to be settled by a count"
        yield _event(row.found_on, f"{row.quantity} issued uncounted, {state}", note=row.note)


def _orders(connection: sa.Connection, of: Item, day: date) -> Iterator[Row]:
    bought = t.purchase
    query = sa.select(bought).where(bought.c.family_id == of.family.id, bought.c.ordered_on <= day)
    for row in connection.execute(query.order_by(bought.c.ordered_on, bought.c.id)):
        due = f", expected {row.expected_on}" if row.expected_on else ""
        came = row.received_on is not None and row.received_on <= day
        state = f"; came {row.received_on}" if came else "; not here yet"
        yield _event(row.ordered_on, f"ordered {row.quantity}{due}{state}", note=row.supplier, order=0)
