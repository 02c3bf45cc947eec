"""Queries for the page of one ship."""

from __future__ import annotations

from datetime import date
from typing import Any

import sqlalchemy as sa

from maintain.records import tables as t
from maintain.records.places import held_on

Row = sa.Row[Any]


def fitted(connection: sa.Connection, ship_id: int, on: date) -> list[Row]:
    """Each position with the part in it on a day; the part's columns are None where it was empty."""
    now = sa.and_(t.placement.c.position_id == t.position.c.id, held_on(on))
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


def fitted_before_records(connection: sa.Connection, part_ids: list[int]) -> set[int]:
    """The parts whose first installation lies before the records: what they went through then nobody knows."""
    placed = t.placement.c
    query = sa.select(placed.part_id).where(
        placed.place == "installed", placed.from_precision == "before records", placed.part_id.in_(part_ids)
    )
    return set(connection.execute(query).scalars())


def treatments(connection: sa.Connection, part_ids: list[int], on: date) -> dict[int, Any]:
    """The last treatment of each part up to a day."""
    query = (
        sa.select(t.treatment.c.part_id, t.treatment.c.kind, t.treatment.c.done_on, t.method.c.name)
        .join(t.method, t.method.c.id == t.treatment.c.method_id)
        .where(t.treatment.c.part_id.in_(part_ids), t.treatment.c.done_on <= on)
        .order_by(t.treatment.c.done_on, t.treatment.c.id)
    )
    return {row.part_id: row for row in connection.execute(query)}


def readings(connection: sa.Connection, ship_id: int, on: date) -> list[Row]:
    """Readings up to a day on a ship's positions and on the parts then in them, oldest first."""
    now = sa.and_(t.placement.c.part_id == t.reading.c.part_id, held_on(on))
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
        .where(t.position.c.ship_id == ship_id, t.reading.c.taken_on <= on)
        .order_by(t.reading.c.taken_on, t.reading.c.id)
    )
    return list(connection.execute(query))


def suspects(connection: sa.Connection, ship_id: int, on: date) -> list[Row]:
    """Suspicions open on a day of parts whose last installation until then was on this ship."""
    placed, later = t.placement, t.placement.alias()
    after = sa.select(later.c.id).where(
        later.c.part_id == placed.c.part_id,
        later.c.place == "installed",
        later.c.from_on > placed.c.from_on,
        later.c.from_on <= on,
    )
    still_open = sa.or_(t.suspicion.c.closed_on.is_(None), t.suspicion.c.closed_on > on)
    query = (
        sa.select(t.part.c.tag, t.position.c.name.label("position"), t.suspicion.c.raised_on, t.suspicion.c.mode)
        .join(t.part, t.part.c.id == t.suspicion.c.part_id)
        .join(placed, sa.and_(placed.c.part_id == t.part.c.id, placed.c.place == "installed"))
        .join(t.position, t.position.c.id == placed.c.position_id)
        .where(t.suspicion.c.raised_on <= on, still_open, placed.c.from_on <= on)
        .where(t.position.c.ship_id == ship_id, ~after.exists())
        .order_by(t.suspicion.c.raised_on)
    )
    return list(connection.execute(query))


def seasons(connection: sa.Connection, ship_id: int, on: date) -> list[Row]:
    """Sorties and sinkings of each season up to a day."""
    season = sa.extract("year", t.sortie.c.sailed_on)
    query = (
        sa.select(
            season.label("season"),
            sa.func.count().label("sorties"),
            sa.func.sum(sa.case((t.sortie.c.ending == "sank", 1), else_=0)).label("sinkings"),
        )
        .where(t.sortie.c.ship_id == ship_id, t.sortie.c.sailed_on <= on)
        .group_by(season)
        .order_by(season)
    )
    return list(connection.execute(query))


def last_opened(connection: sa.Connection, ship_id: int, on: date) -> dict[int, Any]:
    """When each position of a ship, or the zone it lies in, was last opened up to a day."""
    here = sa.or_(t.opening.c.position_id == t.position.c.id, t.opening.c.position_id.is_(None))
    same = sa.and_(t.opening.c.ship_id == t.position.c.ship_id, t.opening.c.zone == t.position.c.zone, here)
    query = sa.select(t.position.c.id, sa.func.max(t.opening.c.opened_on)).join(t.opening, same)
    found = connection.execute(
        query.where(t.position.c.ship_id == ship_id, t.opening.c.opened_on <= on).group_by(t.position.c.id)
    )
    return {row[0]: row[1] for row in found}
