"""A small fleet written straight into the tables, so that a test shows all that matters to it and no more."""

from __future__ import annotations

from datetime import date
from typing import Any

import sqlalchemy as sa

from maintain.records import tables as t
from maintain.records.engine import make_engine
from maintain.records.journal import Recorder
from maintain.services.lives.history import History, history

TODAY = date(2025, 9, 1)
FITTED = date(2025, 4, 1)


def day(text: str) -> date:
    return date.fromisoformat(text)


class Fleet:
    """Adds rows with everything else at its most ordinary; commits them when the past is asked for."""

    def __init__(self, db: str) -> None:
        self.db = db
        self._connection = make_engine(db).connect()

    def add(self, table: sa.Table, **values: Any) -> int:
        if not self._connection.in_transaction():
            self._connection.begin()
        return Recorder(self._connection, "tester", "test").insert(table, **values)

    def commit(self) -> None:
        if self._connection.in_transaction():
            self._connection.commit()

    def close(self) -> None:
        self._connection.close()

    def ship(self, name: str, records_from: date | None = date(2025, 1, 1), **values: Any) -> int:
        values = {"state": "in commission", **values}
        return self.add(t.ship, name=name, records_from=records_from, **values)

    def position(self, ship: int, name: str, zone: str = "bilge", system: str = "steering") -> int:
        return self.add(t.position, ship_id=ship, name=name, system=system, zone=zone, dependence="vital")

    def family(self, name: str = "servo", *, hidden: bool = False, ages_on_shelf: bool = False) -> int:
        return self.add(
            t.family, name=name, category="servo", tracking="tagged", hidden=hidden, ages_on_shelf=ages_on_shelf
        )

    def part(self, tag: str, family: int, *, used: bool = False) -> int:
        known = {"origin": "second-hand", "prior_use": "unknown"} if used else {"origin": "new", "prior_use": "none"}
        return self.add(t.part, tag=tag, family_id=family, **known)

    def fit(
        self,
        part: int,
        position: int,
        begin: date = FITTED,
        end: date | None = None,
        *,
        sorties: tuple[int, int] = (0, 0),
        **values: Any,
    ) -> int:
        until = {"until_on": end, "until_sortie": sorties[1], "until_precision": "day"} if end else {}
        placed = {"from_on": begin, "from_sortie": sorties[0], "from_precision": "day", **until, **values}
        return self.add(t.placement, part_id=part, place="installed", position_id=position, **placed)

    def shelve(self, part: int, place: str, begin: date, end: date | None = None) -> int:
        until = {"until_on": end, "until_sortie": 0, "until_precision": "day"} if end else {}
        placed = {"from_on": begin, "from_sortie": 0, "from_precision": "day", **until}
        return self.add(t.placement, part_id=part, place=place, **placed)

    def sail(self, ship: int, on: date, number: int = 1, wetness: str | None = "W1", **values: Any) -> int:
        sank = {"ending": "sank", "sinking_cause": "damage"} if wetness in ("W3", "W4", "W5") else {}
        return self.add(
            t.sortie,
            ship_id=ship,
            sailed_on=on,
            number=number,
            wetness=wetness,
            **{"minutes_afloat": 20, **sank, **values},
        )

    def fail(self, part: int, on: date, found_sortie: int = 0, **values: Any) -> int:
        told = {
            "mode": "dead",
            "cause": "water",
            "effect": "lost function",
            "found_by": "pre-battle check",
            "secondary": False,
            **values,
        }
        return self.add(t.failure, part_id=part, found_on=on, found_sortie=found_sortie, **told)

    def past(self, today: date = TODAY) -> History:
        self.commit()
        with make_engine(self.db, "read").connect() as connection, connection.begin():
            return history(connection, today)
