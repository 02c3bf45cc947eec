"""Answers of a salvage: each is kept at once, and what follows from it with it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Any

from maintain.core.names import quoted
from maintain.errors import InvalidRecord, NotFound
from maintain.records import salvage as rows
from maintain.records import tables as t
from maintain.records.journal import Recorder
from maintain.records.salvage import LOOK
from maintain.results.base import Done
from maintain.results.salvage import SalvageStep
from maintain.services.battle_day import taken_back
from maintain.services.battle_day.withdrawn import Doubt
from maintain.services.battle_day.witness import by_whom, moment
from maintain.services.salvage import begun, follows, page
from maintain.services.salvage.apart import DECIDER, WHAT_THEN
from maintain.services.salvage.begun import Salvage, Step, Which
from maintain.services.salvage.care import care_of
from maintain.services.salvage.order import CAUSE, MINUTES
from maintain.services.unit import Desk, writing
from maintain.vocabulary import OPENED_FINDINGS


@dataclass(frozen=True)
class Reply:
    """
    What somebody answers.

    Attributes
    ----------
    answer : str
        One of the step's answers.
    figure : str, optional
        Minutes under, as written.
    system : str, optional
        Which one sank her, if a system did.
    opened : bool
        Whether the part's own case was opened.
    dried : str, optional
        How it was dried.
    opens : str, optional
        "failure" or "suspect": what is made of a part that does not work.
    mode : str, optional
        What the part did; None: what its kind most likely did.
    cause : str
        What is blamed for it.
    by : str, optional
        The member who answers.
    note : str, optional
    """

    answer: str
    figure: str | None = None
    system: str | None = None
    opened: bool = False
    dried: str | None = None
    opens: str | None = None
    mode: str | None = None
    cause: str = "unknown"
    by: str | None = None
    note: str | None = None


def begin(desk: Desk, which: Which) -> None:
    """Begin a salvage, unless it was: from now on its steps stay."""
    with writing(desk, "salvage begin") as recorder:
        found = begun.begin(recorder, which, desk.today)
        recorder.summarise(f"began the salvage of {found.told}")


def answer(desk: Desk, *, which: Which, step: int, reply: Reply) -> Done:
    """Answer a step; an answer given again replaces the earlier one, which the journal keeps."""
    with writing(desk, "salvage answer") as recorder:
        connection = recorder.connection
        found = begun.begin(recorder, which, desk.today)
        asked = _step(found, step)
        shown = _shown(page.steps_of(connection, found, desk.today), step)
        _require_sense(shown, reply, desk.today)
        told, notes = _record(recorder, desk, found, asked, reply)
        now = page.steps_of(connection, begun.look_up(connection, which, desk.today), desk.today)
        notes += _kept_apart(now, asked) + _still_unsafe(now, step)
        notes += _finished(recorder, which, desk.today)
        of = asked.topic if asked.part is None else f"{asked.topic}, {asked.position}, {asked.part}"
        did = f"{found.ship.name}, step {step} ({of}): {reply.answer}{told}"
        recorder.summarise(did)
    record = {
        "ship": found.ship.name,
        "day": found.sortie.sailed_on,
        "number": found.sortie.number,
        "step": step,
        "answer": reply.answer,
        "part": asked.part,
    }
    return Done(did, notes=tuple(notes), record=record)


def take_back(desk: Desk, which: Which) -> Done:
    """
    Take back the last answer of a salvage, with all that followed from it.

    Raises
    ------
    NotFound, InvalidRecord
        If there is none, or later records build on it.
    """
    with writing(desk, "undo") as recorder:
        found = begun.look_up(recorder.connection, which, desk.today)
        given = rows.answers(recorder.connection, found.row.id) if found.row else {}
        did = taken_back.take_back(recorder, "salvage_answer", [row.uid for row in given.values()], found.told)
    return Done(did, record={"ship": found.ship.name})


def _step(found: Salvage, number: int) -> Step:
    step = next((each for each in found.steps if each.step == number), None)
    if step is None:
        raise NotFound(
            f"the salvage of {found.ship.name} has no step {number}: it has {len(found.steps)}",
            hint=f"see: maintain salvage show {quoted(found.ship.name)}",
        )
    return step


def _shown(steps: tuple[SalvageStep, ...], number: int) -> SalvageStep:
    return next(each for each in steps if each.step == number)


def _require_sense(step: SalvageStep, reply: Reply, today: date) -> None:
    if reply.answer not in step.answers:
        raise InvalidRecord(
            f"step {step.step} ({step.question}) is not answered {reply.answer!r}",
            hint=f"answer one of: {', '.join(step.answers)}",
        )
    early = step.due_on is not None and today < step.due_on
    if early and reply.answer != "fail":
        raise InvalidRecord(
            f"step {step.step} is for {step.due_on} or later: what works sooner shows nothing yet",
            hint="name the day it was tried with --on; one that fails is answered fail on any day",
        )
    if step.apart and reply.answer == "pass":
        raise InvalidRecord(
            f"{step.part} {step.stands or 'is kept apart: not charged, not tried'}",
            hint=f"{DECIDER} decides what becomes of it; if it is of another kind, say so: "
            f"maintain part change {quoted(step.part or 'PART')} --model 'NiMH 7.2 V'",
        )
    misplaced = _misplaced(reply)
    if misplaced is not None:
        raise InvalidRecord(f"{misplaced} does not go with {reply.answer!r}", hint="leave it out")
    if reply.answer == "timed" and reply.figure is None:
        raise InvalidRecord("how many minutes?", hint="add --figure, or answer unknown")


def _misplaced(reply: Reply) -> str | None:
    """What was said besides that does not belong to this answer."""
    found = reply.answer in OPENED_FINDINGS
    may_open = found or reply.answer == "fail"
    said = (
        ("a figure", reply.figure is not None, reply.answer == "timed"),
        ("a system", reply.system is not None, reply.answer == "system"),
        ("opened", reply.opened, found),
        ("how it was dried", reply.dried is not None, found),
        (f"a {reply.opens}", reply.opens is not None, may_open),
        ("what is blamed", reply.cause != "unknown", may_open),
    )
    return next((what for what, given, fits in said if given and not fits), None)


def _record(recorder: Recorder, desk: Desk, found: Salvage, step: Step, reply: Reply) -> tuple[str, list[str]]:
    """Write the answer and what follows from it; what to say of it in the line, and below."""
    assert found.row is not None
    before = rows.answers(recorder.connection, found.row.id).get(step.step)
    by_id = by_whom(recorder.connection, reply.by, desk.who)
    told, notes, wrote = _following(recorder, found, step, reply, (by_id, desk.today))
    values: dict[str, Any] = {
        "answer": reply.answer,
        "opened": reply.opened,
        "dried": reply.dried,
        **wrote,
        "by_id": by_id,
        "answered_at": moment(desk.today),
        "note": reply.note,
    }
    if before is None:
        recorder.insert(t.salvage_answer, salvage_step_id=step.id, **values)
    else:
        recorder.update(t.salvage_answer, before.id, **values)
        notes += _let_go(recorder, before, wrote)
    opens = reply.opens or ("suspect" if reply.answer == "fail" else None)
    if opens is not None:
        doubt = Doubt(opens, reply.mode or care_of(step.category).mode, _found_by(step), reply.note, reply.cause)
        notes += follows.condemned(recorder, found, step, doubt, desk.today)
    return told, notes


def _following(
    recorder: Recorder, found: Salvage, step: Step, reply: Reply, who: tuple[int | None, date]
) -> tuple[str, list[str], dict[str, int | None]]:
    """Write what an answer says elsewhere: what to say in its line, and below, and the rows it wrote."""
    wrote: dict[str, int | None] = {"opening_id": None, "reading_id": None}
    told, notes = "", list[str]()
    if reply.answer in OPENED_FINDINGS:
        dried = reply.dried not in (None, "not dried")
        wrote["opening_id"], notes = follows.look(recorder, found, step, (reply.answer, dried), who[1])
        told = ", opened" * reply.opened + (f", {reply.dried}" if reply.dried else "")
    elif reply.answer == "pass":
        wrote["reading_id"] = follows.passed(recorder, found, step, *who)
    elif step.topic == MINUTES:
        told, notes = follows.timed(recorder, found, reply.figure)
    elif step.topic == CAUSE:
        told = follows.explained(recorder, found, reply.answer, reply.system)
    return told, notes, wrote


def _found_by(step: Step) -> str:
    return "opened" if step.topic == LOOK else "bench"


def _let_go(recorder: Recorder, before: Any, wrote: dict[str, int | None]) -> list[str]:
    """Take back what the earlier answer wrote elsewhere, unless the new one stands on it."""
    if before.reading_id is not None:
        recorder.delete(t.reading, before.reading_id)
    if before.opening_id is not None and wrote["opening_id"] is None:
        follows.forget_look(recorder, before.opening_id)
    return [f"in place of {before.answer}" + (f" by {before.by}" if before.by else "")]


def _kept_apart(steps: tuple[SalvageStep, ...], asked: Step) -> list[str]:
    """What is said of a battery that was just found to be one that is kept apart."""
    apart = asked.topic == LOOK and any(each.apart and each.part == asked.part for each in steps)
    return [f"{asked.part} stays apart: {WHAT_THEN}; {DECIDER} decides what becomes of it"] if apart else []


def _still_unsafe(steps: tuple[SalvageStep, ...], number: int) -> list[str]:
    """What comes before this step and is of safety."""
    left = [f"step {each.step} ({each.topic})" for each in steps if each.step < number and page.unsafe_still(each)]
    return [f"still open before it: {', '.join(left)}"] if left else []


def _finished(recorder: Recorder, which: Which, today: date) -> list[str]:
    """With the last answer that is not for a later day the salvage is finished; what stands open is said with it."""
    connection = recorder.connection
    found = begun.look_up(connection, which, today)
    assert found.row is not None
    steps = page.steps_of(connection, found, today)
    if any(each.due_on is None and each.open_on(today) for each in steps):
        return []
    recorder.update(t.salvage, found.row.id, finished_on=found.row.finished_on or today)
    if any(each.open_on(today) for each in steps):
        return []
    return [f"all answered: {page.page(connection, found, today).verdict}"]
