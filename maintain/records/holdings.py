"""What the pool holds of each family, what is on order, and what was issued: sums over the records, never stored."""

from __future__ import annotations

from datetime import date
from typing import Any

import sqlalchemy as sa

from maintain.records import tables as t

Row = sa.Row[Any]


def by_family(connection: sa.Connection, today: date) -> list[Row]:
    """Each family with parts on hand, on order, and installed on ships in commission, as of a day."""
    tagged, counted, ordered = _tagged(today), _counted(today), _ordered(today)
    query = (
        sa.select(
            t.family.c.name,
            t.family.c.category,
            t.family.c.unit_cost_cents,
            t.family.c.lead_time_days,
            (sa.func.coalesce(tagged.c.pool, 0) + sa.func.coalesce(counted.c.pool, 0)).label("on_hand"),
            sa.func.coalesce(tagged.c.installed, 0).label("installed"),
            sa.func.coalesce(ordered.c.quantity, 0).label("on_order"),
        )
        .outerjoin(tagged, tagged.c.family_id == t.family.c.id)
        .outerjoin(counted, counted.c.family_id == t.family.c.id)
        .outerjoin(ordered, ordered.c.family_id == t.family.c.id)
        .order_by(sa.func.lower(t.family.c.name))
    )
    return list(connection.execute(query))


def _tagged(today: date) -> sa.Subquery:
    """Tagged parts of each family in the pool and installed."""
    placed = t.placement
    now = sa.and_(placed.c.from_on <= today, sa.or_(placed.c.until_on.is_(None), placed.c.until_on > today))
    sailing = sa.and_(placed.c.place == "installed", t.ship.c.state == "in commission")
    return (
        sa.select(
            t.part.c.family_id,
            sa.func.sum(sa.case((placed.c.place == "pool", 1), else_=0)).label("pool"),
            sa.func.sum(sa.case((sailing, 1), else_=0)).label("installed"),
        )
        .join(placed, sa.and_(placed.c.part_id == t.part.c.id, now))
        .outerjoin(t.position, t.position.c.id == placed.c.position_id)
        .outerjoin(t.ship, t.ship.c.id == t.position.c.ship_id)
        .group_by(t.part.c.family_id)
        .subquery()
    )


def _counted(today: date) -> sa.Subquery:
    """Counted stock of each family in the pool: what came in less what went out."""
    into = sa.case((t.movement.c.to_place == "pool", t.movement.c.quantity), else_=0)
    out = sa.case((t.movement.c.from_place == "pool", t.movement.c.quantity), else_=0)
    moved = sa.select(t.movement.c.family_id, sa.func.sum(into - out).label("pool"))
    return moved.where(t.movement.c.moved_on <= today).group_by(t.movement.c.family_id).subquery()


def _ordered(today: date) -> sa.Subquery:
    """Pieces of each family ordered and not received."""
    open_ = sa.or_(t.purchase.c.received_on.is_(None), t.purchase.c.received_on > today)
    bought = sa.select(t.purchase.c.family_id, sa.func.sum(t.purchase.c.quantity).label("quantity"))
    return bought.where(t.purchase.c.ordered_on <= today, open_).group_by(t.purchase.c.family_id).subquery()


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
