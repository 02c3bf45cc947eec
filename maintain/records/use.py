"""How much use a part has had: its days of service, every sortie of the ships it was fitted to, how much was wet."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Any

import sqlalchemy as sa

from maintain.core.when import When
from maintain.records import tables as t
from maintain.vocabulary import SUNK, UNDER_FROM, WET_FROM


@dataclass(frozen=True)
class Use:
    """
    Use of one part over some time.

    Attributes
    ----------
    sorties, wet_sorties, immersions : int
        Trips, those that wetted it, those that covered it.
    minutes_afloat : float, optional
        None if no trip was timed.
    unknown_wetness : int
        Trips of which nobody noted how wet they were; not counted as wet, and not as dry.
    """

    sorties: int = 0
    wet_sorties: int = 0
    immersions: int = 0
    minutes_afloat: float | None = None
    unknown_wetness: int = 0


@dataclass(frozen=True)
class Trip:
    """One sortie as a part or ship lived it; None where nobody knows."""

    sailed_on: date
    number: int
    minutes_afloat: float | None
    wet: bool | None
    covered: bool | None
    minutes_under: float | None = None
    shots: int | None = None


@dataclass(frozen=True)
class Service:
    """
    How long a part has served.

    Attributes
    ----------
    days : int
        Days in a ship, of a family that ages on the shelf also in the pool or a captain's box: at least so many.
    exact : bool
        True if all dates it rests on are known to the day.
    """

    days: int
    exact: bool


def service(connection: sa.Connection, part_ids: list[int], until: date) -> dict[int, Service]:
    """
    Days each part had served by the end of a day; its life ends when it is scrapped or lost.

    A start known only roughly counts from the latest day it can have been, an end from the earliest.
    """
    placed = t.placement.c
    ages_there = sa.and_(t.family.c.ages_on_shelf, placed.place.in_(("pool", "captain")))
    query = (
        sa.select(placed.part_id, placed.from_on, placed.from_precision, placed.until_on, placed.until_precision)
        .join(t.part, t.part.c.id == placed.part_id)
        .join(t.family, t.family.c.id == t.part.c.family_id)
        .where(placed.part_id.in_(part_ids), sa.or_(placed.place == "installed", ages_there))
    )
    served = dict.fromkeys(part_ids, Service(0, exact=True))
    for row in connection.execute(query):
        start = When(row.from_on, row.from_precision)
        end = When(until) if row.until_on is None else When(row.until_on, row.until_precision)
        days = (min(end.earliest or end.on, until) - start.latest).days
        sure = start.precision == "day" and (end.precision == "day" or end.on > until)
        so_far = served[row.part_id]
        served[row.part_id] = Service(so_far.days + max(days, 0), so_far.exact and sure)
    return served


def trips(connection: sa.Connection, part_ids: list[int], until: date) -> dict[int, list[Trip]]:
    """All sorties up to a day that reached each part, oldest first."""
    placed, sortie, position = t.placement, t.sortie, t.position
    moment = sa.tuple_(sortie.c.sailed_on, sortie.c.number)
    query = (
        sa.select(
            placed.c.part_id,
            sortie.c.sailed_on,
            sortie.c.number,
            sortie.c.minutes_afloat,
            sortie.c.minutes_under,
            sortie.c.shots,
            sortie.c.wetness,
            position.c.zone,
            sa.func.coalesce(_finding(_HERE), _finding(_AROUND)).label("finding"),
        )
        .select_from(placed)
        .join(position, position.c.id == placed.c.position_id)
        .join(sortie, sortie.c.ship_id == position.c.ship_id)
        .where(
            placed.c.part_id.in_(part_ids),
            sortie.c.sailed_on <= until,
            sa.tuple_(placed.c.from_on, placed.c.from_sortie) < moment,
            sa.or_(placed.c.until_on.is_(None), moment <= sa.tuple_(placed.c.until_on, placed.c.until_sortie)),
        )
        .order_by(sortie.c.sailed_on, sortie.c.number)
    )
    found: dict[int, list[Trip]] = {part_id: [] for part_id in part_ids}
    for row in connection.execute(query):
        wet, covered = reached(row.zone, row.wetness, row.finding)
        lived = Trip(row.sailed_on, row.number, row.minutes_afloat, wet, covered, row.minutes_under, row.shots)
        found[row.part_id].append(lived)
    return found


def sailed_on(connection: sa.Connection, ship_ids: list[int], day: date) -> dict[int, int]:
    """How many sorties each ship has on record of a day."""
    sortie = t.sortie.c
    query = (
        sa.select(sortie.ship_id, sa.func.max(sortie.number))
        .where(sortie.ship_id.in_(ship_ids), sortie.sailed_on == day)
        .group_by(sortie.ship_id)
    )
    return dict.fromkeys(ship_ids, 0) | {ship_id: number for ship_id, number in connection.execute(query)}


def battle_on(connection: sa.Connection, day: date) -> bool:
    """Whether a battle is or was on that day."""
    battle = t.battle.c
    query = sa.select(battle.id).where(battle.state != "called off", battle.from_on <= day, battle.until_on >= day)
    return connection.execute(query.limit(1)).first() is not None


# A look at the part itself outranks one at the zone it lies in.
_HERE = t.opening.c.position_id == t.position.c.id
_AROUND = sa.and_(t.opening.c.position_id.is_(None), t.opening.c.zone == t.position.c.zone)


def _finding(where: sa.ColumnElement[bool]) -> sa.ScalarSelect[Any]:
    """What was found there after the sortie; the wettest if it was opened twice."""
    wettest = sa.func.max(sa.case((t.opening.c.found == "dry", 0), else_=1))
    same = (t.opening.c.sortie_id == t.sortie.c.id, where)
    return sa.select(wettest).where(*same).correlate(t.sortie, t.position).scalar_subquery()


def reached(zone: str, wetness: str | None, finding: int | None) -> tuple[bool | None, bool | None]:
    """Whether a sortie wetted and covered a part in `zone`; a finding (0 dry, 1 not dry) outranks the rule."""
    if zone == "ashore" or finding == 0:
        return False, False
    if finding == 1:
        return True, None if wetness is None else wetness in SUNK
    if wetness is None:
        return None, None
    degree = int(wetness[1])
    return degree >= WET_FROM[zone], degree >= UNDER_FROM[zone]


def total(of: list[Trip]) -> Use:
    """Sum up trips."""
    timed = [trip.minutes_afloat for trip in of if trip.minutes_afloat is not None]
    return Use(
        sorties=len(of),
        wet_sorties=sum(trip.wet is True for trip in of),
        immersions=sum(trip.covered is True for trip in of),
        minutes_afloat=sum(timed) if timed else None,
        unknown_wetness=sum(trip.wet is None for trip in of),
    )
