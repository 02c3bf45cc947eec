"""Queries on how a ship hangs together: positions, what powers them, what is in them, what failures dragged down."""

from __future__ import annotations

from datetime import date
from typing import Any

import sqlalchemy as sa

from maintain.records import places
from maintain.records import tables as t
from maintain.vocabulary import BATTLE_DAMAGE

Row = sa.Row[Any]


SAILING = "in commission"


def sailing_on(day: date) -> sa.ColumnElement[bool]:
    """Whether a ship was in commission on a day: one that left it later still was."""
    return sa.or_(t.ship.c.state == SAILING, t.ship.c.state_since > day)


def was_sailing(ship: Row, day: date) -> bool:
    """Whether a ship (its row) was in commission on a day, as `sailing_on` has it."""
    return ship.state == SAILING or (ship.state_since is not None and ship.state_since > day)


def as_fitted(day: date | None = None) -> sa.FromClause:
    """Positions, each with its part of a day (by default now) and that part's family; without, where it is empty."""
    held = t.placement.c.until_on.is_(None) if day is None else places.held_on(day)
    now = sa.and_(t.placement.c.position_id == t.position.c.id, held)
    return (
        t.position.outerjoin(t.placement, now)
        .outerjoin(t.part, t.part.c.id == t.placement.c.part_id)
        .outerjoin(t.family, t.family.c.id == t.part.c.family_id)
    )


def positions(connection: sa.Connection, today: date, ship: str | None = None) -> list[Row]:
    """Positions of ships in commission on a day, or of one of them, with the part then in each; by ship and name."""
    sailing = sa.and_(t.ship.c.id == t.position.c.ship_id, sailing_on(today))
    query = (
        sa.select(
            t.position.c.id,
            t.position.c.name,
            t.position.c.system,
            t.position.c.dependence,
            t.position.c.bank,
            t.position.c.bank_needs,
            t.position.c.powered_by_id,
            t.ship.c.name.label("ship"),
            t.part.c.tag,
            t.family.c.name.label("family"),
            t.family.c.category,
            t.family.c.hidden,
        )
        .select_from(as_fitted(today).join(t.ship, sailing))
        .order_by(t.ship.c.name, t.position.c.name)
    )
    return list(connection.execute(query.where(t.ship.c.name == ship) if ship else query))


def servos_failed(connection: sa.Connection, today: date) -> tuple[int, int]:
    """
    How many servos on the radio's supply failed by themselves, and how many of them took a part of the radio with them.

    A gun's servo on a supply of its own cannot: it tells nothing of those that can.
    """
    servo, victim, radio = t.failure, t.failure.alias(), t.position.alias()
    feeding = sa.select(radio.c.powered_by_id).where(radio.c.system == "radio", radio.c.powered_by_id.is_not(None))
    own = (
        sa.select(servo.c.id)
        .join(t.part, t.part.c.id == servo.c.part_id)
        .join(t.family, sa.and_(t.family.c.id == t.part.c.family_id, t.family.c.category == "servo"))
        .where(servo.c.found_on <= today, ~servo.c.secondary, servo.c.cause != BATTLE_DAMAGE)
        .join(t.position, sa.and_(t.position.c.id == servo.c.position_id, t.position.c.powered_by_id.in_(feeding)))
    )
    dragged = (
        sa.select(victim.c.caused_by_id)
        .join(t.position, sa.and_(t.position.c.id == victim.c.position_id, t.position.c.system == "radio"))
        .where(victim.c.caused_by_id.is_not(None), victim.c.found_on <= today)
    )
    counted = sa.select(sa.func.count()).select_from(own.subquery())
    with_radio = sa.select(sa.func.count()).select_from(own.where(servo.c.id.in_(dragged)).subquery())
    return int(connection.execute(counted).scalar_one()), int(connection.execute(with_radio).scalar_one())
