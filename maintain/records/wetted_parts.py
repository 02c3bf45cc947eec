"""Queries on the parts that were aboard a ship that sank, wherever they are now: what is to be tried again."""

from __future__ import annotations

from datetime import date
from typing import Any

import sqlalchemy as sa

from maintain.records import evidence, places
from maintain.records import tables as t
from maintain.records.salvage import BOX, CARED_FOR, LOOK, given_by

Row = sa.Row[Any]

AT_HAND = ("installed", "pool", "captain", "loan")  # places where somebody can try a part
_THEN = t.position.alias("position_then")


def at_hand(connection: sa.Connection, salvage_id: int, today: date) -> set[int]:
    """The parts of a salvage that somebody can still try on a day, wherever they are."""
    query = (
        sa.select(t.salvage_step.c.part_id)
        .join(t.placement, t.placement.c.part_id == t.salvage_step.c.part_id)
        .where(t.salvage_step.c.salvage_id == salvage_id, t.placement.c.place.in_(AT_HAND), places.held_on(today))
    )
    return set(connection.execute(query).scalars())


def seen_since(connection: sa.Connection, salvage_id: int, today: date) -> dict[int, date]:
    """By step of a retest: the last day, from its own on, on which something else showed that the part works."""
    seen = evidence.seen_working().subquery()
    step = t.salvage_step.c
    query = (
        sa.select(step.step, sa.func.max(seen.c.seen_on).label("on"))
        .select_from(t.salvage_step)
        .join(seen, sa.and_(_of_part(seen), seen.c.seen_on >= step.due_on, seen.c.seen_on <= today))
        .where(step.salvage_id == salvage_id, step.due_on.is_not(None))
        .group_by(step.step)
    )
    return {row.step: row.on for row in connection.execute(query)}


def retests(connection: sa.Connection, today: date, until: date) -> list[Row]:
    """
    Retests to be done by a day, unless something showed since that the part works or failed, the earliest first.

    With each: the ship that sank (`sunk`) and how far the water came as far as anybody looked (`found`, `box`, `zone`,
    `wetness`, `water`), and where the part is now; which of them were wetted the caller decides.
    """
    step = t.salvage_step.c
    query = (
        _now(today)
        .add_columns(step.step, step.topic, step.due_on, _finding(LOOK, today), _finding(BOX, today))
        .where(step.due_on <= until, t.placement.c.place.in_(AT_HAND))
        .where(~_answered(today), ~_failed(today), ~_shown(today))
        .order_by(step.due_on, t.ship.c.name, step.step)
    )
    return list(connection.execute(query))


def packs(connection: sa.Connection, today: date) -> list[Row]:
    """Batteries that were aboard a ship that sank and are not scrapped, in the columns of `retests`, by their look."""
    query = (
        _now(today)
        .add_columns(_finding(LOOK, today), _finding(BOX, today))
        .where(t.salvage_step.c.topic == LOOK, t.family.c.category == "battery")
        .where(t.placement.c.place.in_((*AT_HAND, "suspect")))
        .order_by(t.sortie.c.sailed_on, t.part.c.tag)
    )
    return list(connection.execute(query))


def told_of_packs(connection: sa.Connection) -> dict[int, str]:
    """All that is written of the kind of each battery, by part: its family, model, and the rule it is stored by."""
    query = (
        sa.select(t.part.c.id, _told().label("told"))
        .join(t.family, t.family.c.id == t.part.c.family_id)
        .outerjoin(t.shelf_limit, t.shelf_limit.c.family_id == t.family.c.id)
        .where(t.family.c.category == "battery")
    )
    return {row.id: row.told for row in connection.execute(query)}


def _told() -> sa.ColumnElement[str]:
    texts = (t.family.c.name, t.family.c.note, t.part.c.model, t.part.c.note, t.shelf_limit.c.source)
    spaced: sa.ColumnElement[str] = sa.literal("")
    for each in texts:
        spaced = spaced + sa.func.coalesce(each, "") + " "
    return spaced


def _now(today: date) -> sa.Select[Any]:
    """Steps about a part, with its sinking, and where the part is on a day, if that is no ship given up."""
    step = t.salvage_step.c
    sank = t.ship.alias("ship_that_sank")
    venue = sa.func.coalesce(t.sortie.c.venue_id, t.battle.c.venue_id)
    return (
        sa.select(
            step.part_id,
            sank.c.name.label("sunk"),
            t.sortie.c.sailed_on,
            t.sortie.c.number,
            # of a sinking corrected away only what somebody found counts
            sa.case((t.sortie.c.ending == "sank", t.sortie.c.wetness), else_="W0").label("wetness"),
            sa.func.coalesce(t.venue.c.water, "unknown").label("water"),
            _THEN.c.zone,
            t.placement.c.place,
            t.ship.c.name.label("ship"),
            t.position.c.name.label("position"),
            t.position.c.system,
            t.member.c.name.label("member"),
            t.part.c.tag,
            t.family.c.category,
        )
        .select_from(t.salvage_step)
        .join(t.salvage, t.salvage.c.id == step.salvage_id)
        .join(t.sortie, t.sortie.c.id == t.salvage.c.sortie_id)
        .join(sank, sank.c.id == t.sortie.c.ship_id)
        .outerjoin(t.battle, t.battle.c.id == t.sortie.c.battle_id)
        .outerjoin(t.venue, t.venue.c.id == venue)
        .join(_THEN, _THEN.c.id == step.position_id)
        .join(t.part, t.part.c.id == step.part_id)
        .join(t.family, t.family.c.id == t.part.c.family_id)
        .join(t.placement, t.placement.c.part_id == step.part_id)
        .outerjoin(t.position, t.position.c.id == t.placement.c.position_id)
        .outerjoin(t.ship, t.ship.c.id == t.position.c.ship_id)
        .outerjoin(t.member, t.member.c.id == t.placement.c.member_id)
        .where(t.salvage.c.begun_on <= today, places.held_on(today))
        .where(sa.or_(t.ship.c.id.is_(None), t.ship.c.state.in_(CARED_FOR)))
    )


def _of_part(seen: sa.Subquery) -> sa.ColumnElement[bool]:
    """Whether what was seen is of the part of a step: of itself, or of the position it was in on that day."""
    there = t.placement.alias("there")
    held = sa.and_(
        there.c.part_id == t.salvage_step.c.part_id,
        there.c.position_id == seen.c.position_id,
        there.c.from_on <= seen.c.seen_on,
        sa.or_(there.c.until_on.is_(None), there.c.until_on > seen.c.seen_on),
    )
    in_place = sa.select(there.c.id).where(held).correlate(t.salvage_step, seen).exists()
    mine = seen.c.part_id == t.salvage_step.c.part_id
    return sa.or_(mine, sa.and_(seen.c.part_id == evidence.NONE, in_place))


def _answered(today: date) -> sa.Exists:
    """Whether somebody tried it; that nobody did is no answer."""
    mine = sa.and_(t.salvage_answer.c.salvage_step_id == t.salvage_step.c.id, t.salvage_answer.c.answer != "not done")
    return sa.select(t.salvage_answer.c.id).where(mine, given_by(today)).correlate(t.salvage_step).exists()


def _failed(today: date) -> sa.Exists:
    failure = t.failure.c
    since = (failure.found_on >= t.salvage.c.begun_on, failure.found_on <= today)
    query = sa.select(failure.id).where(failure.part_id == t.salvage_step.c.part_id, *since)
    return query.correlate(t.salvage_step, t.salvage).exists()


def _shown(today: date) -> sa.Exists:
    seen = evidence.seen_working().subquery()
    from_then = (seen.c.seen_on >= t.salvage_step.c.due_on, seen.c.seen_on <= today)
    return sa.select(seen.c.seen_on).where(_of_part(seen), *from_then).correlate(t.salvage_step).exists()


def _finding(topic: str, today: date) -> sa.Label[Any]:
    """What the look at this part found (`found`), or the one at the box as a whole (`box`)."""
    look = t.salvage_step.alias()
    mine = [look.c.salvage_id == t.salvage_step.c.salvage_id, look.c.topic == topic]
    if topic == LOOK:
        mine.append(look.c.part_id == t.salvage_step.c.part_id)
    query = sa.select(sa.func.max(t.salvage_answer.c.answer)).join(
        look, look.c.id == t.salvage_answer.c.salvage_step_id
    )
    found = query.where(*mine, given_by(today)).correlate(t.salvage_step).scalar_subquery()
    return found.label("found" if topic == LOOK else "box")
