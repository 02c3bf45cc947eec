"""One part, one place: moving a part ends its earlier place and says so.

A moment is a day and the number of sorties the ship has already sailed that day. Dates known only to the month or
season bend to what is known exactly: an end never stands before its start.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date
from typing import Any, NamedTuple

import sqlalchemy as sa

from maintain.core.names import quoted
from maintain.core.when import When
from maintain.errors import InvalidRecord
from maintain.records import places
from maintain.records import tables as t
from maintain.records.journal import Recorder
from maintain.services.sorties import sailed_that_day

Row = sa.Row[Any]


@dataclass(frozen=True)
class Timing:
    """
    When something happened, as far as the user said.

    Attributes
    ----------
    when : When, optional
    after_sortie : int, optional
        After how many of that day's sorties.
    before_records : bool
        True if it was before the records begin, whatever day that is.
    """

    when: When | None = None
    after_sortie: int | None = None
    before_records: bool = False


@dataclass(frozen=True)
class Moment:
    """
    A day and how many sorties had been sailed.

    Attributes
    ----------
    when : When
    sortie : int
        Sorties of the ship already sailed that day.
    counted : bool
        True if the user named the sortie; otherwise it may bend to the order of the same day's other records.
    """

    when: When
    sortie: int = 0
    counted: bool = False

    @property
    def key(self) -> tuple[date, int]:
        """For comparison with other moments."""
        return self.when.on, self.sortie

    def no_earlier_than(self, on: date, sortie: int) -> Moment | None:
        """This moment, moved on to (on, sortie) as far as its precision allows; None if it surely lies before."""
        if self.key >= (on, sortie):
            return self
        moved = replace(self, when=self.when.no_earlier_than(on))
        if moved.key >= (on, sortie):
            return moved
        return None if moved.when.on != on or self.counted else replace(moved, sortie=sortie)

    def __str__(self) -> str:
        return f"{self.when} after sortie {self.sortie}" if self.sortie else f"{self.when}"


class Spot(NamedTuple):
    """A place a part can go to."""

    place: str
    position_id: int | None = None
    member_id: int | None = None


class Move(NamedTuple):
    """What a move came to: when it counts from, and the line that says what it ended (empty: nothing)."""

    moment: Moment
    closed: tuple[str, ...]


def home(part: Row) -> Spot:
    """Where a working part belongs: with its owner, or in the pool."""
    return Spot("pool") if part.owner_id is None else Spot("captain", member_id=part.owner_id)


def not_future(when: When, today: date) -> When:
    """
    Bend a date back to today, as far as its precision allows.

    Raises
    ------
    InvalidRecord
        If it lies in the future for sure.
    """
    bent = when.no_later_than(today)
    if bent.on > today:
        raise InvalidRecord(f"{when} is in the future", hint=f"today is {today}; record what has happened")
    return bent


def fitting_moment(connection: sa.Connection, position_id: int, timing: Timing, today: date) -> Moment:
    """When a part is fitted: in the morning, unless the part before it left that same day."""
    when = start(connection, position_id, timing) or not_future(timing.when or When(today), today)
    if timing.after_sortie is not None:
        return Moment(when, timing.after_sortie, counted=True)
    before = [row for row in places.of_position(connection, position_id) if row.until_on == when.on]
    return Moment(when, max((row.until_sortie for row in before), default=0))


def start(connection: sa.Connection, position_id: int | None, timing: Timing) -> When | None:
    """
    The day on which the records of a position's ship begin (or the club's), if that is when something was there.

    Raises
    ------
    InvalidRecord
        If nobody said when they begin.
    """
    if not timing.before_records:
        return None
    of_ship = sa.select(t.ship.c.records_from).join(t.position).where(t.position.c.id == position_id)
    day = connection.execute(of_ship).scalar() or connection.execute(sa.select(t.club.c.records_from)).scalar()
    if day is None:
        raise InvalidRecord(
            "nobody said when the records begin", hint="name the day: --from 'before 2024-03-01', for example"
        )
    return When(day, "before records")


def leaving_moment(connection: sa.Connection, ship_id: int | None, timing: Timing, today: date) -> Moment:
    """When a part leaves or fails: after the sorties its ship is recorded to have sailed that day."""
    if timing.before_records:
        raise InvalidRecord("what ended before the records begin is not in them", hint="give the day, month or season")
    when = not_future(timing.when or When(today), today)
    if timing.after_sortie is not None:
        return Moment(when, timing.after_sortie, counted=True)
    return Moment(when, 0 if ship_id is None else sailed_that_day(connection, ship_id, when.on))


def begin(recorder: Recorder, part: Row, spot: Spot, moment: Moment) -> Moment:
    """Give a part its first place."""
    moment = _room_at(recorder.connection, spot, moment)
    _insert(recorder, part, spot, moment)
    return moment


def move(recorder: Recorder, part: Row, spot: Spot, moment: Moment, *, reason: str = "moved") -> Move:
    """
    Put a part in another place and end the one before.

    Parameters
    ----------
    recorder : Recorder
    part : row of the part table
    spot : Spot
        Where it goes.
    moment : Moment
        When; bends to what is known exactly as far as its precision allows.
    reason : str
        Why it leaves its earlier place.

    Raises
    ------
    InvalidRecord
        If the part is there already, came to its present place later than `moment`, or the position holds another.
    """
    history = places.of_part(recorder.connection, part.id)
    if not history:
        return Move(begin(recorder, part, spot, moment), ())
    now = history[-1]
    if now.until_on is not None:
        moment = _after(now, now.until_on, now.until_sortie, moment)
        return Move(begin(recorder, part, spot, moment), ())
    if (now.place, now.position_id, now.member_id) == spot:
        raise InvalidRecord(
            f"{part.tag} is {places.being(now)} already", hint=f"see: maintain part show {quoted(part.tag)}"
        )
    if len(history) == 1 and _assumed(part, now) and moment.key < (now.from_on, now.from_sortie):
        recorder.delete(t.placement, now.id)
        moment = begin(recorder, part, spot, moment)
        began = places.being(places.of_part(recorder.connection, part.id)[0])
        line = f"{part.tag}'s record now begins {began} from {moment}: that it was {places.being(now)} was assumed"
        return Move(moment, (line,))
    moment = _room_at(recorder.connection, spot, _after_start(recorder, now, moment))
    if moment.when.precision == "before records":
        raise InvalidRecord(
            f"{part.tag} was {places.being(now)} since {start_of(now)}: the end of that needs a date",
            hint="give the day, month or season it was moved",
        )
    until = {"until_on": moment.when.on, "until_sortie": moment.sortie, "until_precision": moment.when.precision}
    recorder.update(t.placement, now.id, **until, reason=reason)
    _insert(recorder, part, spot, moment)
    return Move(moment, (f"{part.tag} was {places.being(now)} from {start_of(now)} to {moment}",))


def place_at(recorder: Recorder, part: Row, moment: Moment) -> Row:
    """
    Where a part was at a moment; the rough start of its present place bends back to it.

    Raises
    ------
    InvalidRecord
        If the part was not recorded anywhere yet.
    """
    history = places.of_part(recorder.connection, part.id)
    if not history:
        raise InvalidRecord(f"nobody knows where {part.tag} was", hint="fit it first with: maintain part install")
    now = history[-1]
    if moment.key < (now.from_on, now.from_sortie) and now.until_on is None and _bends(now, moment):
        _start_earlier(recorder, now, moment.when.on)
    there = places.covering(recorder.connection, part.id, *moment.key)
    if there is None:
        raise InvalidRecord(
            f"{part.tag} can't have failed at {moment}: it was {places.being(history[0])} "
            f"only from {start_of(history[0])}",
            hint="give the day it was found, or mend the day it was fitted",
        )
    return there


def start_of(row: Row) -> When:
    """The date a place began, as it is known."""
    return When(row.from_on, row.from_precision)


def _insert(recorder: Recorder, part: Row, spot: Spot, moment: Moment) -> None:
    start = {"from_on": moment.when.on, "from_sortie": moment.sortie, "from_precision": moment.when.precision}
    recorder.insert(t.placement, part_id=part.id, **spot._asdict(), **start)


def _assumed(part: Row, row: Row) -> bool:
    """A part whose purchase nobody dated is taken to lie at home only from the day it was entered."""
    return part.acquired_on is None and row.place in ("pool", "captain")


def _after(row: Row, on: date, sortie: int, moment: Moment) -> Moment:
    moved = moment.no_earlier_than(on, sortie)
    if moved is None:
        known = Moment(When(on), sortie)
        raise InvalidRecord(
            f"{row.tag} was {places.being(row)} at {known}, so it can't have been moved at {moment}",
            hint=f"give {known} or later, or see its places with: maintain part show {quoted(row.tag)}",
        )
    return moved


def _after_start(recorder: Recorder, now: Row, moment: Moment) -> Moment:
    """The moment, moved on to where the part's present place began; or else that beginning, moved back to it."""
    if moment.no_earlier_than(now.from_on, now.from_sortie) is None and _bends(now, moment):
        _start_earlier(recorder, now, moment.when.on)
        return moment
    return _after(now, now.from_on, now.from_sortie, moment)


def _bends(now: Row, moment: Moment) -> bool:
    """Whether a place that began after `moment`, as recorded, can have begun by then."""
    start = start_of(now)
    return start.precision != "day" and start.no_later_than(moment.when.on).on <= moment.when.on


def _start_earlier(recorder: Recorder, now: Row, on: date) -> None:
    """Move a start known only roughly back to the morning of a day, and with it the rough ends it would overtake."""
    before = {row.id: row for row in places.of_part(recorder.connection, now.part_id)}
    if now.position_id is not None:
        before |= {row.id: row for row in places.of_position(recorder.connection, now.position_id)}
    for row in before.values():
        if row.id == now.id or (row.until_on, row.until_sortie) <= (on, 0):
            continue
        end = When(row.until_on, row.until_precision)
        if end.precision == "day" or end.no_later_than(on).on > on or (row.from_on, row.from_sortie) > (on, 0):
            raise InvalidRecord(
                f"{row.tag} was {places.being(row)} from {start_of(row)} to {end}, and {now.tag} came after it",
                hint=f"give {end} or later",
            )
        recorder.update(t.placement, row.id, until_on=on, until_sortie=0)
    recorder.update(t.placement, now.id, from_on=on, from_sortie=0)
    part = recorder.connection.execute(sa.select(t.part).where(t.part.c.id == now.part_id)).one()
    if part.acquired_on is not None and on < part.acquired_on:
        recorder.update(t.part, part.id, acquired_on=on)


def _room_at(connection: sa.Connection, spot: Spot, moment: Moment) -> Moment:
    """The moment, moved on until the position is free; places other than positions have room for all."""
    if spot.position_id is None:
        return moment
    for row in places.of_position(connection, spot.position_id):
        where = places.spoken(row)
        if row.until_on is None:
            raise InvalidRecord(
                f"{where} holds {row.tag} since {start_of(row)}",
                hint=f"take it out: maintain part pull {quoted(where)}; or if it failed: maintain swap {quoted(where)}",
            )
        later = moment.no_earlier_than(row.until_on, row.until_sortie)
        if later is None:
            raise InvalidRecord(
                f"{where} held {row.tag} until {Moment(When(row.until_on, row.until_precision), row.until_sortie)}",
                hint="fit the new part then or later",
            )
        moment = later
    return moment
