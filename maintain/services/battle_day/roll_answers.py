"""Answers of a roll call: what works is known to be alive, what does not has failed, what is elsewhere is put right."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Any

import sqlalchemy as sa

from maintain.core.names import quoted
from maintain.core.when import When
from maintain.errors import InvalidRecord
from maintain.records import find, places, roll_calls
from maintain.records import tables as t
from maintain.records.journal import Recorder
from maintain.results.base import Done
from maintain.services import open_failures, parts, placements
from maintain.services.battle_day import emptied, follows, roll_call, taken_back, withdrawn
from maintain.services.battle_day.roll_call import Called
from maintain.services.battle_day.witness import by_whom, moment
from maintain.services.parts import NewPart
from maintain.services.placements import Moment, Spot
from maintain.services.unit import Desk, writing

Row = sa.Row[Any]

_FOUND_BY = "roll call"


@dataclass(frozen=True)
class Found:
    """
    What was found at a position.

    Attributes
    ----------
    answer : str
        works, does not work, empty or not seen.
    opens : str
        What is made of a part that does not work: "failure" or "suspect".
    mode : str
        What it did.
    by : str, optional
        The member who answers.
    note : str, optional
    """

    answer: str
    opens: str = "failure"
    mode: str = "dead"
    by: str | None = None
    note: str | None = None


@dataclass(frozen=True)
class There:
    """
    The part that is there, whatever the records have.

    Attributes
    ----------
    tag : str
        A new one enters a part of unknown history.
    family : str, optional
        Of a new part; None: as the part recorded there.
    anyway : bool
        True: it fits after rework.
    """

    tag: str
    family: str | None = None
    anyway: bool = False


def begin(desk: Desk, *, ship: str) -> None:
    """Begin the roll call of a ship in this half season, unless it was."""
    with writing(desk, "rollcall begin") as recorder:
        called = roll_call.begin(recorder, ship, desk.today)
        recorder.summarise(f"began the roll call of {called.ship.name}")


def answer(desk: Desk, *, where: str, found: Found) -> Done:
    """Write down what was found; an answer given again replaces the earlier one, but a part taken out stays out."""
    with writing(desk, "rollcall answer") as recorder:
        connection = recorder.connection
        position = find.position(connection, where)
        called = roll_call.begin(recorder, position.ship, desk.today)
        part = find.installed_in(connection, position.id)
        told = _written(recorder, desk, called, (position, part), found)
        told += _finished(recorder, desk, called)
        what = f" ({part.tag})" if part is not None and found.answer != "not seen" else ""
        did = f"{position.ship}/{position.name}{what}: {found.answer}"
        recorder.summarise(did)
    record = {
        "ship": position.ship,
        "position": position.name,
        "answer": found.answer,
        "part": part.tag if part else None,
    }
    return Done(did, notes=tuple(told), record=record)


def _written(recorder: Recorder, desk: Desk, called: Called, at: tuple[Row, Row | None], found: Found) -> list[str]:
    position, part = at
    assert called.row is not None
    if part is None and found.answer in ("works", "does not work"):
        emptied.require_part(recorder.connection, position.id, f"{position.ship}/{position.name}")
    before = roll_calls.answers(recorder.connection, called.row.id).get(position.id)
    by_id = by_whom(recorder.connection, found.by, desk.who)
    told: list[str] = []
    reading_id = None
    if found.answer == "works" and part is not None:
        reading_id = follows.passed(recorder, position.id, part.id, by_id, desk.today, _FOUND_BY)
    elif found.answer == "does not work":
        doubt = withdrawn.Doubt(found.opens, found.mode, _FOUND_BY, found.note)
        told += withdrawn.withdraw(recorder, desk.today, called.ship, (position.id, position.name), doubt)
    elif found.answer == "empty" and part is not None:
        told += _taken_out(recorder, part, desk)
    values = {
        "answer": found.answer,
        "part_id": part.id if part is not None and found.answer in ("works", "does not work") else None,
        "reading_id": reading_id,
        "by_id": by_id,
        "answered_at": moment(desk.today),
        "note": found.note,
    }
    if before is None:
        recorder.insert(t.roll_call_answer, roll_call_id=called.row.id, position_id=position.id, **values)
    else:
        recorder.update(t.roll_call_answer, before.id, **values)
        if before.reading_id is not None:  # it says that the part worked, which is what the new answer decides
            recorder.delete(t.reading, before.reading_id)
    return told


def _taken_out(recorder: Recorder, part: Row, desk: Desk) -> list[str]:
    """A part that is not where the records have it: with its owner, unless it failed or is suspect."""
    connection = recorder.connection
    if open_failures.aboard(connection, part, desk.today) is not None:
        spot, reason = Spot("scrapped"), "failed"
    elif _doubted(connection, part):
        spot, reason = Spot("suspect"), "suspect"
    else:
        spot, reason = placements.home(part), "correction"
    placements.move(recorder, part, spot, _some_time_this_season(desk), reason=reason)
    there = places.being(places.of_part(connection, part.id)[-1])
    return [
        f"{part.tag} is not there; taken to be {there}, if it is not: maintain part pull {quoted(part.tag)} --to PLACE"
    ]


def _some_time_this_season(desk: Desk) -> Moment:
    """Nobody wrote down when it was moved: by today, some time this season."""
    return Moment(When(desk.today, "season"))


def _finished(recorder: Recorder, desk: Desk, called: Called) -> list[str]:
    """With the last position the roll call is finished."""
    assert called.row is not None
    found = roll_call.page(recorder.connection, called, desk.today)
    if found.pending() is not None:
        return []
    recorder.update(t.roll_call, called.row.id, finished_on=called.row.finished_on or desk.today)
    works = sum(line.answer == "works" for line in found.lines)
    return [f"all {len(found.lines)} positions called: {works} work"]


def correct(desk: Desk, *, where: str, there: There) -> Done:
    """
    Put the records right: another part is there; the position is then still to be answered.

    Raises
    ------
    InvalidRecord
        If that part is suspect or gone, does not fit there, or is the one on record.
    """
    with writing(desk, "rollcall correct") as recorder:
        connection = recorder.connection
        position = find.position(connection, where)
        called = roll_call.begin(recorder, position.ship, desk.today)
        recorded = find.installed_in(connection, position.id)
        part, entered = _part_there(recorder, desk, (called.ship, position, recorded), there)
        if recorded is not None and part.id == recorded.id:
            raise InvalidRecord(
                f"{part.tag} is what the records have in {position.ship}/{position.name}", hint="answer works"
            )
        if not there.anyway:
            parts.require_fit(connection, part, position)
        told = _taken_out(recorder, recorded, desk) if recorded is not None else []
        spot = Spot("installed", position_id=position.id)
        _, closed = placements.move(recorder, part, spot, _some_time_this_season(desk), reason="correction")
        did = f"{position.ship}/{position.name} holds {part.tag}{entered}, since some time this season"
        recorder.summarise(did)
    record = {"ship": position.ship, "position": position.name, "part": part.tag}
    return Done(did, closed=closed, notes=tuple(told), record=record)


def _part_there(recorder: Recorder, desk: Desk, at: tuple[Row, Row, Row | None], there: There) -> tuple[Row, str]:
    """The part with a tag, entered if nobody knew of it: as one like that which was recorded there."""
    connection = recorder.connection
    ship, position, recorded = at
    known = {each.lower(): each for each in connection.execute(sa.select(t.part.c.tag)).scalars()}
    if there.tag.strip().lower() in known:
        row = find.part(connection, known[there.tag.strip().lower()])
        _require_sound(connection, row, desk.today)
        return row, ""
    owner_id = recorded.owner_id if recorded is not None else ship.captain_id
    owner = connection.execute(sa.select(t.member.c.name).where(t.member.c.id == owner_id)).scalar()
    named = there.family or _family_of(connection, position, recorded)
    return parts.insert(recorder, NewPart(named, there.tag, owner=owner), desk.today), f" (new to the records: {named})"


def _require_sound(connection: sa.Connection, part: Row, today: date) -> None:
    if _doubted(connection, part):
        raise InvalidRecord(
            f"{part.tag} is suspect", hint=f"test it first, then: maintain retest {quoted(part.tag)} pass (or fail)"
        )
    parts.require_usable(part, next(reversed(places.of_part(connection, part.id)), None))
    failed = open_failures.aboard(connection, part, today)
    if failed is not None:
        raise InvalidRecord(
            f"{failed}, stands", hint="if the records have the wrong part there, correct that position first"
        )


def _doubted(connection: sa.Connection, part: Row) -> bool:
    open_ = sa.select(t.suspicion.c.id).where(t.suspicion.c.part_id == part.id, t.suspicion.c.closed_on.is_(None))
    return connection.execute(open_).first() is not None


def _family_of(connection: sa.Connection, position: Row, recorded: Row | None) -> str:
    if recorded is not None:
        query = sa.select(t.family.c.name).where(t.family.c.id == recorded.family_id)
        return str(connection.execute(query).scalar_one())
    fitting = list(places.fitting_families(connection, position.id).values())
    if len(fitting) == 1:
        return fitting[0]
    among = f" (one of: {', '.join(fitting)})" if fitting else ""
    raise InvalidRecord(f"which family is it?{among}", hint="name it with --family, or enter it: maintain part add")


def take_back(desk: Desk, *, ship: str) -> Done:
    """Take back the last answer of a ship's roll call, with all that followed from it."""
    with writing(desk, "undo") as recorder:
        called = roll_call.look_up(recorder.connection, ship, desk.today)
        given = roll_calls.answers(recorder.connection, called.row.id) if called.row else {}
        of = f"the roll call of {called.ship.name}"
        did = taken_back.take_back(recorder, "roll_call_answer", [row.uid for row in given.values()], of)
    return Done(did, record={"ship": called.ship.name})
