"""Queries on recurring work and legal dates."""

from __future__ import annotations

from datetime import date
from typing import Any

import sqlalchemy as sa

from maintain.records import tables as t

Row = sa.Row[Any]


def _installed() -> sa.Select[Any]:
    """Parts now installed on ships in commission, with the words that name them."""
    return (
        sa.select(
            t.part.c.id.label("part_id"),
            t.part.c.tag,
            t.part.c.family_id,
            t.family.c.category,
            t.position.c.id.label("position_id"),
            t.position.c.name.label("position"),
            t.position.c.system,
            t.ship.c.id.label("ship_id"),
            t.ship.c.name.label("ship"),
            t.placement.c.from_on.label("fitted_on"),
        )
        .join(t.placement, sa.and_(t.placement.c.part_id == t.part.c.id, t.placement.c.until_on.is_(None)))
        .join(t.position, t.position.c.id == t.placement.c.position_id)
        .join(t.ship, sa.and_(t.ship.c.id == t.position.c.ship_id, t.ship.c.state == "in commission"))
        .join(t.family, t.family.c.id == t.part.c.family_id)
    )


def installed_parts(connection: sa.Connection) -> list[Row]:
    """Every part now installed on a ship in commission."""
    return list(connection.execute(_installed()))


def certificates(connection: sa.Connection) -> list[Row]:
    """The latest certificate of each part still in use and of each kind, with where the part is now."""
    newer = t.certificate.alias()
    outdated = sa.select(newer.c.id).where(
        newer.c.part_id == t.certificate.c.part_id,
        newer.c.kind == t.certificate.c.kind,
        sa.func.lower(newer.c.source) == sa.func.lower(t.certificate.c.source),
        newer.c.expires_on > t.certificate.c.expires_on,
    )
    query = (
        sa.select(
            t.certificate,
            t.part.c.tag,
            t.family.c.name.label("family"),
            t.placement.c.place,
            t.position.c.name.label("position"),
            t.position.c.system,
            t.ship.c.name.label("ship"),
        )
        .join(t.part, t.part.c.id == t.certificate.c.part_id)
        .join(t.family, t.family.c.id == t.part.c.family_id)
        .join(t.placement, sa.and_(t.placement.c.part_id == t.part.c.id, t.placement.c.until_on.is_(None)))
        .outerjoin(t.position, t.position.c.id == t.placement.c.position_id)
        .outerjoin(t.ship, t.ship.c.id == t.position.c.ship_id)
        .where(~outdated.exists(), t.placement.c.place.not_in(("scrapped", "lost")))
        .order_by(t.certificate.c.expires_on, t.part.c.tag)
    )
    return list(connection.execute(query))


def suspects(connection: sa.Connection, today: date) -> list[Row]:
    """Parts under suspicion on a day, the longest first: tag, family, raised_on, mode, and the ship they came from."""
    last = (
        sa.select(t.ship.c.name)
        .join(t.position, t.position.c.ship_id == t.ship.c.id)
        .join(t.placement, t.placement.c.position_id == t.position.c.id)
        .where(t.placement.c.part_id == t.part.c.id, t.placement.c.from_on <= today)
        .order_by(t.placement.c.from_on.desc(), t.placement.c.from_sortie.desc())
        .limit(1)
        .scalar_subquery()
    )
    still_open = sa.or_(t.suspicion.c.closed_on.is_(None), t.suspicion.c.closed_on > today)
    query = (
        sa.select(
            t.part.c.tag,
            t.family.c.name.label("family"),
            t.suspicion.c.raised_on,
            t.suspicion.c.mode,
            last.label("ship"),
        )
        .join(t.part, t.part.c.id == t.suspicion.c.part_id)
        .join(t.family, t.family.c.id == t.part.c.family_id)
        .where(t.suspicion.c.raised_on <= today, still_open)
        .order_by(t.suspicion.c.raised_on, t.suspicion.c.id)
    )
    return list(connection.execute(query))


def open_tasks(connection: sa.Connection) -> list[Row]:
    """Tasks not closed, with the ship or position they name."""
    query = (
        sa.select(
            t.task,
            t.ship.c.name.label("ship"),
            t.position.c.name.label("position"),
            t.position.c.ship_id.label("position_ship_id"),
        )
        .outerjoin(t.position, t.position.c.id == t.task.c.position_id)
        .outerjoin(t.ship, t.ship.c.id == sa.func.coalesce(t.task.c.ship_id, t.position.c.ship_id))
        .where(t.task.c.closed_on.is_(None))
        .order_by(t.task.c.id)
    )
    return list(connection.execute(query))


def completions(connection: sa.Connection, today: date) -> list[Row]:
    """When each task was last done, by what it was done on."""
    done = t.task_completion
    query = (
        sa.select(done.c.task_id, done.c.ship_id, done.c.part_id, sa.func.max(done.c.done_on).label("done_on"))
        .where(done.c.done_on <= today)
        .group_by(done.c.task_id, done.c.ship_id, done.c.part_id)
    )
    return list(connection.execute(query))


def use_of_ships(connection: sa.Connection, today: date) -> list[Row]:
    """What each ship went through on each day: sorties, wet ones, sinkings, shots, and how many are not known."""
    sortie = t.sortie
    wet = sortie.c.wetness.in_(("W1", "W2", "W3", "W4", "W5"))

    def times(what: sa.ColumnElement[bool]) -> sa.ColumnElement[int]:
        return sa.func.sum(sa.case((what, 1), else_=0))

    query = (
        sa.select(
            sortie.c.ship_id,
            sortie.c.sailed_on,
            sa.func.count().label("sorties"),
            times(wet).label("wet_sorties"),
            times(sortie.c.ending == "sank").label("immersions"),
            sa.func.coalesce(sa.func.sum(sortie.c.shots), 0).label("shots"),
            times(sortie.c.wetness.is_(None)).label("unknown_wetness"),
            times(sortie.c.shots.is_(None)).label("unknown_shots"),
        )
        .where(sortie.c.sailed_on <= today)
        .group_by(sortie.c.ship_id, sortie.c.sailed_on)
    )
    return list(connection.execute(query))
