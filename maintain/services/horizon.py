"""Until when, and how much each ship will sail by then."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

import sqlalchemy as sa

from maintain.errors import InvalidRecord, NotFound
from maintain.records import find
from maintain.records import tables as t

_YEAR = 365
_LEFT_OF_TODAY = 0.5
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
    def days(self) -> float:
        """Days from today to the end; half a day where that is today."""
        return max((self.until - self.today).days, _LEFT_OF_TODAY)


def until_battle(connection: sa.Connection, today: date, battle: str | None) -> tuple[Any, Horizon]:
    """
    The battle asked for, or the next one, with what lies between today and its end.

    A battle counts by its days, not by its state: one that has begun is still to be got through.

    Raises
    ------
    NotFound, InvalidRecord
        If there is no such battle, none is to come, or it is over.
    """
    if battle:
        row = find.battle(connection, battle)
        if row.until_on < today:
            raise InvalidRecord(
                f"{row.name} was over on {row.until_on}", hint="name one to come: maintain battle list --planned"
            )
        return row, _horizon(connection, today, row.until_on)
    to_come = [row for row in _battles_ahead(connection, today, None) if _left(connection, row, today, row.until_on)]
    if not to_come:
        raise NotFound(
            f"no battle is planned after {today}",
            hint="plan one with: maintain battle add NAME --from DATE --planned-sorties 2",
        )
    return to_come[0], _horizon(connection, today, to_come[0].until_on)


def until_meet(connection: sa.Connection, today: date, name: str) -> tuple[Any, Horizon | None, Horizon]:
    """
    A meet to come, by its name: its row, what lies before it, and what its crate is for.

    What fails once the last battle before it is over comes to light at the meet, be it at the check on its first
    morning: the crate is for all of that.

    Returns
    -------
    row
    before : Horizon, optional
        From today to the end of the last battle before the meet; None where there is none.
    within : Horizon
        From then, or from today, to the end of the meet.

    Raises
    ------
    NotFound, InvalidRecord
        If there is no such battle, it is over, or it was called off.
    """
    row, whole = until_battle(connection, today, name)
    if row.state == "called off":
        raise InvalidRecord(f"{row.name} was called off", hint="name one to come: maintain battle list --planned")
    sorties = _left(connection, row, today, row.until_on)
    earlier = [each for each in _battles_ahead(connection, today, None) if each.until_on < row.from_on]
    its_days = (row.until_on - max(row.from_on, today)).days + 1
    if not earlier:
        return row, None, Horizon(today, row.until_on, sorties, its_days, whole.notes)
    last = max(each.until_on for each in earlier)
    before = Horizon(today, last, whole.sorties - sorties, whole.battle_days - its_days, whole.notes)
    return row, before, Horizon(last, row.until_on, sorties, its_days)


def until_day(connection: sa.Connection, today: date, until: date | None) -> Horizon:
    """
    What lies ahead until a day, or until the last battle planned.

    Raises
    ------
    InvalidRecord
        If the day is past, or none is named and no battle is planned.
    """
    planned = [row.until_on for row in _battles_ahead(connection, today, None)]
    if until is None and not planned:
        raise InvalidRecord("no battle is planned to hold spares for", hint="name a day with --until, or plan a battle")
    last = until or max(planned)
    if last < today:
        raise InvalidRecord(f"--until {last} is past", hint=f"today is {today}")
    return _horizon(connection, today, last)


def _battles_ahead(connection: sa.Connection, today: date, until: date | None) -> list[Any]:
    battle = t.battle
    query = sa.select(battle).where(battle.c.state != "called off", battle.c.until_on >= today)
    if until is not None:
        query = query.where(battle.c.from_on <= until)
    return list(connection.execute(query.order_by(battle.c.from_on, battle.c.id)))


def _horizon(connection: sa.Connection, today: date, until: date) -> Horizon:
    ahead = _battles_ahead(connection, today, until)
    notes = []
    usual = usual_sorties_a_day(connection, today)
    for row in ahead:
        if row.planned_sorties is None:
            notes.append(f"{row.name} has no planned sorties: {usual} a day are assumed, as usual here")
    sorties = sum(_left(connection, row, today, until) for row in ahead)
    days = sum((min(row.until_on, until) - max(row.from_on, today)).days + 1 for row in ahead)
    last = max((row.until_on for row in ahead), default=today)
    beyond = _beyond_the_plan(connection, today, (until - last).days)
    if until > last:
        when = f"after {last}" if ahead else f"by {until}"
        pace = f"the usual pace of the last year is assumed: {beyond} sorties a ship" if beyond else "nothing sails"
        notes.append(f"no battle is planned {when}: {pace}")
    return Horizon(today, until, sorties + beyond, days, tuple(notes))


def _left(connection: sa.Connection, battle: Any, today: date, until: date) -> int:
    """Sorties of a ship still to be sailed in a battle up to a day."""
    its_days = (battle.until_on - battle.from_on).days + 1
    planned = battle.planned_sorties or usual_sorties_a_day(connection, today) * its_days
    of_ship = sa.select(sa.func.count().label("sailed")).where(
        t.sortie.c.battle_id == battle.id, t.sortie.c.sailed_on <= today
    )
    most = sa.select(sa.func.max(of_ship.group_by(t.sortie.c.ship_id).subquery().c.sailed))
    sailed = connection.execute(most).scalar() or 0
    share = ((min(battle.until_on, until) - battle.from_on).days + 1) / its_days
    left: int = round(planned * share) - int(sailed)
    return max(0, left)


def usual_sorties_a_day(connection: sa.Connection, today: date) -> int:
    """Sorties of a ship on a day of battle, as known on a day."""
    a_day = (
        sa.select(sa.func.max(t.sortie.c.number).label("sorties"))
        .where(t.sortie.c.battle_id.is_not(None), t.sortie.c.sailed_on <= today)
        .group_by(t.sortie.c.ship_id, t.sortie.c.sailed_on)
        .subquery()
    )
    mean = connection.execute(sa.select(sa.func.avg(a_day.c.sorties))).scalar()
    return _SORTIES_A_DAY if mean is None else max(1, round(float(mean)))


def _beyond_the_plan(connection: sa.Connection, today: date, days: int) -> int:
    """Sorties that a ship in commission sails in so many days at the pace of the last year."""
    if days <= 0:
        return 0
    last_year = (t.sortie.c.sailed_on > today - timedelta(days=_YEAR), t.sortie.c.sailed_on <= today)
    sailing = sa.select(sa.func.count()).select_from(t.sortie).join(t.ship, t.ship.c.id == t.sortie.c.ship_id)
    sorties: int = connection.execute(sailing.where(*last_year, t.ship.c.state == "in commission")).scalar() or 0
    ships: int = connection.execute(sa.select(sa.func.count()).where(t.ship.c.state == "in commission")).scalar() or 1
    return round(sorties / ships * days / _YEAR)
