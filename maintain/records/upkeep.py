"""Queries on work that comes round, promises and legal dates."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from datetime import date
from typing import Any

import sqlalchemy as sa

from maintain.core.recurrence import Interval
from maintain.records import tables as t
from maintain.records.use import Trip, reached

Row = sa.Row[Any]


def installed_parts(connection: sa.Connection) -> list[Row]:
    """Every part now installed on a ship in commission, with the words that name it and since when it serves."""
    earlier = t.placement.alias()
    first = sa.select(sa.func.min(earlier.c.from_on)).where(
        earlier.c.part_id == t.part.c.id, earlier.c.place == "installed"
    )
    query = (
        sa.select(
            t.part.c.id.label("part_id"),
            t.part.c.uid.label("part_uid"),
            t.part.c.tag,
            t.part.c.family_id,
            t.family.c.name.label("family"),
            t.family.c.category,
            t.position.c.id.label("position_id"),
            t.position.c.name.label("position"),
            t.position.c.system,
            t.ship.c.id.label("ship_id"),
            t.ship.c.name.label("ship"),
            t.placement.c.from_on.label("fitted_on"),
            first.scalar_subquery().label("first_fitted_on"),
        )
        .join(t.placement, sa.and_(t.placement.c.part_id == t.part.c.id, t.placement.c.until_on.is_(None)))
        .join(t.position, t.position.c.id == t.placement.c.position_id)
        .join(t.ship, sa.and_(t.ship.c.id == t.position.c.ship_id, t.ship.c.state == "in commission"))
        .join(t.family, t.family.c.id == t.part.c.family_id)
        .order_by(sa.func.lower(t.ship.c.name), t.position.c.name)
    )
    return list(connection.execute(query))


@dataclass(frozen=True)
class FamilyAboard:
    """A family, and the positions in which its parts are installed or fit."""

    id: int
    name: str
    category: str
    positions: tuple[str, ...]


def families_and_where(connection: sa.Connection) -> list[FamilyAboard]:
    """All families by name, with the names of the positions that hold one or were said to take one."""
    family, position = t.family, t.position
    held = (
        sa.select(t.part.c.family_id, position.c.name)
        .join(t.placement, t.placement.c.part_id == t.part.c.id)
        .join(position, position.c.id == t.placement.c.position_id)
        .where(t.placement.c.until_on.is_(None))
    )
    fit = sa.select(t.position_family.c.family_id, position.c.name).join(
        position, position.c.id == t.position_family.c.position_id
    )
    where: dict[int, set[str]] = {}
    for family_id, name in connection.execute(sa.union(held, fit)):
        where.setdefault(family_id, set()).add(name)
    query = sa.select(family.c.id, family.c.name, family.c.category).order_by(sa.func.lower(family.c.name))
    return [
        FamilyAboard(row.id, row.name, row.category, tuple(sorted(where.get(row.id, ()))))
        for row in connection.execute(query)
    ]


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
            t.part.c.uid.label("part_uid"),
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


def without_certificate(connection: sa.Connection, category: str) -> list[str]:
    """Tags of the parts of a category that are in use and have no certificate on record."""
    dated = sa.select(t.certificate.c.id).where(t.certificate.c.part_id == t.part.c.id)
    query = (
        sa.select(t.part.c.tag)
        .join(t.family, t.family.c.id == t.part.c.family_id)
        .join(t.placement, sa.and_(t.placement.c.part_id == t.part.c.id, t.placement.c.until_on.is_(None)))
        .where(t.family.c.category == category, ~dated.exists(), t.placement.c.place.not_in(("scrapped", "lost")))
        .order_by(t.part.c.tag)
    )
    return list(connection.execute(query).scalars())


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


def tasks(connection: sa.Connection) -> list[Row]:
    """All tasks, also those closed, oldest first, with the words for what they are done on."""
    query = (
        sa.select(
            t.task,
            t.ship.c.name.label("ship"),
            t.ship.c.uid.label("ship_uid"),
            t.ship.c.state.label("ship_state"),
            t.position.c.name.label("position"),
            t.position.c.system,
            t.position.c.zone,
            t.position.c.ship_id.label("position_ship_id"),
            t.part.c.tag,
            t.family.c.name.label("family"),
        )
        .outerjoin(t.position, t.position.c.id == t.task.c.position_id)
        .outerjoin(t.ship, t.ship.c.id == sa.func.coalesce(t.task.c.ship_id, t.position.c.ship_id))
        .outerjoin(t.part, t.part.c.id == t.task.c.part_id)
        .outerjoin(t.family, t.family.c.id == t.task.c.family_id)
        .order_by(t.task.c.id)
    )
    return list(connection.execute(query))


def open_tasks(connection: sa.Connection, on: date | None = None) -> list[Row]:
    """Tasks that are not closed; as of a day, those that stood then."""
    found = tasks(connection)
    if on is None:
        return [row for row in found if row.closed_on is None]
    return [row for row in found if row.starts_on <= on and (row.closed_on is None or row.closed_on > on)]


def intervals(connection: sa.Connection) -> dict[int, tuple[Interval, ...]]:
    """How often each task that recurs comes round, by its id: on its own clock, then on further ones."""
    own = sa.select(t.task.c.id, t.task.c.every, t.task.c.clock).where(t.task.c.clock.is_not(None))
    more = t.task_interval
    further = sa.select(more.c.task_id, more.c.every, more.c.clock).order_by(more.c.id)
    found: dict[int, tuple[Interval, ...]] = {}
    for task_id, every, clock in (*connection.execute(own), *connection.execute(further)):
        found[task_id] = (*found.get(task_id, ()), Interval(every, clock))
    return found


def completions(connection: sa.Connection, today: date, task_id: int | None = None) -> list[Row]:
    """Every time a task was done up to a day, or one of them was, the last first, with who did it."""
    done = t.task_completion
    query = (
        sa.select(done, t.ship.c.name.label("ship"), t.part.c.tag, t.member.c.name.label("by"))
        .outerjoin(t.ship, t.ship.c.id == done.c.ship_id)
        .outerjoin(t.part, t.part.c.id == done.c.part_id)
        .outerjoin(t.member, t.member.c.id == done.c.by_id)
        .where(done.c.done_on <= today)
        .order_by(done.c.done_on.desc(), done.c.done_sortie.desc().nulls_first(), done.c.id.desc())
    )
    return list(connection.execute(query if task_id is None else query.where(done.c.task_id == task_id)))


def trips_in_zones(
    connection: sa.Connection, places: Collection[tuple[int, str]], until: date
) -> dict[tuple[int, str], list[Trip]]:
    """All sorties up to a day as each zone of a ship lived them, oldest first, by ship and zone."""
    sortie = t.sortie.c
    query = (
        sa.select(
            sortie.ship_id,
            sortie.sailed_on,
            sortie.number,
            sortie.wetness,
            sortie.minutes_afloat,
            sortie.minutes_under,
            sortie.shots,
        )
        .where(sortie.ship_id.in_({ship_id for ship_id, _ in places}), sortie.sailed_on <= until)
        .order_by(sortie.sailed_on, sortie.number)
    )
    found: dict[tuple[int, str], list[Trip]] = {place: [] for place in places}
    for row in connection.execute(query):
        for place in places:
            if place[0] == row.ship_id:
                wet, covered = reached(place[1], row.wetness, None)
                trip = Trip(row.sailed_on, row.number, row.minutes_afloat, wet, covered, row.minutes_under, row.shots)
                found[place].append(trip)
    return found
