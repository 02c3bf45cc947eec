"""What a phone must know to log a battle far from any network."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import sqlalchemy as sa

from maintain.core.names import quoted
from maintain.errors import InvalidRecord
from maintain.records import find
from maintain.records import tables as t
from maintain.results.phone import PhonePage, PhoneShip
from maintain.services.unit import Desk, reading


def page(desk: Desk, *, battle: str) -> PhonePage:
    """The ships in commission and their positions, for the days of a battle."""
    with reading(desk) as connection:
        row = find.battle(connection, battle)
        if row.state == "called off":
            raise InvalidRecord(
                f"{row.name} was called off",
                hint=f"if it takes place after all: maintain battle state {quoted(row.name)} planned",
            )
        ships = _ships(connection)
    if not ships:
        raise InvalidRecord("no ship is in commission", hint="add one with: maintain ship add NAME")
    return PhonePage(uid=row.uid, battle=row.name, days=days_of(row), ships=ships)


def days_of(battle: Any) -> tuple[date, ...]:
    """The days of a battle."""
    return tuple(battle.from_on + timedelta(days=each) for each in range((battle.until_on - battle.from_on).days + 1))


def _ships(connection: sa.Connection) -> tuple[PhoneShip, ...]:
    query = (
        sa.select(t.ship.c.uid, t.ship.c.name, t.position.c.name.label("position"))
        .outerjoin(t.position, t.position.c.ship_id == t.ship.c.id)
        .where(t.ship.c.state == "in commission")
        .order_by(sa.func.lower(t.ship.c.name), t.position.c.system, t.position.c.name)
    )
    ships: dict[tuple[str, str], list[str]] = {}
    for row in connection.execute(query):
        ships.setdefault((row.uid, row.name), []).extend([row.position] if row.position else [])
    return tuple(PhoneShip(uid, name, tuple(positions)) for (uid, name), positions in ships.items())
