"""Taking a part out, or from where it lies, and putting it elsewhere."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Any

import sqlalchemy as sa

from maintain.core.names import quoted
from maintain.errors import InvalidRecord
from maintain.records import find, places
from maintain.records import tables as t
from maintain.records.journal import Recorder
from maintain.results.base import Done
from maintain.services import placements
from maintain.services.placements import Spot, Timing
from maintain.services.salvage import to_come
from maintain.services.unit import Desk, writing

Row = sa.Row[Any]


@dataclass(frozen=True)
class Why:
    """
    Why a part is taken out and where it goes.

    Attributes
    ----------
    reason : str, optional
        None: working, unless it goes to the suspects.
    to : str, optional
        None: where the reason sends it, a working part to its owner.
    mode : str, optional
        What a suspect part did.
    """

    reason: str | None = None
    to: str | None = None
    mode: str | None = None

    @property
    def suspect(self) -> bool:
        """True if the part is doubted, not condemned."""
        return "suspect" in (self.reason, self.to)


def pull(desk: Desk, *, part: str, timing: Timing, why: Why, note: str | None) -> Done:
    """Take a part out of its position, or from where it lies, to another place."""
    with writing(desk, "part pull") as recorder:
        connection = recorder.connection
        row = find.part(connection, part)
        now = _now(connection, row)
        _require_sense(row, now, why)
        reason = "suspect" if why.suspect else (why.reason or "working")
        spot = _target(connection, row, now, why, reason)
        moment = placements.leaving_moment(connection, now.ship_id, timing, desk.today)
        moment, closed = placements.move(recorder, row, spot, moment, reason=reason)
        if why.suspect:
            open_suspicion(recorder, row, moment.when.on, why.mode, note)
        there = places.of_part(connection, row.id)[-1]
        did = f"{row.tag} is now {places.spoken(there)} from {moment}" + ("" if why.suspect else f" ({reason})")
        recorder.summarise(did)
        notes = to_come.said_of(connection, row.id, desk.today)
    if why.suspect and not notes:
        notes = (f"test it, then: maintain retest {quoted(row.tag)} pass (or fail)",)
    return Done(did, closed=closed, notes=notes, record={"part": row.tag, "place": spot.place, "reason": reason})


def open_suspicion(recorder: Recorder, part: Row, on: date, mode: str | None, note: str | None) -> None:
    """Note what makes a part doubtful."""
    if mode is None:
        raise InvalidRecord(f"what did {part.tag} do that makes it suspect?", hint="add --mode, for example erratic")
    recorder.insert(t.suspicion, part_id=part.id, raised_on=on, mode=mode, note=note)


def _now(connection: sa.Connection, part: Row) -> Row:
    history = places.of_part(connection, part.id)
    if not history or history[-1].until_on is not None:
        raise InvalidRecord(f"nobody knows where {part.tag} is", hint="fit it with: maintain part install")
    return history[-1]


def _require_sense(part: Row, now: Row, why: Why) -> None:
    if why.reason == "failed":
        raise InvalidRecord(
            f"{part.tag} failed: that is more than a pull",
            hint="record it with: maintain swap (a spare goes in) or: maintain failure log",
        )
    if now.place == "suspect":
        raise InvalidRecord(
            f"{part.tag} is suspect since {placements.start_of(now)}",
            hint=f"test it, then: maintain retest {quoted(part.tag)} pass (or fail)",
        )
    if why.reason == "suspect" and why.to not in (None, "suspect"):
        raise InvalidRecord(f"a suspect part can't go to {why.to}", hint="leave out --to, or give another --reason")
    if now.place != "installed" and why.to is None and not why.suspect:
        raise InvalidRecord(
            f"{part.tag} is not fitted to any ship: it is {places.spoken(now)}", hint="say where it goes with --to"
        )


def _target(connection: sa.Connection, part: Row, now: Row, why: Why, reason: str) -> Spot:
    if why.to == "captain":
        captain_id = part.owner_id
        if captain_id is None and now.ship_id is not None:
            captain_id = connection.execute(sa.select(t.ship.c.captain_id).where(t.ship.c.id == now.ship_id)).scalar()
        if captain_id is None:
            raise InvalidRecord(f"nobody owns {part.tag} and no captain is named", hint="put it --to pool")
        return Spot("captain", member_id=captain_id)
    if why.to is not None:
        return Spot(why.to)
    sent = {"suspect": Spot("suspect"), "ship lost": Spot("lost")}
    return sent.get(reason, placements.home(part))
