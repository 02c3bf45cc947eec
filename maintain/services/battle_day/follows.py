"""What follows from an answer: a reading, a promise, an earlier promise let go, parts seen to work."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

from maintain.errors import InvalidRecord
from maintain.records import checks as rows
from maintain.records import find, upkeep
from maintain.records import tables as t
from maintain.records.journal import Recorder
from maintain.services.battle_day.begun import Check, Step
from maintain.services.battle_day.figures import beyond, figure
from maintain.services.battle_day.morning import BY_NAME
from maintain.services.battle_day.questions import covered
from maintain.services.readings.limits import limit_of
from maintain.vocabulary import DEMAND_TEST, MEASURES

_PROMISED_WITHIN = timedelta(days=30)  # where no battle is planned after this one (common practice, no source)
_NOTE = "pre-battle check"


def measure(
    recorder: Recorder, step: Step, written: str, by_id: int | None, today: date
) -> tuple[int, str, tuple[str, ...]]:
    """Write down the figure as a reading; its id, how it is told, and whether it is beyond its limit."""
    assert step.topic is not None
    assert step.position_id is not None
    what = BY_NAME[step.topic].measure
    assert what is not None
    value = figure(written, what)
    part = find.installed_in(recorder.connection, step.position_id, today)
    reading_id = recorder.insert(
        t.reading,
        part_id=part.id if part else None,
        position_id=step.position_id,
        measure=what,
        value=value,
        unit=MEASURES[what],
        taken_on=today,
        by_id=by_id,
        note=_NOTE,
    )
    said = beyond(limit_of(recorder.connection, what, part.id if part else None, step.position_id), value)
    decider = BY_NAME[step.topic].decider
    return reading_id, f", {value:g} {MEASURES[what]}", (f"{said}: the {decider} decides",) if said else ()


def witness(recorder: Recorder, check: Check, step: Step, by_id: int | None, today: date) -> None:
    """A passed test shows that every part it needs works, not only the one it is named after."""
    for place in covered(check.places, step.topic or "", step.position_id):
        if place.id != step.position_id and place.part_id is not None:
            passed(recorder, place.id, place.part_id, by_id, today, _NOTE)


def forget(recorder: Recorder, check: Check, step: Step, before: Any) -> None:
    """Take back the readings of an earlier answer: what they say of the parts is what the new one decides."""
    if before.reading_id is not None:
        recorder.delete(t.reading, before.reading_id)
    if before.answer == "pass":
        beside = {each.id for each in covered(check.places, step.topic or "", step.position_id)} - {step.position_id}
        for reading_id in rows.witnessed(recorder.connection, beside, before.answered_at, _NOTE):
            recorder.delete(t.reading, reading_id)


def passed(recorder: Recorder, position_id: int | None, part_id: int, by_id: int | None, today: date, note: str) -> int:
    """Write down that a part was tried where it sits, and worked."""
    return recorder.insert(
        t.reading,
        part_id=part_id,
        position_id=position_id,
        measure=DEMAND_TEST,
        value=1.0,
        unit=MEASURES[DEMAND_TEST],
        taken_on=today,
        by_id=by_id,
        note=note,
    )


def promise(
    recorder: Recorder, check: Check, step: Step, said: tuple[str | None, date | None], today: date
) -> tuple[int, date]:
    """Make a promise a task; its id, and by when it is to be kept. `said`: what is promised and by when."""
    what, named = said
    later = rows.battle_after(recorder.connection, check.battle.until_on)
    latest = later.from_on if later else check.battle.until_on + _PROMISED_WITHIN
    due_on = named or latest
    if due_on < today:
        raise InvalidRecord(f"a promise can't be kept by {due_on}: that is past", hint="give a later day with --due")
    topic = BY_NAME.get(step.topic or "")
    if topic is not None and topic.safety and due_on > latest:
        until = f"{later.name}, {latest}" if later else latest
        raise InvalidRecord(
            f"a promise on safety can't wait until {due_on}, beyond {until}",
            hint=f"give that day or an earlier one with --due; the {topic.decider} decides",
        )
    subject = " ".join(filter(None, (step.topic or step.question, step.position)))
    task_id = recorder.insert(
        t.task,
        title=_title(recorder, what or f"put right: {subject}", check, step),
        ship_id=check.ship.id,
        position_id=step.position_id,
        starts_on=today,
        due_on=due_on,
        source=rows.PROMISE,
        decider=topic.decider if topic else None,
    )
    return task_id, due_on


def _title(recorder: Recorder, what: str, check: Check, step: Step) -> str:
    """A title that no other open task has."""
    taken = {row.title.lower() for row in upkeep.open_tasks(recorder.connection)}
    ship, battle = check.ship.name, check.battle.name
    titles = (f"{what} ({ship})", f"{what} ({ship}, {battle})", f"{what} ({ship}, {battle}, step {step.step})")
    return next((each for each in titles if each.lower() not in taken), titles[-1])


def let_go(recorder: Recorder, before: Any, answer: str, today: date) -> list[str]:
    """Close the promise of an earlier answer: kept if the step now passes, else replaced."""
    if before is None or before.task_id is None or before.promise_closed_on is not None:
        return []
    if answer == "pass":
        recorder.insert(t.task_completion, task_id=before.task_id, done_on=today)
    recorder.update(t.task, before.task_id, closed_on=today)
    return [f"{'kept' if answer == 'pass' else 'replaced'}: {before.promise}"]
