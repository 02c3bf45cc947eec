"""What the pool holds of each family, what is on order, and what was issued: sums over the records, never stored."""

from __future__ import annotations

from datetime import date
from typing import Any

import sqlalchemy as sa

from maintain.records import places
from maintain.records import tables as t

Row = sa.Row[Any]


def by_family(connection: sa.Connection, today: date) -> list[Row]:
    """
    Each family with what the pool holds, has lent, owes and awaits at the end of a day, ordered by name.

    Returns
    -------
    list of row
        The columns of `family`, and in pieces: `on_hand` (in the pool, good as far as known), `suspect` (in
        quarantine), `installed` (tagged parts on ships in commission), `on_order`, `lent` (out of the pool, to come
        back), `owed` (to the pool, in kind), `reserved` (owed by the pool), `uncounted` (issued uncounted, no count
        since).
    """
    tagged, counted = _tagged(today), _counted(today)
    sums = {
        "on_order": _pieces(t.purchase, t.purchase.c.ordered_on, t.purchase.c.received_on, today),
        "lent": _pieces(t.loan, t.loan.c.lent_on, t.loan.c.closed_on, today, *_TO_COME_BACK),
        "owed": _pieces(t.debt, t.debt.c.since_on, t.debt.c.settled_on, today, t.debt.c.creditor_id.is_(None)),
        "reserved": _pieces(t.debt, t.debt.c.since_on, t.debt.c.settled_on, today, t.debt.c.debtor_id.is_(None)),
        "uncounted": _uncounted(today),
    }
    none = sa.literal(0)
    query = (
        sa.select(
            t.family,
            (sa.func.coalesce(tagged.c.pool, none) + sa.func.coalesce(counted.c.pool, none)).label("on_hand"),
            (sa.func.coalesce(tagged.c.suspect, none) + sa.func.coalesce(counted.c.suspect, none)).label("suspect"),
            sa.func.coalesce(tagged.c.installed, none).label("installed"),
            *(sa.func.coalesce(found.c.quantity, none).label(name) for name, found in sums.items()),
        )
        .outerjoin(tagged, tagged.c.family_id == t.family.c.id)
        .outerjoin(counted, counted.c.family_id == t.family.c.id)
    )
    for found in sums.values():
        query = query.outerjoin(found, found.c.family_id == t.family.c.id)
    return list(connection.execute(query.order_by(sa.func.lower(t.family.c.name))))


_TO_COME_BACK = (t.loan.c.lender_id.is_(None), t.loan.c.terms == "return")


def _tagged(today: date) -> sa.Subquery:
    """Tagged parts of each family in the pool, in quarantine and installed."""
    placed = t.placement
    sailing = sa.and_(placed.c.place == "installed", t.ship.c.state == "in commission")
    return (
        sa.select(
            t.part.c.family_id,
            sa.func.sum(sa.case((placed.c.place == "pool", 1), else_=0)).label("pool"),
            sa.func.sum(sa.case((placed.c.place == "suspect", 1), else_=0)).label("suspect"),
            sa.func.sum(sa.case((sailing, 1), else_=0)).label("installed"),
        )
        .join(placed, sa.and_(placed.c.part_id == t.part.c.id, places.held_on(today)))
        .outerjoin(t.position, t.position.c.id == placed.c.position_id)
        .outerjoin(t.ship, t.ship.c.id == t.position.c.ship_id)
        .group_by(t.part.c.family_id)
        .subquery()
    )


def _counted(today: date) -> sa.Subquery:
    """Counted stock of each family in the pool and in quarantine: what came in less what went out."""
    moved = sa.select(t.movement.c.family_id, _sum("pool"), _sum("suspect"))
    return moved.where(t.movement.c.moved_on <= today).group_by(t.movement.c.family_id).subquery()


def _sum(place: str) -> sa.Label[Any]:
    into = sa.case((t.movement.c.to_place == place, t.movement.c.quantity), else_=0)
    out = sa.case((t.movement.c.from_place == place, t.movement.c.quantity), else_=0)
    return sa.func.sum(into - out).label(place)


def _pieces(
    table: sa.Table, since: sa.Column[Any], until: sa.Column[Any], today: date, *which: sa.ColumnElement[bool]
) -> sa.Subquery:
    """Pieces of each family in the rows of a table that are open at the end of a day."""
    still = sa.or_(until.is_(None), until > today)
    found = sa.select(table.c.family_id, sa.func.sum(table.c.quantity).label("quantity")).where(since <= today, still)
    return found.where(*which).group_by(table.c.family_id).subquery()


def _uncounted(today: date) -> sa.Subquery:
    issued, count = t.discrepancy.c, t.stocktake.c
    return (
        sa.select(issued.family_id, sa.func.sum(issued.quantity).label("quantity"))
        .outerjoin(t.stocktake, count.id == issued.stocktake_id)
        .where(issued.found_on <= today, sa.or_(count.id.is_(None), count.counted_on > today))
        .group_by(issued.family_id)
        .subquery()
    )


def issues(connection: sa.Connection, today: date) -> list[Row]:
    """Counted stock that left the pool for good, oldest first."""
    query = (
        sa.select(t.family.c.name.label("family"), t.movement.c.moved_on, t.movement.c.quantity)
        .join(t.family, t.family.c.id == t.movement.c.family_id)
        .where(
            t.movement.c.from_place == "pool",
            t.movement.c.to_place.in_(("ship", "captain", "scrap")),
            t.movement.c.loan_id.is_(None),
            t.movement.c.moved_on <= today,
        )
        .order_by(t.movement.c.moved_on, t.movement.c.id)
    )
    return list(connection.execute(query))


def stocked_since(connection: sa.Connection) -> dict[str, date]:
    """Since when each counted family has been kept, by name."""
    query = (
        sa.select(t.family.c.name, sa.func.min(t.movement.c.moved_on).label("first"))
        .join(t.movement, t.movement.c.family_id == t.family.c.id)
        .where(t.family.c.tracking == "counted")
        .group_by(t.family.c.id)
        .order_by(t.family.c.name)
    )
    return {row.name: row.first for row in connection.execute(query)}


def currency(connection: sa.Connection) -> str:
    """The club's currency."""
    return str(connection.execute(sa.select(t.club.c.currency)).scalar() or "")
