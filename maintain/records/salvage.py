"""Queries on what is done after sinkings: which sank, who was aboard, what was found, what is to be tried again."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import sqlalchemy as sa

from maintain.records import evidence
from maintain.records import tables as t

Row = sa.Row[Any]

LOOK, BOX = "look", "box"  # topics of the steps that find how far the water came
_PLACE = ("id", "name", "system", "zone", "dependence", "bank", "bank_needs")
CARED_FOR = ("in commission", "dry dock")  # ships whose parts somebody can still try


def sorties(connection: sa.Connection, ship_id: int, until: date) -> list[Row]:
    """A ship's sorties up to a day, the last first, with the name of the battle and the kind of water."""
    venue = sa.func.coalesce(t.sortie.c.venue_id, t.battle.c.venue_id)
    query = (
        sa.select(
            t.sortie, t.battle.c.name.label("battle"), sa.func.coalesce(t.venue.c.water, "unknown").label("water")
        )
        .outerjoin(t.battle, t.battle.c.id == t.sortie.c.battle_id)
        .outerjoin(t.venue, t.venue.c.id == venue)
        .where(t.sortie.c.ship_id == ship_id, t.sortie.c.sailed_on <= until)
        .order_by(t.sortie.c.sailed_on.desc(), t.sortie.c.number.desc())
    )
    return list(connection.execute(query))


def of_sortie(connection: sa.Connection, sortie_id: int) -> Row | None:
    """The salvage after a sinking, if one was begun."""
    return connection.execute(sa.select(t.salvage).where(t.salvage.c.sortie_id == sortie_id)).one_or_none()


def aboard_then(connection: sa.Connection, sortie: Row) -> list[Row]:
    """Positions of a ship with the part that was in each on a sortie, in the columns of `checks.places`."""
    placed = t.placement.c
    moment = (sortie.sailed_on, sortie.number)
    then = sa.and_(
        placed.position_id == t.position.c.id,
        sa.tuple_(placed.from_on, placed.from_sortie) < moment,
        sa.or_(placed.until_on.is_(None), sa.tuple_(placed.until_on, placed.until_sortie) >= moment),
    )
    query = (
        sa.select(
            *(t.position.c[name] for name in _PLACE),
            t.part.c.id.label("part_id"),
            t.part.c.tag,
            t.family.c.category,
            t.family.c.hidden,
        )
        .outerjoin(t.placement, then)
        .outerjoin(t.part, t.part.c.id == placed.part_id)
        .outerjoin(t.family, t.family.c.id == t.part.c.family_id)
        .where(t.position.c.ship_id == sortie.ship_id)
        .order_by(t.position.c.name)
    )
    return list(connection.execute(query))


def steps(connection: sa.Connection, salvage_id: int) -> list[Row]:
    """The steps a salvage was begun with: position and zone, tag and category of the part that was there."""
    query = (
        sa.select(
            t.salvage_step,
            t.position.c.name.label("position"),
            t.position.c.zone,
            t.part.c.tag,
            t.family.c.category,
        )
        .outerjoin(t.position, t.position.c.id == t.salvage_step.c.position_id)
        .outerjoin(t.part, t.part.c.id == t.salvage_step.c.part_id)
        .outerjoin(t.family, t.family.c.id == t.part.c.family_id)
        .where(t.salvage_step.c.salvage_id == salvage_id)
        .order_by(t.salvage_step.c.step)
    )
    return list(connection.execute(query))


def answers(connection: sa.Connection, salvage_id: int) -> dict[int, Row]:
    """Answers of a salvage by step, with who answered."""
    query = (
        sa.select(t.salvage_answer, t.salvage_step.c.step, t.member.c.name.label("by"))
        .join(t.salvage_step, t.salvage_step.c.id == t.salvage_answer.c.salvage_step_id)
        .outerjoin(t.member, t.member.c.id == t.salvage_answer.c.by_id)
        .where(t.salvage_step.c.salvage_id == salvage_id)
    )
    return {row.step: row for row in connection.execute(query)}


def opening(connection: sa.Connection, sortie_id: int, zone: str, position_id: int | None) -> Row | None:
    """What was last written of a zone, or of one position, opened after a sortie."""
    here = t.opening.c.position_id.is_(None) if position_id is None else t.opening.c.position_id == position_id
    query = sa.select(t.opening).where(t.opening.c.sortie_id == sortie_id, t.opening.c.zone == zone, here)
    return connection.execute(
        query.order_by(t.opening.c.opened_on.desc(), t.opening.c.id.desc()).limit(1)
    ).one_or_none()


def last_seen(
    connection: sa.Connection, part_id: int, position_id: int | None, between: tuple[date, date]
) -> date | None:
    """The last day from the first of two up to before the second on which a part was seen to work in its position."""
    seen = evidence.seen_working().subquery()
    mine = sa.or_(
        seen.c.part_id == part_id, sa.and_(seen.c.part_id == evidence.NONE, seen.c.position_id == position_id)
    )
    first, before = between
    query = sa.select(sa.func.max(seen.c.seen_on)).where(mine, seen.c.seen_on >= first, seen.c.seen_on < before)
    found: date | None = connection.execute(query).scalar()
    return found


def unsafe(connection: sa.Connection, today: date, topics: list[str]) -> list[Row]:
    """Steps of these topics not answered done by a day, of salvages begun by then, with ship and sinking."""
    answer, step = t.salvage_answer.c, t.salvage_step.c
    done = sa.select(answer.id).where(answer.salvage_step_id == step.id, answer.answer == "done", given_by(today))
    query = (
        sa.select(t.salvage_step, t.sortie.c.sailed_on, t.sortie.c.number, t.ship.c.name.label("ship"))
        .join(t.salvage, t.salvage.c.id == step.salvage_id)
        .join(t.sortie, t.sortie.c.id == t.salvage.c.sortie_id)
        .join(t.ship, t.ship.c.id == t.sortie.c.ship_id)
        .where(t.salvage.c.begun_on <= today, t.sortie.c.ending == "sank")
        .where(step.topic.in_(topics), ~done.correlate(t.salvage_step).exists())
        .where(t.ship.c.state.in_(CARED_FOR))
        .order_by(t.ship.c.name, t.sortie.c.sailed_on, t.sortie.c.number, step.step)
    )
    return list(connection.execute(query))


def given_by(today: date) -> sa.ColumnElement[bool]:
    """Whether an answer was given by the end of a day."""
    return t.salvage_answer.c.answered_at < f"{today + timedelta(days=1)}"


def last_sinkings(connection: sa.Connection, since: date, today: date) -> list[Row]:
    """The last sinking of each ship from one day to another: ship, day, number, whether a salvage of it was begun."""
    begun = sa.select(t.salvage.c.id).where(t.salvage.c.sortie_id == t.sortie.c.id, t.salvage.c.begun_on <= today)
    query = (
        sa.select(
            t.ship.c.name.label("ship"),
            t.sortie.c.sailed_on,
            t.sortie.c.number,
            begun.correlate(t.sortie).exists().label("begun"),
        )
        .join(t.ship, t.ship.c.id == t.sortie.c.ship_id)
        .where(t.sortie.c.ending == "sank", t.sortie.c.sailed_on >= since, t.sortie.c.sailed_on <= today)
        .where(t.ship.c.state.in_(CARED_FOR))
        .order_by(t.ship.c.name, t.sortie.c.sailed_on, t.sortie.c.number)
    )
    return list({row.ship: row for row in connection.execute(query)}.values())


def ever_begun(connection: sa.Connection, today: date) -> bool:
    """Whether the club has begun any salvage by a day."""
    query = sa.select(t.salvage.c.id).where(t.salvage.c.begun_on <= today).limit(1)
    return connection.execute(query).first() is not None
