"""Which spares fit which positions, and what the club's battles called for."""

from __future__ import annotations

from datetime import date
from typing import Any

import sqlalchemy as sa

from maintain.records import tables as t

Row = sa.Row[Any]


def fits(connection: sa.Connection) -> list[Row]:
    """
    Every position of ships in commission with each family that fits it, said to fit or aboard.

    Returns
    -------
    list of row
        `position_id`, `position`, `ship`, `system`, `dependence`, `family`; family is None where nothing fits.
    """
    said = sa.select(t.position_family.c.position_id, t.position_family.c.family_id)
    fitted = sa.select(t.placement.c.position_id, t.part.c.family_id).join(
        t.part, sa.and_(t.part.c.id == t.placement.c.part_id, t.placement.c.until_on.is_(None))
    )
    either = said.union(fitted.where(t.placement.c.position_id.is_not(None))).subquery()
    query = (
        sa.select(
            t.position.c.id.label("position_id"),
            t.position.c.name.label("position"),
            t.position.c.system,
            t.position.c.dependence,
            t.ship.c.name.label("ship"),
            t.family.c.name.label("family"),
            t.family.c.hidden,
        )
        .join(t.ship, sa.and_(t.ship.c.id == t.position.c.ship_id, t.ship.c.state == "in commission"))
        .outerjoin(either, either.c.position_id == t.position.c.id)
        .outerjoin(t.family, t.family.c.id == either.c.family_id)
        .order_by(t.ship.c.name, t.position.c.name, t.family.c.name)
    )
    return list(connection.execute(query))


def calls_of_battles(connection: sa.Connection, today: date) -> list[Row]:
    """
    Battles fought and over, oldest first.

    Returns
    -------
    list of row
        `name`, `from_on`, `until_on`, `sorties` (of all ships), and `calls`: tagged parts found failed or hit in battle
        on its days.
    """
    battle = t.battle.c
    over = (battle.state == "fought", battle.until_on < today)
    sorties = sa.select(sa.func.count()).where(t.sortie.c.battle_id == battle.id).correlate(t.battle)
    calls = (
        sa.select(sa.func.count())
        .where(t.failure.c.found_on.between(battle.from_on, battle.until_on), t.failure.c.found_by == "in battle")
        .correlate(t.battle)
    )
    counts = (sorties.scalar_subquery().label("sorties"), calls.scalar_subquery().label("calls"))
    query = sa.select(battle.name, battle.from_on, battle.until_on, *counts)
    return list(connection.execute(query.where(*over).order_by(battle.from_on, battle.id)))
