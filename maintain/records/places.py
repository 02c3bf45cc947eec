"""Where parts are and have been: the rows of `placement` with the names people use."""

from __future__ import annotations

from datetime import date
from typing import Any

import sqlalchemy as sa

from maintain.core.when import When
from maintain.records import tables as t

Row = sa.Row[Any]

# A place passed through at one moment (from the pool straight into a ship) comes before the one that lasted.
IN_ORDER = (
    t.placement.c.from_on,
    t.placement.c.from_sortie,
    t.placement.c.until_on.is_(None),
    t.placement.c.until_on,
    t.placement.c.until_sortie,
    t.placement.c.id,
)


def held_on(day: date) -> sa.ColumnElement[bool]:
    """Whether a placement held at the end of a day: one place a part, one part a position."""
    placed = t.placement.c
    ended = sa.and_(placed.until_on.is_not(None), _reached(placed.until_on, placed.until_precision, day))
    return sa.and_(_reached(placed.from_on, placed.from_precision, day), ~ended)


def _reached(on: sa.Column[Any], precision: sa.Column[Any], day: date) -> sa.ColumnElement[bool]:
    """Whether a moment known to its precision can have come by the end of a day."""
    return sa.or_(
        on <= day,
        precision == "before records",
        sa.and_(precision == "month", on <= When(day, "month").latest),
        sa.and_(precision == "season", on <= When(day, "season").latest),
    )


def _named() -> sa.Select[Any]:
    """Placements with the names of part, position, ship and holder, oldest first."""
    return (
        sa.select(
            t.placement,
            t.part.c.tag,
            t.position.c.name.label("position"),
            t.position.c.ship_id,
            t.ship.c.name.label("ship"),
            t.member.c.name.label("member"),
        )
        .join(t.part, t.part.c.id == t.placement.c.part_id)
        .outerjoin(t.position, t.position.c.id == t.placement.c.position_id)
        .outerjoin(t.ship, t.ship.c.id == t.position.c.ship_id)
        .outerjoin(t.member, t.member.c.id == t.placement.c.member_id)
        .order_by(*IN_ORDER)
    )


def of_part(connection: sa.Connection, part_id: int) -> list[Row]:
    """All places a part has had, oldest first; the last one is where it is, if that has not ended."""
    return list(connection.execute(_named().where(t.placement.c.part_id == part_id)))


def of_part_by(connection: sa.Connection, part_id: int, day: date) -> list[Row]:
    """The places a part had had by the end of a day, oldest first."""
    begun = _reached(t.placement.c.from_on, t.placement.c.from_precision, day)
    return list(connection.execute(_named().where(t.placement.c.part_id == part_id, begun)))


def of_part_on(connection: sa.Connection, part_id: int, day: date) -> Row | None:
    """The place a part had at the end of a day."""
    return connection.execute(_named().where(t.placement.c.part_id == part_id, held_on(day))).first()


def of_position(connection: sa.Connection, position_id: int) -> list[Row]:
    """All parts a position has held, oldest first."""
    return list(connection.execute(_named().where(t.placement.c.position_id == position_id)))


def in_pool(connection: sa.Connection, family_ids: list[int], on: date) -> list[Row]:
    """Parts of these families now in the pool that can have been there on a day, the oldest first."""
    was_there = sa.or_(
        t.placement.c.from_on <= on, t.placement.c.from_precision != "day", t.part.c.acquired_on.is_(None)
    )
    arrived = sa.func.coalesce(t.part.c.made_on, t.part.c.acquired_on, t.placement.c.from_on)
    query = (
        sa.select(t.part)
        .join(t.placement, t.placement.c.part_id == t.part.c.id)
        .where(t.placement.c.place == "pool", t.placement.c.until_on.is_(None), t.part.c.family_id.in_(family_ids))
        .where(was_there)
        .order_by(arrived, t.part.c.id)
    )
    return list(connection.execute(query))


def held_elsewhere(connection: sa.Connection, family_ids: list[int]) -> list[Row]:
    """Parts of these families that lie with a captain, by captain."""
    now = _named().where(t.placement.c.until_on.is_(None), t.part.c.family_id.in_(family_ids))
    return list(
        connection.execute(now.where(t.placement.c.place == "captain").order_by(None).order_by("member", "tag"))
    )


def covering(connection: sa.Connection, part_id: int, on: date, sortie: int) -> Row | None:
    """The place a part had after `sortie` sorties of a day, a ship rather than a shelf at the turn; None before all."""
    held = [
        row
        for row in of_part(connection, part_id)
        if (row.from_on, row.from_sortie) <= (on, sortie)
        and (row.until_on is None or (on, sortie) <= (row.until_on, row.until_sortie))
    ]
    aboard = [row for row in held if row.place == "installed"]
    return next(iter(aboard or held), None)


def spoken(row: Row) -> str:
    """A place in the words people use."""
    if row.place == "installed":
        return f"{row.ship}/{row.position}"
    if row.place == "captain":
        return f"with {row.member}"
    if row.place == "loan":
        return f"on loan to {row.member}"
    return "in the pool" if row.place == "pool" else str(row.place)


def being(row: Row) -> str:
    """A place as it follows "it is"."""
    return f"in {spoken(row)}" if row.place == "installed" else spoken(row)


def fitting_families(connection: sa.Connection, position_id: int) -> dict[int, str]:
    """Names of the families that fit a position, by id; empty if nobody said."""
    query = sa.select(t.family.c.id, t.family.c.name).join(
        t.position_family, t.position_family.c.family_id == t.family.c.id
    )
    of_position = query.where(t.position_family.c.position_id == position_id).order_by(t.family.c.name)
    return {row.id: row.name for row in connection.execute(of_position)}
