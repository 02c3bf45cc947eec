"""Who has what of whom: things lent that have not come back, and debts in kind."""

from __future__ import annotations

from datetime import date
from typing import Any

import sqlalchemy as sa

from maintain.core.wording import count
from maintain.records import find, open_items, places
from maintain.results.base import Column, Listing
from maintain.services.pool.items import party
from maintain.services.pool.lending import IN_KIND
from maintain.services.unit import Desk, reading

Row = dict[str, Any]

_COLUMNS = (
    Column("debtor", "Who owes"),
    Column("creditor", "To whom"),
    Column("family", "What"),
    Column("quantity", "Pieces", numeric=True),
    Column("how", "How", wide=True),
    Column("part", "Part"),
    Column("where", "Where it is", wide=True),
    Column("ship", "For", on_screen=False),
    Column("since", "Since", wide=True),
    Column("due_on", "Due"),
    Column("overdue_days", "Days late", numeric=True),
)


def owed(desk: Desk, *, by: str | None, ship: str | None) -> Listing:
    """What is owed on a day, the longest overdue first; of a member, or for a ship."""
    with reading(desk) as connection:
        rows = found(connection, desk.today)
        if by is not None:
            name = party(connection, by).name
            rows = [row for row in rows if name in (row["debtor"], row["creditor"])]
        if ship is not None:
            name = find.ship(connection, ship).name
            rows = [row for row in rows if row["ship"] == name or (row["where"] or "").startswith(f"{name}/")]
    return Listing(f"Owed on {desk.today}", _COLUMNS, tuple(rows), _footer(rows), "nothing")


def found(connection: sa.Connection, day: date) -> list[Row]:
    """Everything owed on a day by the keys of the columns; a loan to be paid back in kind stands as its debt."""
    debts = open_items.debts(connection, day)
    in_debt = {row.loan_id for row in debts}
    rows = [
        {"debtor": row.debtor, "creditor": row.creditor, "since": row.since_on, "how": "in kind"}
        | _common(connection, row, day)
        for row in debts
    ]
    for row in open_items.loans(connection, day):
        if row.id not in in_debt:
            how = "in kind" if row.terms == IN_KIND else "return"
            parties = {"debtor": row.borrower, "creditor": row.lender, "since": row.lent_on, "how": how}
            rows.append(parties | _common(connection, row, day))
    for each in rows:
        each.update(debtor=each["debtor"] or "the pool", creditor=each["creditor"] or "the pool")
    return sorted(rows, key=lambda row: (-(row["overdue_days"] or 0), row["since"], row["family"]))


def _common(connection: sa.Connection, row: Any, day: date) -> Row:
    overdue = None if row.due_on is None or row.due_on >= day else (day - row.due_on).days
    return {
        "family": row.family,
        "quantity": row.quantity,
        "part": row.tag,
        "where": _where(connection, row.tag, day),
        "ship": row.ship,
        "due_on": row.due_on,
        "overdue_days": overdue,
    }


def _where(connection: sa.Connection, tag: str | None, day: date) -> str | None:
    if tag is None:
        return None
    there = places.of_part_on(connection, find.part(connection, tag).id, day)
    return None if there is None else places.spoken(there)


def _footer(rows: list[Row]) -> tuple[str, ...]:
    if not rows:
        return ()
    overdue = [row for row in rows if row["overdue_days"]]
    to_pool: dict[str, int] = {}
    for row in rows:
        if row["creditor"] == "the pool":
            to_pool[row["debtor"]] = to_pool.get(row["debtor"], 0) + row["quantity"]
    who = ", ".join(
        f"{name} {number}" for name, number in sorted(to_pool.items(), key=lambda each: (-each[1], each[0]))
    )
    late = f"{len(overdue)} overdue" if overdue else "none overdue"
    return (f"{count(len(rows), 'thing')} owed, {late}" + (f"; to the pool: {who}" if who else ""),)
