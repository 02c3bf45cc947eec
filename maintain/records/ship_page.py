"""Queries for the page of one ship."""

from __future__ import annotations

from typing import Any

import sqlalchemy as sa

from maintain.records import tables as t

Row = sa.Row[Any]


def fitted(connection: sa.Connection, ship_id: int) -> list[Row]:
    """Each position with the part in it now; the part's columns are None where it is empty."""
    now = sa.and_(t.placement.c.position_id == t.position.c.id, t.placement.c.until_on.is_(None))
    query = (
        sa.select(
            t.position.c.id.label("position_id"),
            t.position.c.system,
            t.position.c.name.label("position"),
            t.position.c.zone,
            t.part.c.id.label("part_id"),
            t.part.c.tag,
            t.part.c.prior_use,
            t.family.c.name.label("family"),
            t.placement.c.from_on,
            t.placement.c.from_precision,
        )
        .outerjoin(t.placement, now)
        .outerjoin(t.part, t.part.c.id == t.placement.c.part_id)
        .outerjoin(t.family, t.family.c.id == t.part.c.family_id)
        .where(t.position.c.ship_id == ship_id)
        .order_by(t.position.c.system, t.position.c.name)
    )
    return list(connection.execute(query))


def first_fitted(connection: sa.Connection, part_ids: list[int]) -> dict[int, Any]:
    """The first installation of each part."""
    placed = t.placement
    query = (
        sa.select(placed.c.part_id, placed.c.from_on, placed.c.from_precision)
        .where(placed.c.place == "installed", placed.c.part_id.in_(part_ids))
        .order_by(placed.c.from_on.desc(), placed.c.from_sortie.desc())
    )
    return {row.part_id: row for row in connection.execute(query)}


def treatments(connection: sa.Connection, part_ids: list[int]) -> dict[int, Any]:
    """The last treatment of each part."""
    query = (
        sa.select(t.treatment.c.part_id, t.treatment.c.kind, t.treatment.c.done_on, t.method.c.name)
        .join(t.method, t.method.c.id == t.treatment.c.method_id)
        .where(t.treatment.c.part_id.in_(part_ids))
        .order_by(t.treatment.c.done_on, t.treatment.c.id)
    )
    return {row.part_id: row for row in connection.execute(query)}


def readings(connection: sa.Connection, ship_id: int) -> list[Row]:
    """Readings on a ship's positions and on the parts now in them, oldest first."""
    now = sa.and_(t.placement.c.part_id == t.reading.c.part_id, t.placement.c.until_on.is_(None))
    where = sa.func.coalesce(t.reading.c.position_id, t.placement.c.position_id)
    query = (
        sa.select(
            where.label("position_id"),
            t.reading.c.measure,
            t.reading.c.value,
            t.reading.c.unit,
            t.reading.c.taken_on,
        )
        .outerjoin(t.placement, now)
        .join(t.position, t.position.c.id == where)
        .where(t.position.c.ship_id == ship_id)
        .order_by(t.reading.c.taken_on, t.reading.c.id)
    )
    return list(connection.execute(query))


def suspects(connection: sa.Connection, ship_id: int) -> list[Row]:
    """Open suspicions of parts whose last installation was on this ship."""
    placed, later = t.placement, t.placement.alias()
    after = sa.select(later.c.id).where(
        later.c.part_id == placed.c.part_id, later.c.place == "installed", later.c.from_on > placed.c.from_on
    )
    query = (
        sa.select(t.part.c.tag, t.position.c.name.label("position"), t.suspicion.c.raised_on, t.suspicion.c.mode)
        .join(t.part, t.part.c.id == t.suspicion.c.part_id)
        .join(placed, sa.and_(placed.c.part_id == t.part.c.id, placed.c.place == "installed"))
        .join(t.position, t.position.c.id == placed.c.position_id)
        .where(t.suspicion.c.closed_on.is_(None), t.position.c.ship_id == ship_id, ~after.exists())
        .order_by(t.suspicion.c.raised_on)
    )
    return list(connection.execute(query))


def seasons(connection: sa.Connection, ship_id: int) -> list[Row]:
    """Sorties and sinkings of each season."""
    season = sa.extract("year", t.sortie.c.sailed_on)
    query = (
        sa.select(
            season.label("season"),
            sa.func.count().label("sorties"),
            sa.func.sum(sa.case((t.sortie.c.ending == "sank", 1), else_=0)).label("sinkings"),
        )
        .where(t.sortie.c.ship_id == ship_id)
        .group_by(season)
        .order_by(season)
    )
    return list(connection.execute(query))


def last_opened(connection: sa.Connection, ship_id: int) -> dict[int, Any]:
    """When each position of a ship, or the zone it lies in, was last opened."""
    here = sa.or_(t.opening.c.position_id == t.position.c.id, t.opening.c.position_id.is_(None))
    same = sa.and_(t.opening.c.ship_id == t.position.c.ship_id, t.opening.c.zone == t.position.c.zone, here)
    query = sa.select(t.position.c.id, sa.func.max(t.opening.c.opened_on)).join(t.opening, same)
    found = connection.execute(query.where(t.position.c.ship_id == ship_id).group_by(t.position.c.id))
    return {row[0]: row[1] for row in found}
