"""Readings put together to what one line may be drawn through: one part, one measure, nothing changed beside it."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from datetime import date
from itertools import groupby
from typing import Any

import sqlalchemy as sa

from maintain.core.when import When
from maintain.records import readings
from maintain.results.readings import Point
from maintain.services.battle_day.figures import makes_sense
from maintain.vocabulary import SITUATED

_TURNED_BY_A_MOTOR = "pump seconds per litre"
_GONE = ("scrapped", "lost")


@dataclass(frozen=True)
class Where:
    """A position of a ship, or nowhere."""

    position_id: int | None = None
    position: str | None = None
    system: str | None = None
    ship_id: int | None = None
    ship: str | None = None
    sails: bool = False

    @classmethod
    def of(cls, row: Any) -> Where:
        """The one a row names."""
        sails = row.state == "in commission"
        return cls(row.position_id, row.position, row.system, row.ship_id, row.ship, sails)


@dataclass(frozen=True)
class Stretch:
    """
    Readings of one measure between two changes.

    Attributes
    ----------
    of : tuple
        Family and category of the part, if there is one.
    where : Where
        Where it was measured; of what is measured of a part wherever it is: where that part is now.
    current : bool
        True: nothing was changed since the last reading.
    since, because : date, str
        From when ages count, and why from then.
    first : float
        The first reading of the part.
    points : tuple of Point
        By day.
    """

    measure: str
    part_id: int | None
    part: str | None
    of: tuple[int | None, str | None]
    where: Where
    current: bool
    since: date
    because: str
    first: float
    points: tuple[Point, ...]

    @property
    def name(self) -> str:
        """What was measured, as commands name it."""
        return self.part or f"{self.where.ship}/{self.where.position}"


@dataclass(frozen=True)
class Omitted:
    """A reading that is in no stretch, and why."""

    why: str
    measure: str
    part_id: int | None
    where: Where
    name: str
    current: bool = True

    @classmethod
    def of(cls, row: Any, why: str) -> Omitted:
        """One row."""
        return cls(why, row.measure, row.part_id, Where.of(row), row.tag or f"{row.ship}/{row.position}")


def stretches(connection: sa.Connection, today: date) -> tuple[list[Stretch], list[Omitted]]:
    """All stretches of readings up to a day, and which readings are in none."""
    rows = readings.gauged(connection)
    changes = _Changes.known(connection, today)
    series: dict[tuple[str, int | None, int | None], list[Any]] = defaultdict(list)
    omitted: list[Omitted] = []
    for row in rows:
        why = _why_not(row, today)
        if why is not None:
            omitted.append(Omitted.of(row, why))
        else:
            at_its_place = row.part_id is None or row.measure in SITUATED
            series[row.measure, row.part_id, row.position_id if at_its_place else None].append(row)
    found: list[Stretch] = []
    for (_, part_id, position_id), group in series.items():
        fitted = changes.fitted(part_id, position_id)
        earliest = fitted.earliest if fitted and position_id is not None else None
        early = [row for row in group if earliest is not None and row.taken_on < earliest]
        omitted += [Omitted.of(row, "taken before the part was fitted there") for row in early]
        found += _split(group[len(early) :], fitted, changes, group[0].value)
    return found, omitted


def _why_not(row: Any, today: date) -> str | None:
    """Why a reading tells nothing, whatever it was taken of."""
    if row.taken_on > today:
        return f"taken after {today}"
    if not makes_sense(row.value, row.measure):
        return "no such value can be meant: a slip of the hand or of the unit"
    return None


@dataclass(frozen=True)
class _Changes:
    """
    What was fitted when.

    Attributes
    ----------
    fittings : dict
        First fitting of a part in a position; in any, under None.
    motors : dict
        By ship, days on which another motor came to her pumps, with its position.
    """

    fittings: dict[tuple[int, int | None], When]
    motors: dict[int, list[tuple[date, str]]]
    now: dict[int, Any]
    occupied: set[int]

    @classmethod
    def known(cls, connection: sa.Connection, today: date) -> _Changes:
        """As the records have it on a day."""
        rows = readings.fittings(connection, today)
        fittings: dict[tuple[int, int | None], When] = {}
        motors: dict[int, list[tuple[date, str]]] = defaultdict(list)
        turning: dict[int, int] = {}
        for row in rows:
            for place in (row.position_id, None):
                fittings.setdefault((row.part_id, place), When(row.from_on, row.from_precision))
            if row.turns_a_pump:
                if turning.get(row.position_id, row.part_id) != row.part_id:
                    motors[row.ship_id].append((row.from_on, row.position))
                turning[row.position_id] = row.part_id
        return cls(fittings, motors, readings.places_now(connection, today), readings.occupied(connection, today))

    def fitted(self, part_id: int | None, position_id: int | None) -> When | None:
        """When a part was first fitted in a position, or in any; None if nobody knows."""
        if part_id is None:
            return None
        found = self.fittings.get((part_id, position_id))
        return None if found is None or found.precision == "before records" else found

    def motor_before(self, row: Any) -> tuple[date, str] | None:
        """The last change of a motor that a reading of a pump came after."""
        if row.measure != _TURNED_BY_A_MOTOR:
            return None
        return max((each for each in self.motors.get(row.ship_id, ()) if each[0] <= row.taken_on), default=None)

    def is_current(self, row: Any, turned_since: tuple[date, str] | None) -> bool:
        """Whether what a reading was taken of is still as it was then."""
        if row.part_id is None:
            return row.position_id not in self.occupied
        now = self.now.get(row.part_id)
        if now is None or now.place in _GONE:
            return False
        if row.measure not in SITUATED:
            return True
        latest = max(self.motors.get(row.ship_id, ()), default=None) if row.measure == _TURNED_BY_A_MOTOR else None
        return bool(now.position_id == row.position_id) and turned_since == latest


def _split(rows: list[Any], fitted: When | None, changes: _Changes, first: float) -> list[Stretch]:
    """The readings of one part and measure, parted where something beside it was changed."""
    found = []
    for turned, group in groupby(rows, changes.motor_before):
        own = list(group)
        row, since, because = own[-1], own[0].taken_on, "its first reading; when it was fitted is not known"
        if fitted is not None:
            since, because = (
                min(fitted.on, own[0].taken_on),
                "fitted then" if fitted.precision == "day" else f"fitted {fitted}, day unknown",
            )
        if turned is not None and (fitted is None or turned[0] > fitted.on):
            since, because = turned[0], f"the {turned[1]} was changed then"
        found.append(
            Stretch(
                measure=row.measure,
                part_id=row.part_id,
                part=row.tag,
                of=(row.family_id, row.category),
                where=_where(row, changes),
                current=changes.is_current(row, turned),
                since=since,
                because=because,
                first=first,
                points=tuple(Point(each.taken_on, (each.taken_on - since).days, each.value) for each in own),
            )
        )
    return found


def _where(row: Any, changes: _Changes) -> Where:
    if row.measure in SITUATED or row.part_id is None:
        return Where.of(row)
    now = changes.now.get(row.part_id)
    return Where() if now is None or now.position_id is None else Where.of(now)
