"""Queries on what is done after sinkings: which sank, who was aboard, what was found, what is to be tried again."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import sqlalchemy as sa

from maintain.records import evidence, places
from maintain.records import tables as t

Row = sa.Row[Any]

LOOK, BOX = "look", "box"  # topics of the steps that find how far the water came
_PLACE = ("id", "name", "system", "zone", "dependence", "bank", "bank_needs")
_AFLOAT_AGAIN = ("in commission", "dry dock")  # ships whose parts somebody can still try


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


def still_aboard(connection: sa.Connection, salvage_id: int, today: date) -> set[int]:
    """The parts of a salvage that are, on a day, where they were when she sank."""
    step = t.salvage_step.c
    query = (
        sa.select(step.part_id)
        .join(
            t.placement, sa.and_(t.placement.c.part_id == step.part_id, t.placement.c.position_id == step.position_id)
        )
        .where(step.salvage_id == salvage_id, places.held_on(today))
    )
    return set(connection.execute(query).scalars())


def seen_since(connection: sa.Connection, salvage_id: int, today: date) -> dict[int, date]:
    """By step of a retest: the last day, from its own on, on which something else showed that the part works."""
    seen = evidence.seen_working().subquery()
    step = t.salvage_step.c
    of_it = sa.or_(seen.c.part_id == step.part_id, _of_position(seen))
    query = (
        sa.select(step.step, sa.func.max(seen.c.seen_on).label("on"))
        .join(seen, sa.and_(of_it, seen.c.seen_on >= step.due_on, seen.c.seen_on <= today))
        .where(step.salvage_id == salvage_id, step.due_on.is_not(None))
        .group_by(step.step)
    )
    return {row.step: row.on for row in connection.execute(query)}


def last_seen(connection: sa.Connection, part_id: int, position_id: int, between: tuple[date, date]) -> date | None:
    """The last day from the first of two up to before the second on which a part was seen to work in its position."""
    seen = evidence.seen_working().subquery()
    mine = sa.or_(
        seen.c.part_id == part_id, sa.and_(seen.c.part_id == evidence.NONE, seen.c.position_id == position_id)
    )
    first, before = between
    query = sa.select(sa.func.max(seen.c.seen_on)).where(mine, seen.c.seen_on >= first, seen.c.seen_on < before)
    found: date | None = connection.execute(query).scalar()
    return found


def retests(connection: sa.Connection, today: date, until: date) -> list[Row]:
    """
    Retests to be done by a day on parts still where they were, unless something showed since that they work or failed.

    With each: the ship, and how far the water came as far as anybody looked (`found`, `box`, `zone`, `wetness`); which
    of them were wetted the caller decides.
    """
    step = t.salvage_step.c
    query = (
        sa.select(
            t.salvage_step,
            t.salvage.c.begun_on,
            t.sortie.c.sailed_on,
            t.sortie.c.wetness,
            t.ship.c.name.label("ship"),
            t.position.c.name.label("position"),
            t.position.c.system,
            t.position.c.zone,
            t.part.c.tag,
            t.family.c.category,
            _finding(LOOK, today).label("found"),
            _finding(BOX, today).label("box"),
        )
        .join(t.salvage, t.salvage.c.id == step.salvage_id)
        .join(t.sortie, t.sortie.c.id == t.salvage.c.sortie_id)
        .join(t.ship, t.ship.c.id == t.sortie.c.ship_id)
        .join(t.position, t.position.c.id == step.position_id)
        .join(t.part, t.part.c.id == step.part_id)
        .join(t.family, t.family.c.id == t.part.c.family_id)
        .join(
            t.placement, sa.and_(t.placement.c.part_id == step.part_id, t.placement.c.position_id == step.position_id)
        )
        .where(step.due_on <= until, t.salvage.c.begun_on <= today, t.sortie.c.ending == "sank")
        .where(t.ship.c.state.in_(_AFLOAT_AGAIN), places.held_on(today), ~_answered(today), ~_failed(today))
        .where(~_shown(today))
        .order_by(step.due_on, t.ship.c.name, step.step)
    )
    return list(connection.execute(query))


def _of_position(seen: sa.Subquery) -> sa.ColumnElement[bool]:
    return sa.and_(seen.c.part_id == evidence.NONE, seen.c.position_id == t.salvage_step.c.position_id)


def _given_by(today: date) -> sa.ColumnElement[bool]:
    return t.salvage_answer.c.answered_at < f"{today + timedelta(days=1)}"


def _answered(today: date) -> sa.Exists:
    """Whether somebody tried it; that nobody did is no answer."""
    mine = sa.and_(t.salvage_answer.c.salvage_step_id == t.salvage_step.c.id, t.salvage_answer.c.answer != "not done")
    return sa.select(t.salvage_answer.c.id).where(mine, _given_by(today)).correlate(t.salvage_step).exists()


def _failed(today: date) -> sa.Exists:
    failure = t.failure.c
    since = (failure.found_on >= t.salvage.c.begun_on, failure.found_on <= today)
    query = sa.select(failure.id).where(failure.part_id == t.salvage_step.c.part_id, *since)
    return query.correlate(t.salvage_step, t.salvage).exists()


def _shown(today: date) -> sa.Exists:
    seen = evidence.seen_working().subquery()
    of_it = sa.or_(seen.c.part_id == t.salvage_step.c.part_id, _of_position(seen))
    from_then = (seen.c.seen_on >= t.salvage_step.c.due_on, seen.c.seen_on <= today)
    return sa.select(seen.c.seen_on).where(of_it, *from_then).correlate(t.salvage_step).exists()


def _finding(topic: str, today: date) -> sa.ScalarSelect[Any]:
    """What the look at this part found, or the one at the box as a whole."""
    look = t.salvage_step.alias()
    mine = [look.c.salvage_id == t.salvage_step.c.salvage_id, look.c.topic == topic]
    if topic == LOOK:
        mine.append(look.c.part_id == t.salvage_step.c.part_id)
    query = sa.select(sa.func.max(t.salvage_answer.c.answer)).join(
        look, look.c.id == t.salvage_answer.c.salvage_step_id
    )
    return query.where(*mine, _given_by(today)).correlate(t.salvage_step).scalar_subquery()
