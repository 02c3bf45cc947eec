"""Seasons of which nothing was logged: parts are taken for fresher than they are, and nobody notices."""

from __future__ import annotations

from datetime import date

import sqlalchemy as sa

from maintain.records import tables as t


def seasons_unlogged(connection: sa.Connection, today: date, ship: str | None = None) -> tuple[str, ...]:
    """
    Seasons in which the club fought and a ship in commission has no sortie, a note each.

    Parameters
    ----------
    ship : str, optional
        Only hers.
    """
    season = sa.extract("year", t.battle.c.from_on)
    fought = sa.select(season.label("season"), sa.func.max(t.battle.c.from_on).label("last")).where(
        t.battle.c.state == "fought", t.battle.c.until_on < today
    )
    battles = {int(row.season): row.last for row in connection.execute(fought.group_by(season))}
    ships = sa.select(t.ship.c.id, t.ship.c.name, t.ship.c.records_from).where(t.ship.c.state == "in commission")
    if ship is not None:
        ships = ships.where(t.ship.c.name == ship)
    year = sa.extract("year", t.sortie.c.sailed_on)
    rows = connection.execute(sa.select(t.sortie.c.ship_id, year.label("season")).distinct())
    sailed = {(row.ship_id, int(row.season)) for row in rows}
    fleet = connection.execute(ships.order_by(sa.func.lower(t.ship.c.name))).all()
    notes = []
    for each, last in sorted(battles.items()):
        missing = [
            row.name
            for row in fleet
            if (row.id, each) not in sailed and (row.records_from is None or row.records_from <= last)
        ]
        if missing:
            notes.append(
                f"no sortie in {each} on record of {', '.join(missing)}: their parts count as unused then; if they "
                f"sailed, log it: maintain sortie log SHIP=W0 --on {last}"
            )
    return tuple(notes)
