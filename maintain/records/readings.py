"""Queries on readings, what they are held against, and the parts they were taken of."""

from __future__ import annotations

from datetime import date
from typing import Any

import sqlalchemy as sa

from maintain.records import places
from maintain.records import tables as t
from maintain.vocabulary import GAUGED

Row = sa.Row[Any]


def gauged(connection: sa.Connection) -> list[Row]:
    """All readings of a quantity, by day, with the names of part, family, position and ship."""
    query = (
        sa.select(
            t.reading.c.measure,
            t.reading.c.value,
            t.reading.c.taken_on,
            t.reading.c.part_id,
            t.part.c.tag,
            t.part.c.family_id,
            t.family.c.name.label("family"),
            t.family.c.category,
            t.reading.c.position_id,
            t.position.c.name.label("position"),
            t.position.c.system,
            t.position.c.ship_id,
            t.ship.c.name.label("ship"),
            t.ship.c.state,
        )
        .outerjoin(t.part, t.part.c.id == t.reading.c.part_id)
        .outerjoin(t.family, t.family.c.id == t.part.c.family_id)
        .outerjoin(t.position, t.position.c.id == t.reading.c.position_id)
        .outerjoin(t.ship, t.ship.c.id == t.position.c.ship_id)
        .where(t.reading.c.measure.in_(GAUGED))
        .order_by(t.reading.c.taken_on, t.reading.c.id)
    )
    return list(connection.execute(query))


def fittings(connection: sa.Connection, today: date) -> list[Row]:
    """When parts of which there is a reading, and motors of the pumping, were fitted where, up to a day; in order."""
    read = sa.select(t.reading.c.part_id).where(t.reading.c.part_id.is_not(None))
    turns_a_pump = sa.and_(t.family.c.category == "motor", t.position.c.system == "pumping")
    query = (
        sa.select(
            t.placement.c.part_id,
            t.placement.c.position_id,
            t.placement.c.from_on,
            t.placement.c.from_precision,
            t.position.c.name.label("position"),
            t.position.c.ship_id,
            turns_a_pump.label("turns_a_pump"),
        )
        .join(t.part, t.part.c.id == t.placement.c.part_id)
        .join(t.family, t.family.c.id == t.part.c.family_id)
        .join(t.position, t.position.c.id == t.placement.c.position_id)
        .where(sa.or_(t.placement.c.part_id.in_(read), turns_a_pump), t.placement.c.from_on <= today)
        .order_by(*places.IN_ORDER)
    )
    return list(connection.execute(query))


def places_now(connection: sa.Connection, today: date) -> dict[int, Row]:
    """Where each part of which there is a reading is at the end of a day."""
    query: sa.Select[Any] = (
        sa.select(
            t.placement.c.part_id,
            t.placement.c.place,
            t.placement.c.position_id,
            t.position.c.name.label("position"),
            t.position.c.system,
            t.position.c.ship_id,
            t.ship.c.name.label("ship"),
            t.ship.c.state,
        )
        .outerjoin(t.position, t.position.c.id == t.placement.c.position_id)
        .outerjoin(t.ship, t.ship.c.id == t.position.c.ship_id)
        .where(places.held_on(today), t.placement.c.part_id.in_(sa.select(t.reading.c.part_id)))
        .order_by(*places.IN_ORDER)
    )
    return {row.part_id: row for row in connection.execute(query)}


def occupied(connection: sa.Connection, today: date) -> set[int]:
    """Positions with a part in them at the end of a day."""
    query = sa.select(t.placement.c.position_id).where(places.held_on(today), t.placement.c.position_id.is_not(None))
    return set(connection.execute(query).scalars())


def first_value(connection: sa.Connection, measure: str, part_id: int, position_id: int | None) -> float | None:
    """The first reading of a part, in any position or in one."""
    reading = t.reading.c
    query = sa.select(reading.value).where(reading.measure == measure, reading.part_id == part_id)
    if position_id is not None:
        query = query.where(reading.position_id == position_id)
    return connection.execute(query.order_by(reading.taken_on, reading.id).limit(1)).scalar()


def limits(connection: sa.Connection) -> list[Row]:
    """All limits the club set, with the name of their family; None where it is of a category, or holds everywhere."""
    query = sa.select(t.reading_limit, t.family.c.name.label("family")).outerjoin(
        t.family, t.family.c.id == t.reading_limit.c.family_id
    )
    order = (t.reading_limit.c.measure, t.reading_limit.c.category, sa.func.lower(t.family.c.name))
    return list(connection.execute(query.order_by(*order)))


def family_of(connection: sa.Connection, part_id: int) -> Row:
    """Id, name and category of a part's family."""
    query: sa.Select[Any] = sa.select(t.family.c.id, t.family.c.name, t.family.c.category)
    return connection.execute(
        query.join(t.part, t.part.c.family_id == t.family.c.id).where(t.part.c.id == part_id)
    ).one()
