"""What the records tell of parts and pieces that were used up: where they were, why they left, what they had cost."""

from __future__ import annotations

from datetime import date
from typing import Any

import sqlalchemy as sa

from maintain.records import places
from maintain.records import tables as t

Row = sa.Row[Any]


def stays(connection: sa.Connection, day: date) -> list[Row]:
    """
    Every stay of every tagged part begun by a day, part by part, oldest first.

    Returns
    -------
    list of row
        `part_id`, `tag`, `place`, `from_on`, `until_on`, `reason`, `family`, `unit_cost_cents` (the part's own, else
        its family's), `owner` (None: the pool), `ship` and her `captain` where it was installed.
    """
    placed, captain, owner = t.placement.c, t.member.alias("captain"), t.member.alias("owner")
    query = (
        sa.select(
            placed.part_id,
            t.part.c.tag,
            placed.place,
            placed.from_on,
            placed.until_on,
            placed.reason,
            t.family.c.name.label("family"),
            sa.func.coalesce(t.part.c.cost_cents, t.family.c.unit_cost_cents).label("unit_cost_cents"),
            owner.c.name.label("owner"),
            t.ship.c.name.label("ship"),
            captain.c.name.label("captain"),
        )
        .join(t.part, t.part.c.id == placed.part_id)
        .join(t.family, t.family.c.id == t.part.c.family_id)
        .outerjoin(owner, owner.c.id == t.part.c.owner_id)
        .outerjoin(t.position, t.position.c.id == placed.position_id)
        .outerjoin(t.ship, t.ship.c.id == t.position.c.ship_id)
        .outerjoin(captain, captain.c.id == t.ship.c.captain_id)
        .where(placed.from_on <= day)
        .order_by(placed.part_id, *places.IN_ORDER)
    )
    return list(connection.execute(query))


def moves(connection: sa.Connection, day: date) -> list[Row]:
    """
    Every movement of counted stock up to a day, oldest first.

    Returns
    -------
    list of row
        The columns of `movement`, and `family`, `usual_cents` (of a piece), `ship` and her `captain`, `taker` (the
        member it went to).
    """
    captain, taker = t.member.alias("captain"), t.member.alias("taker")
    query = (
        sa.select(
            t.movement,
            t.family.c.name.label("family"),
            t.family.c.unit_cost_cents.label("usual_cents"),
            t.ship.c.name.label("ship"),
            captain.c.name.label("captain"),
            taker.c.name.label("taker"),
        )
        .join(t.family, t.family.c.id == t.movement.c.family_id)
        .outerjoin(t.ship, t.ship.c.id == t.movement.c.ship_id)
        .outerjoin(captain, captain.c.id == t.ship.c.captain_id)
        .outerjoin(taker, taker.c.id == t.movement.c.to_member_id)
        .where(t.movement.c.moved_on <= day)
        .order_by(t.movement.c.moved_on, t.movement.c.id)
    )
    return list(connection.execute(query))


def unit_costs(connection: sa.Connection) -> dict[str, int | None]:
    """What one piece of each family costs, by name; None if nobody knows."""
    query = sa.select(t.family.c.name, t.family.c.unit_cost_cents)
    return {row.name: row.unit_cost_cents for row in connection.execute(query)}
