"""Roll calls: twice a season, what is in each ship and does it work? They find the deaths that nobody wrote down."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Any

import sqlalchemy as sa

from maintain.core.names import quoted
from maintain.core.recurrence import season_part
from maintain.errors import InvalidRecord
from maintain.records import find, roll_calls, ship_page
from maintain.records import tables as t
from maintain.records.journal import Recorder
from maintain.results.base import Column, Listing
from maintain.results.roll_call import RollCall, RollCallLine
from maintain.services.battle_day.begun import require_sailing
from maintain.services.unit import Desk, reading

Row = sa.Row[Any]

_HALVES = 2  # of a season (common practice, no source)


@dataclass(frozen=True)
class Half:
    """Half a season, from its first to its last day."""

    first: date
    last: date

    @classmethod
    def of(cls, day: date) -> Half:
        """The half that a day lies in."""
        return cls(*season_part(day, _HALVES))


@dataclass(frozen=True)
class Called:
    """A ship and her roll call of this half season; None: not begun."""

    ship: Row
    row: Row | None


def show(desk: Desk, *, ship: str) -> RollCall:
    """The roll call of a ship in this half of the season."""
    with reading(desk) as connection:
        return page(connection, look_up(connection, ship, desk.today), desk.today)


def look_up(connection: sa.Connection, ship: str, today: date) -> Called:
    """A ship and her roll call of this half season."""
    hull = find.ship(connection, ship)
    half = Half.of(today)
    return Called(hull, roll_calls.latest(connection, half.first, half.last).get(hull.id))


def begin(recorder: Recorder, ship: str, today: date) -> Called:
    """
    The roll call of a ship in this half season, begun if it was not.

    Raises
    ------
    InvalidRecord
        If she does not sail, has no positions, or was called later than today.
    """
    connection = recorder.connection
    called = look_up(connection, ship, today)
    require_sailing(called.ship)
    if not ship_page.fitted(connection, called.ship.id, today):
        where = quoted(f"{called.ship.name}/rudder-servo")
        raise InvalidRecord(
            f"{called.ship.name} has no positions to call",
            hint=f"add them: maintain position add {where} --system steering --zone bilge",
        )
    if called.row is None:
        recorder.insert(t.roll_call, ship_id=called.ship.id, begun_on=today)
        return look_up(connection, ship, today)
    if called.row.begun_on > today:
        raise InvalidRecord(
            f"this roll call was begun on {called.row.begun_on}", hint="give that day or a later one with --on"
        )
    return called


def page(connection: sa.Connection, called: Called, today: date) -> RollCall:
    """Position by position, what the records have there and what was found."""
    given = roll_calls.answers(connection, called.row.id) if called.row else {}
    lines = tuple(_line(row, given.get(row.position_id)) for row in ship_page.fitted(connection, called.ship.id, today))
    half = Half.of(today)
    captain = connection.execute(sa.select(t.member.c.name).where(t.member.c.id == called.ship.captain_id)).scalar()
    return RollCall(
        ship=called.ship.name,
        captain=captain,
        half_from=half.first,
        half_until=half.last,
        begun_on=called.row.begun_on if called.row else None,
        finished_on=called.row.finished_on if called.row else None,
        answered=sum(line.answer is not None for line in lines),
        lines=lines,
    )


def _line(row: Any, given: Any) -> RollCallLine:
    line = (row.position, row.system, row.zone, row.tag, row.family)
    if given is None:
        return RollCallLine(*line)
    return RollCallLine(*line, given.answer, given.tag, given.by, given.answered_at, given.note)


_BOARD = (
    Column("ship", "Ship"),
    Column("captain", "Captain"),
    Column("begun_on", "Called on"),
    Column("answered", "Answered", numeric=True),
    Column("positions", "Positions", numeric=True),
    Column("works", "Works", numeric=True),
    Column("failed", "Doesn't work", numeric=True),
    Column("empty", "Empty", numeric=True),
    Column("not_seen", "Not seen", numeric=True),
    Column("last_on", "Last called"),
)


def board(desk: Desk) -> Listing:
    """Every ship in commission in this half season; those not called first, the longest unseen before the others."""
    half = Half.of(desk.today)
    with reading(desk) as connection:
        calls = roll_calls.latest(connection, half.first, half.last)
        last = roll_calls.ever(connection, desk.today)
        hulls = sa.select(t.ship).where(t.ship.c.state == "in commission").order_by(sa.func.lower(t.ship.c.name))
        pages = [
            (page(connection, Called(ship, calls.get(ship.id)), desk.today), last.get(ship.id))
            for ship in connection.execute(hulls).all()
        ]
    rows = [_board_line(found, seen) for found, seen in pages]
    rows.sort(key=lambda row: (row["begun_on"] is not None, row["last_on"] or date.min))
    waiting = [row["ship"] for row in rows if row["begun_on"] is None]
    half_done = [row["ship"] for row in rows if row["begun_on"] is not None and row["answered"] < row["positions"]]
    footer = [f"not called this half season (until {half.last}): {', '.join(waiting)}"] if waiting else []
    footer += [f"begun, not finished: {', '.join(half_done)}"] if half_done else []
    title = f"Roll call, {half.first} to {half.last}"
    return Listing(title, _BOARD, tuple(rows), tuple(footer), empty="no ship is in commission: maintain ship list")


def _board_line(found: RollCall, last_on: date | None) -> dict[str, Any]:
    answers = [line.answer for line in found.lines]
    return {
        "ship": found.ship,
        "captain": found.captain,
        "begun_on": found.begun_on,
        "answered": found.answered,
        "positions": len(found.lines),
        "works": answers.count("works"),
        "failed": answers.count("does not work"),
        "empty": answers.count("empty"),
        "not_seen": answers.count("not seen"),
        "last_on": last_on,
    }
