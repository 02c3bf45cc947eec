"""The shortage board: everything about the pool that wants somebody's hand, the most pressing first."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from datetime import date
from typing import Any

import sqlalchemy as sa

from maintain.core.names import quoted
from maintain.core.wording import count
from maintain.records import holdings, open_items, shelf, upkeep
from maintain.records import tables as t
from maintain.results.base import Column, Listing
from maintain.services.pool import owed, stale
from maintain.services.unit import Desk, reading
from maintain.vocabulary import NOTICES

Row = dict[str, Any]
Notices = Callable[[sa.Connection, date], Iterator[Row]]

_COLUMNS = (
    Column("kind", "Why"),
    Column("item", "What"),
    Column("said", "How it stands"),
    Column("since", "Since", on_screen=False),
    Column("due_on", "Due"),
    Column("do", "What to do"),
)


def board(desk: Desk, *, kind: str | None) -> Listing:
    """The notices of every kind, or of one."""
    with reading(desk) as connection:
        rows = [{"kind": name, **row} for name, find_ in KINDS.items() for row in find_(connection, desk.today)]
    found = {name: sum(row["kind"] == name for row in rows) for name in KINDS}
    footer = (", ".join(f"{number} {name}" for name, number in found.items() if number),)
    if kind is not None:
        rows = [row for row in rows if row["kind"] == kind]
    title = f"Shortage board of {desk.today}"
    return Listing(title, _COLUMNS, tuple(rows), footer if any(found.values()) else (), "nothing to do")


def _notice(item: str, said: str, do: str, *, since: date | None = None, due_on: date | None = None) -> Row:
    return {"item": item, "said": said, "since": since, "due_on": due_on, "do": do}


def _out_of_date(connection: sa.Connection, day: date) -> Iterator[Row]:
    """Legal dates of what lies in the pool outrank everything; bottles without one are named too."""
    in_pool = {row.tag: row for row in shelf.pool_parts(connection, day)}
    dated = {row.tag: row for row in upkeep.certificates(connection) if row.tag in in_pool}
    for tag, row in dated.items():
        if row.expires_on < day:
            do = f"do not fill or use it; the {row.decider} decides"
            yield _notice(tag, f"{row.kind} ran out ({row.source})", do, due_on=row.expires_on)
    for tag, part in in_pool.items():
        if part.category == "cylinder" and tag not in dated:
            do = "read the stamp; the licensed tester decides; then: maintain certificate add"
            yield _notice(tag, f"{part.family}: no test date on record", do, since=part.since)


def _to_settle(connection: sa.Connection, day: date) -> Iterator[Row]:
    for row in open_items.discrepancies(connection, day):
        what = row.tag or f"{row.quantity} x {row.family}"
        do = f"maintain pool count {quoted(row.family)} NUMBER"
        yield _notice(row.family, f"{what} issued uncounted", do, since=row.found_on)


def _owed(connection: sa.Connection, day: date, *, overdue: bool) -> Iterator[Row]:
    for row in owed.found(connection, day):
        if bool(row["overdue_days"]) == overdue:
            how = "in kind" if row["how"] == "in kind" else "to come back"
            what = f"{row['debtor']} owes {row['creditor']} {row['quantity']}, {how}"
            late = f", {row['overdue_days']} days overdue" if overdue else ""
            yield _notice(
                row["part"] or row["family"],
                f"{what}{late}" if row["part"] is None else f"{what} ({row['family']}){late}",
                _chase(row),
                since=row["since"],
                due_on=row["due_on"],
            )


def _chase(row: Row) -> str:
    if row["how"] == "in kind":
        to = "" if row["creditor"] == "the pool" else f" --to {quoted(row['creditor'])}"
        who = "pool" if row["debtor"] == "the pool" else quoted(row["debtor"])
        return f"maintain pool settle {who} {quoted(row['family'])}{to}"
    return f"maintain pool return {quoted(row['part'] or row['family'])} good (or suspect, dead)"


def _overdue(connection: sa.Connection, day: date) -> Iterator[Row]:
    return _owed(connection, day, overdue=True)


def _still_owed(connection: sa.Connection, day: date) -> Iterator[Row]:
    return _owed(connection, day, overdue=False)


def _late_orders(connection: sa.Connection, day: date) -> Iterator[Row]:
    for row in open_items.orders(connection, day):
        if row.expected_on is not None and row.expected_on < day:
            said = f"{row.quantity} ordered of {row.supplier or 'nobody knows whom'}, not here"
            do = f"ask; then: maintain pool receive {quoted(row.family)}"
            yield _notice(row.family, said, do, since=row.ordered_on, due_on=row.expected_on)


def _below_line(connection: sa.Connection, day: date) -> Iterator[Row]:
    for row in holdings.by_family(connection, day):
        if row.reorder_line is not None and row.on_hand < row.reorder_line:
            said = f"{row.on_hand} on hand, line {row.reorder_line}, {row.on_order} on order"
            enough = row.on_hand + row.on_order >= row.reorder_line
            do = "wait for the order" if enough else f"maintain pool order {quoted(row.name)} NUMBER"
            yield _notice(row.name, said, do)


def _stale(connection: sa.Connection, day: date) -> Iterator[Row]:
    for row in stale.found(connection, day, day)[0]:
        number = "" if row["quantity"] == 1 else f"{row['quantity']} x "
        said = f"{number}{row['family']}: {row['over_days']} days past its {row['limit_days']}"
        yield _notice(row["part"] or row["family"], said, row["advice"], since=row["since"], due_on=row["stale_on"])


def _suspect(connection: sa.Connection, day: date) -> Iterator[Row]:
    doubts = sa.select(t.suspicion).where(t.suspicion.c.raised_on <= day).order_by(t.suspicion.c.id)
    mode = {row.part_id: row.mode for row in connection.execute(doubts)}
    for part in shelf.pool_parts(connection, day, ("suspect",)):
        do = f"test it, then: maintain retest {quoted(part.tag)} pass (or fail)"
        yield _notice(part.tag, f"{part.family}: {mode.get(part.id, 'nobody said why')}", do, since=part.since)
    for row in holdings.by_family(connection, day):
        if row.tracking == "counted" and row.suspect:
            do = f"test them, then: maintain pool clear {quoted(row.name)} {row.suspect}, or pool scrap --suspect"
            yield _notice(row.name, f"{row.suspect} in quarantine", do)


def _unidentified(connection: sa.Connection, day: date) -> Iterator[Row]:
    """Parts of unknown past that nobody tested, and ships with positions of which nobody said what fits."""
    for part in shelf.pool_parts(connection, day):
        if part.prior_use == "unknown" and shelf.condition(part) == "untested" and not part.fitted:
            said = f"{part.family}: past unknown, never tested" + (f" ({part.note})" if part.note else "")
            do = f"test it: maintain reading add {quoted(part.tag)} 'demand test' 1 (or 0)"
            yield _notice(part.tag, said, do, since=part.since)
    fits = sa.select(t.position_family.c.id).where(t.position_family.c.position_id == t.position.c.id).exists()
    query = (
        sa.select(t.ship.c.name, sa.func.count().label("positions"), sa.func.min(t.position.c.name).label("first"))
        .join(t.position, t.position.c.ship_id == t.ship.c.id)
        .where(t.ship.c.state == "in commission", ~fits)
        .group_by(t.ship.c.id, t.ship.c.name)
        .order_by(sa.func.lower(t.ship.c.name))
    )
    for row in connection.execute(query):
        said = f"{count(row.positions, 'position')} of which nobody said what fits, such as {row.first}"
        where = quoted(f"{row.name}/{row.first}")
        yield _notice(row.name, said, f"maintain position change {where} --fits FAMILY")


_FINDERS: tuple[Notices, ...] = (
    _out_of_date,
    _to_settle,
    _overdue,
    _late_orders,
    _below_line,
    _stale,
    _suspect,
    _unidentified,
    _still_owed,
)
KINDS = dict(zip(NOTICES, _FINDERS, strict=True))
