"""Until when, and how much each ship will sail by then."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Any

import sqlalchemy as sa

from maintain.errors import InvalidRecord
from maintain.records import find
from maintain.records import tables as t
from maintain.services.battles import next_battle

_SORTIES_A_DAY = 2  # before the club has sailed any battle (common practice, no source)


@dataclass(frozen=True)
class Horizon:
    """
    What lies ahead of every ship in commission.

    Attributes
    ----------
    today, until : date
    sorties : int
        Each ship's, by then.
    battle_days : int
    notes : tuple of str
        What was assumed, one line each.
    """

    today: date
    until: date
    sorties: int
    battle_days: int
    notes: tuple[str, ...] = ()

    @property
    def days(self) -> int:
        """Days from today to the end, both included."""
        return (self.until - self.today).days + 1


def until_battle(connection: sa.Connection, today: date, battle: str | None) -> tuple[Any, Horizon]:
    """
    The battle asked for, or the next one planned, with what lies between today and its end.

    Raises
    ------
    NotFound, InvalidRecord
        If there is no such battle, none is planned, or it is over.
    """
    row = find.battle(connection, battle) if battle else next_battle(connection, today)
    if row.until_on < today:
        raise InvalidRecord(
            f"{row.name} was over on {row.until_on}", hint="name one to come: maintain battle list --planned"
        )
    return row, _horizon(connection, today, row.until_on)


def until_day(connection: sa.Connection, today: date, until: date | None) -> Horizon:
    """
    What lies ahead until a day, or until the last battle planned.

    Raises
    ------
    InvalidRecord
        If the day is past, or none is named and no battle is planned.
    """
    planned = sa.select(sa.func.max(t.battle.c.until_on)).where(t.battle.c.state == "planned")
    last = until or connection.execute(planned).scalar()
    if last is None or (until is None and last < today):
        raise InvalidRecord("no battle is planned to hold spares for", hint="name a day with --until, or plan a battle")
    if last < today:
        raise InvalidRecord(f"--until {last} is past", hint=f"today is {today}")
    return _horizon(connection, today, last)


def _horizon(connection: sa.Connection, today: date, until: date) -> Horizon:
    ahead = (t.battle.c.state == "planned", t.battle.c.until_on >= today, t.battle.c.from_on <= until)
    planned = connection.execute(sa.select(t.battle).where(*ahead).order_by(t.battle.c.from_on)).all()
    days = sorties = 0
    notes = []
    for row in planned:
        its_days = (row.until_on - row.from_on).days + 1
        left = (min(row.until_on, until) - max(row.from_on, today)).days + 1
        days += left
        if row.planned_sorties is None:
            usual = usual_sorties_a_day(connection, today)
            sorties += usual * left
            notes.append(f"{row.name} has no planned sorties: {usual} a day are assumed, as usual here")
        else:
            sorties += round(row.planned_sorties * left / its_days)
    if not planned:
        notes.append(f"no battle is planned by {until}: only days pass, nothing sails")
    return Horizon(today, until, sorties, days, tuple(notes))


def usual_sorties_a_day(connection: sa.Connection, today: date) -> int:
    """Sorties of a ship on a day of battle, as known on a day."""
    a_day = (
        sa.select(sa.func.max(t.sortie.c.number).label("sorties"))
        .where(t.sortie.c.battle_id.is_not(None), t.sortie.c.sailed_on <= today)
        .group_by(t.sortie.c.ship_id, t.sortie.c.sailed_on)
        .subquery()
    )
    mean = connection.execute(sa.select(sa.func.avg(a_day.c.sorties))).scalar()
    return _SORTIES_A_DAY if mean is None else max(1, round(mean))
