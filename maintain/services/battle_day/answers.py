"""Answers of a check: each is kept at once, and what follows from it with it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Any

import sqlalchemy as sa

from maintain.core.names import quoted
from maintain.errors import InvalidRecord, NotFound
from maintain.records import checks as rows
from maintain.records import find
from maintain.records import tables as t
from maintain.records.journal import Recorder
from maintain.results.base import Done
from maintain.services.battle_day import begun, check_page, emptied, follows, in_date, taken_back, withdrawn
from maintain.services.battle_day.begun import Check, Step
from maintain.services.battle_day.morning import BY_NAME
from maintain.services.battle_day.witness import by_whom, moment
from maintain.services.unit import Desk, writing


@dataclass(frozen=True)
class Reply:
    """
    What somebody answers.

    Attributes
    ----------
    answer : str
        pass, fail, not done or promise.
    figure : str, optional
        What the test measured, as written.
    note : str, optional
        Of a promise: what is promised.
    by : str, optional
        The member who answers.
    due : date, optional
        By when a promise is to be kept; None: before the battle after this one.
    opens : str, optional
        "failure" or "suspect": what a fail makes of the part.
    mode : str, optional
        What the part did; None: what its kind most likely did.
    """

    answer: str
    figure: str | None = None
    note: str | None = None
    by: str | None = None
    due: date | None = None
    opens: str | None = None
    mode: str | None = None


def begin(desk: Desk, *, ship: str, battle: str | None) -> None:
    """Begin a check, unless it was: from now on its questions stay."""
    with writing(desk, "check begin") as recorder:
        check = begun.begin(recorder, ship, battle, desk.today)
        recorder.summarise(f"began the check of {check.ship.name} before {check.battle.name}")


def answer(desk: Desk, *, ship: str, battle: str | None, step: int, reply: Reply) -> Done:
    """Answer a step; a later answer replaces it, and the journal keeps both; a part taken out stays out."""
    with writing(desk, "check answer") as recorder:
        check = begun.begin(recorder, ship, battle, desk.today)
        asked = _step(check, step)
        _require_sense(asked, reply)
        told_of_date = _require_pass(recorder.connection, check, asked, desk.today) if reply.answer == "pass" else []
        told, notes = _record(recorder, desk, check, asked, reply)
        notes += [*told_of_date, *_finished(recorder, desk.today, check)]
        did = f"{check.ship.name}, step {step} ({asked.topic or asked.question}): {reply.answer}{told}"
        recorder.summarise(did)
    record = {"ship": check.ship.name, "battle": check.battle.name, "step": step, "answer": reply.answer}
    return Done(did, notes=tuple(notes), record=record)


def take_back(desk: Desk, *, ship: str, battle: str | None) -> Done:
    """
    Take back the last answer of a check, with all that followed from it.

    Raises
    ------
    NotFound, InvalidRecord
        If there is none, or later records build on it.
    """
    with writing(desk, "undo") as recorder:
        connection = recorder.connection
        check = begun.look_up(connection, ship, battle, desk.today)
        given = rows.answers(connection, check.row.id) if check.row else {}
        of = f"{check.ship.name} before {check.battle.name}"
        did = taken_back.take_back(recorder, "check_answer", [row.uid for row in given.values()], of)
    return Done(did, record={"ship": check.ship.name, "battle": check.battle.name})


def _step(check: Check, number: int) -> Step:
    found = next((each for each in check.steps if each.step == number), None)
    if found is None:
        raise NotFound(
            f"the check of {check.ship.name} has no step {number}: it has {len(check.steps)}",
            hint=f"see: maintain check show {quoted(check.ship.name)}",
        )
    return found


def _require_sense(step: Step, reply: Reply) -> None:
    topic = BY_NAME.get(step.topic or "")
    if reply.figure is not None and (topic is None or topic.measure is None or step.position_id is None):
        raise InvalidRecord(f"step {step.step} takes no figure", hint="write what was seen with --note")
    if reply.figure is not None and reply.answer == "not done":
        raise InvalidRecord("a test that gave a figure was done", hint="answer pass or fail, or leave out --figure")
    if reply.opens is not None and reply.answer != "fail":
        raise InvalidRecord(f"only a fail opens a {reply.opens}", hint="answer fail, or leave it out")
    if reply.due is not None and reply.answer != "promise":
        raise InvalidRecord("only a promise has a day to keep it by", hint="answer promise, or leave out --due")


def _require_pass(connection: sa.Connection, check: Check, step: Step, today: date) -> list[str]:
    """Refuse a pass that the records contradict; what to say of a legal date that a pass of this step speaks of."""
    if step.position_id is None:
        return []
    emptied.require_no_gap(connection, step.position_id, f"{check.ship.name}/{step.position}")
    topic = BY_NAME.get(step.topic or "")
    part = find.installed_in(connection, step.position_id)
    if topic is None or not topic.dated or part is None:
        return []
    return in_date.require(connection, part, today, check.battle)


def _record(recorder: Recorder, desk: Desk, check: Check, step: Step, reply: Reply) -> tuple[str, list[str]]:
    """Write the answer and what follows from it; what to say of it in the line, and below."""
    connection = recorder.connection
    assert check.row is not None
    before = rows.answers(connection, check.row.id).get(step.step)
    by_id = by_whom(connection, reply.by, desk.who)
    notes = follows.let_go(recorder, before, reply.answer, desk.today)
    told = ""
    values: dict[str, Any] = {"reading_id": None, "task_id": None}
    if reply.figure is not None:
        reading_id, told, minded = follows.measure(recorder, step, reply.figure, by_id, desk.today)
        values["reading_id"], notes = reading_id, [*notes, *minded]
    if reply.answer == "promise":
        values["task_id"], due_on = follows.promise(recorder, check, step, (reply.note, reply.due), desk.today)
        told += f", to be kept by {due_on}"
        notes += _still_open(step)
    values |= {"answer": reply.answer, "by_id": by_id, "answered_at": moment(desk.today), "note": reply.note}
    if before is None:
        asked = {"prebattle_check_id": check.row.id, "step": step.step, "question": step.question}
        recorder.insert(t.check_answer, **asked, position_id=step.position_id, **values)
    else:
        recorder.update(t.check_answer, before.id, **values)
        follows.forget(recorder, check, step, before)
    if reply.answer == "pass":
        follows.witness(recorder, check, step, by_id, desk.today)
    if reply.opens is not None:
        notes = [*notes, *_withdrawn(recorder, desk.today, check, step, reply)]
    return told, notes


def _still_open(step: Step) -> list[str]:
    """A promise is no pass."""
    topic = BY_NAME.get(step.topic or "")
    if topic is None or not topic.safety:
        return []
    return [f"an open safety item until it is kept: the {topic.decider} decides, not this promise"]


def _withdrawn(recorder: Recorder, today: date, check: Check, step: Step, reply: Reply) -> list[str]:
    """Take the part that failed out, as a failure or a suspect."""
    assert reply.opens is not None
    topic = BY_NAME.get(step.topic or "")
    mode = reply.mode or (topic.mode if topic else "dead")
    doubt = withdrawn.Doubt(reply.opens, mode, "pre-battle check", reply.note)
    return withdrawn.withdraw(recorder, today, check.ship, (step.position_id, step.position), doubt)


def _finished(recorder: Recorder, today: date, check: Check) -> list[str]:
    """With the last answer the check is finished; what stands open is said with it."""
    connection = recorder.connection
    assert check.row is not None
    if len(rows.answers(connection, check.row.id)) < len(check.steps):
        return []
    recorder.update(t.prebattle_check, check.row.id, finished_on=check.row.finished_on or today)
    found = check_page.page(connection, begun.look_up(connection, check.ship.name, check.battle.name, today), today)
    return [f"all {len(check.steps)} answered: {found.verdict}", *found.open_safety]
