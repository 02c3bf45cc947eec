"""What the pool has, where it is, and whether it works."""

from __future__ import annotations

from datetime import date
from typing import Any

import sqlalchemy as sa

from maintain.core.wording import count
from maintain.records import holdings, ledger, open_items, shelf
from maintain.results.base import Column, Listing
from maintain.services.pool.items import Item, item
from maintain.services.unit import Desk, reading

Row = dict[str, Any]

_COLUMNS = (
    Column("family", "Family"),
    Column("category", "Category", on_screen=False),
    Column("on_hand", "On hand", numeric=True),
    Column("new", "New", numeric=True, wide=True),
    Column("tested", "Tested", numeric=True, wide=True),
    Column("untested", "Untested", numeric=True, wide=True),
    Column("suspect", "Suspect", numeric=True),
    Column("lent", "Lent", numeric=True),
    Column("owed", "Owed to it", numeric=True),
    Column("reserved", "Reserved", numeric=True, on_screen=False),
    Column("on_order", "On order", numeric=True),
    Column("expected_on", "Expected", on_screen=False),
    Column("reorder_line", "Line", numeric=True, on_screen=False),
    Column("uncounted", "To settle", numeric=True),
    Column("counted_on", "Counted", on_screen=False),
)
_CONDITIONS = ("new", "tested", "untested")


def status(desk: Desk, *, item_text: str | None) -> Listing:
    """Every family of the pool; or, of one family or part, each piece."""
    with reading(desk) as connection:
        if item_text is not None:
            return _pieces(connection, item(connection, item_text), desk.today)
        rows = _families(connection, desk.today)
    return Listing(f"The pool on {desk.today}", _COLUMNS, tuple(rows), _footer(rows), _EMPTY)


_EMPTY = "no families yet; add one with: maintain family add NAME --category servo"


def _families(connection: sa.Connection, day: date) -> list[Row]:
    conditions: dict[tuple[int, str], int] = {}
    for part in shelf.pool_parts(connection, day):
        key = (part.family_id, shelf.condition(part))
        conditions[key] = conditions.get(key, 0) + 1
    expected: dict[int, date] = {}
    for order in open_items.orders(connection, day):
        if order.expected_on is not None:
            expected[order.family_id] = min(order.expected_on, expected.get(order.family_id, order.expected_on))
    counted = open_items.last_counts(connection, day)
    rows = []
    for row in holdings.by_family(connection, day):
        counted_only = row.tracking == "counted"
        known = {each: None if counted_only else conditions.get((row.id, each), 0) for each in _CONDITIONS}
        dates = {"expected_on": expected.get(row.id), "counted_on": counted.get(row.id)}
        rows.append({**row._mapping, **known, **dates, "family": row.name})
    return rows


def _footer(rows: list[Row]) -> tuple[str, ...]:
    if not rows:
        return ()
    due = [row["expected_on"] for row in rows if row["expected_on"] is not None]
    total = {key: sum(row[key] or 0 for row in rows) for key in (*_CONDITIONS, *_SUMS)}
    pieces = sum(row["on_hand"] for row in rows if row["tracking"] == "counted")
    parts = count(total["on_hand"] - pieces, "part")
    works = ", ".join(f"{total[each]} {each}" for each in _CONDITIONS)
    away = f"{total['suspect']} suspect, {total['lent']} lent, {total['owed']} owed to it, {total['on_order']} on order"
    away += f", the earliest expected {min(due)}" if due else ""
    lines = [f"{parts} on hand ({works}) and {count(pieces, 'counted piece')}; {away}"]
    if total["uncounted"]:
        lines.append(f"{total['uncounted']} issued uncounted: settle them with: maintain pool count FAMILY NUMBER")
    if total["reserved"]:
        lines.append(f"{total['reserved']} reserved: the pool owes them")
    lines.append("new: never fitted; tested: passed a test since it came to the pool")
    return tuple(lines)


_SUMS = ("on_hand", "suspect", "lent", "owed", "reserved", "on_order", "uncounted")

_PIECE_COLUMNS = (
    Column("piece", "Part"),
    Column("quantity", "Pieces", numeric=True),
    Column("where", "Where"),
    Column("condition", "Condition"),
    Column("since", "Since"),
    Column("made_on", "Made"),
    Column("note", "Note"),
)


def _pieces(connection: sa.Connection, of: Item, day: date) -> Listing:
    """Each part of a family off the ships, or what each place holds of counted stock; then orders."""
    family = of.family
    if of.counted:
        held = ledger.balances(connection, day, ("pool", "suspect"))
        rows = [_held(spot, number) for (family_id, spot), number in sorted(held.items()) if family_id == family.id]
    else:
        found = shelf.pool_parts(connection, day, ("pool", "suspect", "loan"))
        wanted = of.part.id if of.part is not None else None
        rows = [_part(row) for row in found if row.family_id == family.id and wanted in (None, row.id)]
    for order in open_items.orders(connection, day):
        if order.family_id == family.id and of.part is None:
            due = f"expected {order.expected_on}" if order.expected_on else "nobody knows when"
            rows.append({"quantity": order.quantity, "where": "on order", "since": order.ordered_on, "note": due})
    return Listing(f"{family.name} on {day}", _PIECE_COLUMNS, tuple(rows), (), "none in the pool, lent or on order")


def _held(spot: ledger.Spot, number: int) -> Row:
    in_pool = spot == ledger.POOL
    return {
        "quantity": number,
        "where": "in the pool" if in_pool else "in quarantine",
        "condition": None if in_pool else "suspect",
    }


def _part(row: Any) -> Row:
    where = {"pool": "in the pool", "suspect": "in quarantine", "loan": f"on loan to {row.member}"}[row.place]
    condition = shelf.condition(row)
    tested = shelf.tested_on(row)
    return {
        "piece": row.tag,
        "quantity": 1,
        "where": where,
        "condition": f"tested {tested}" if condition == "tested" else condition,
        "since": row.since,
        "made_on": row.made_on,
        "note": row.note,
    }
