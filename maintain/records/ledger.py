"""Counted stock: what the movements say each place holds, day by day."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from itertools import accumulate
from typing import Any, NamedTuple

import sqlalchemy as sa

from maintain.records import tables as t

Row = sa.Row[Any]

OUTSIDE = ("supplier", "count", "scrap")  # what they give comes into the club, what they take leaves it


class Spot(NamedTuple):
    """A place that holds counted stock: the pool, quarantine ("suspect"), a captain or a ship."""

    place: str
    member_id: int | None = None
    ship_id: int | None = None


POOL, QUARANTINE = Spot("pool"), Spot("suspect")


def balances(connection: sa.Connection, day: date, places: Sequence[str] = ("pool",)) -> dict[tuple[int, Spot], int]:
    """
    What each place held at the end of a day, by family and place; nothing is left out.

    Parameters
    ----------
    connection : sqlalchemy.Connection
    day : date
    places : sequence of str
        Kinds of places asked for, such as "pool", "suspect", "captain" and "ship".
    """
    held: dict[tuple[int, Spot], int] = {}
    for row in connection.execute(_moves().where(t.movement.c.moved_on <= day)):
        for spot, sign in ((_giver(row), -1), (_taker(row), 1)):
            if spot.place in places:
                key = (row.family_id, spot)
                held[key] = held.get(key, 0) + sign * row.quantity
    return {key: quantity for key, quantity in held.items() if quantity}


def free(connection: sa.Connection, family_id: int, spot: Spot, day: date) -> int:
    """How many can leave a place on a day, so that neither it nor any later day recorded falls below nothing."""
    by_day: dict[date, int] = {day: 0}
    for row in connection.execute(_moves().where(t.movement.c.family_id == family_id)):
        change = row.quantity * ((_taker(row) == spot) - (_giver(row) == spot))
        on = max(row.moved_on, day)
        by_day[on] = by_day.get(on, 0) + change
    return max(0, min(accumulate(by_day[on] for on in sorted(by_day))))


def held(connection: sa.Connection, family_id: int, day: date) -> int:
    """What the pool held of a family at the end of a day."""
    return balances(connection, day).get((family_id, POOL), 0)


def of_family(connection: sa.Connection, family_id: int, day: date) -> list[Row]:
    """All movements of a family up to a day, oldest first, with the names of captains and ship."""
    giver, taker = t.member.alias("giver"), t.member.alias("taker")
    query = (
        sa.select(
            t.movement,
            giver.c.name.label("giver"),
            taker.c.name.label("taker"),
            t.ship.c.name.label("ship"),
        )
        .outerjoin(giver, giver.c.id == t.movement.c.from_member_id)
        .outerjoin(taker, taker.c.id == t.movement.c.to_member_id)
        .outerjoin(t.ship, t.ship.c.id == t.movement.c.ship_id)
        .where(t.movement.c.family_id == family_id, t.movement.c.moved_on <= day)
        .order_by(t.movement.c.moved_on, t.movement.c.id)
    )
    return list(connection.execute(query))


def _moves() -> sa.Select[Any]:
    moved = t.movement.c
    return sa.select(
        moved.family_id,
        moved.quantity,
        moved.from_place,
        moved.to_place,
        moved.from_member_id,
        moved.to_member_id,
        moved.ship_id,
        moved.moved_on,
    )


def _giver(row: Row) -> Spot:
    return Spot(row.from_place, row.from_member_id, row.ship_id if row.from_place == "ship" else None)


def _taker(row: Row) -> Spot:
    return Spot(row.to_place, row.to_member_id, row.ship_id if row.to_place == "ship" else None)
