"""Work noted as done: on all a task is done on, or on the ship, position, part or family named."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Any

import sqlalchemy as sa

from maintain.core.wording import count
from maintain.errors import InvalidRecord, NotFound
from maintain.records import tables as t
from maintain.records import upkeep, use
from maintain.records.journal import Recorder
from maintain.results.base import Done
from maintain.services.battle_day.witness import by_whom
from maintain.services.tasks import record
from maintain.services.tasks.targets import Target, scope_of, targets
from maintain.services.unit import Desk, writing


@dataclass(frozen=True)
class Work:
    """When something was done, after how many sorties of that day (None: those on record), by whom, and a note."""

    day: date | None = None
    after_sortie: int | None = None
    by: str | None = None
    note: str | None = None


def done(desk: Desk, *, title: str, on: record.Scope, work: Work) -> Done:
    """
    Note that a task was done; one that is to be done once is closed by it.

    Raises
    ------
    NotFound, InvalidRecord
        If there is no such task, it is not done on what is named, the day is to come, or it is on record already.
    """
    day = work.day or desk.today
    if day > desk.today:
        raise InvalidRecord(
            f"{day} is to come", hint=f"today is {desk.today}: check the year, or give the day with --on"
        )
    with writing(desk, "task done") as recorder:
        connection = recorder.connection
        wanted = on.ids(connection)
        row, found = _meant(connection, title, wanted, on)
        by_id = by_whom(connection, work.by, desk.who)
        sailed = _sailed(connection, day, found, work.after_sortie)
        places = _places(found, on, sailed)
        for each in places:
            _refuse_twice(recorder, row.id, day, each)
            recorder.insert(t.task_completion, task_id=row.id, done_on=day, by_id=by_id, note=work.note, **each)
        recurs = row.id in upkeep.intervals(connection)
        asked = recurs and bool(sailed) and work.after_sortie is None and use.battle_on(connection, day)
        if not recurs:
            recorder.update(t.task, row.id, closed_on=day)
        did = f"{row.title} done on {day}" + _told(found, on)
        recorder.summarise(did)
    notes = [f"that is before the task was set up, on {row.starts_on}"] if day < row.starts_on else []
    if asked:
        notes.append(_when(sailed))
    return Done(did, notes=tuple(notes), record={"task": row.title, "done_on": day, "times": len(places)})


def _meant(connection: sa.Connection, title: str, wanted: dict[str, Any], on: record.Scope) -> tuple[Any, list[Target]]:
    """The task that is meant, and what of it is named."""
    tasks = record.find_open(connection, title)
    installed = upkeep.installed_parts(connection)
    found = [(row, [each for each in targets(row, installed) if _is(each, wanted)]) for row in tasks]
    fits = [(row, hit) for row, hit in found if hit or not any(wanted.values())]
    if len(fits) == 1:
        return fits[0]
    if fits:
        return record.the_open(connection, title), []
    named = on.position or on.part or on.family or on.category or on.ship
    raise NotFound(
        f"{tasks[0].title!r} is not done on {named}",
        hint=f"it is done on {scope_of(tasks[0]) or 'the club as a whole'}: maintain task show",
    )


def _is(target: Target, wanted: dict[str, Any]) -> bool:
    """Whether a target is among what is named."""
    return all(value is None or getattr(target, key) == value for key, value in wanted.items())


def _sailed(connection: sa.Connection, day: date, found: list[Target], said: int | None) -> dict[int, int]:
    """How many sorties of the day each ship meant had sailed when it was done: as said, else those on record."""
    ships = sorted({each.ship_id for each in found if each.ship_id is not None})
    return use.sailed_on(connection, ships, day) if said is None else dict.fromkeys(ships, said)


def _when(sailed: dict[int, int]) -> str:
    """How a day with a battle was taken: what she sails after the work was done is use since."""
    most = max(sailed.values())
    taken = (
        f"after the {count(most, 'sortie')} on record of that day" if most else "before the first sortie of that day"
    )
    return f"taken as done {taken}; if it was not: maintain undo, and say --after-sortie"


def _places(found: list[Target], on: record.Scope, sailed: dict[int, int]) -> list[dict[str, int | None]]:
    """What to write it down of: one row for a whole ship or for all, where all had sailed as often, else for each."""

    def place(ship_id: int | None, part_id: int | None = None) -> dict[str, int | None]:
        return {"ship_id": ship_id, "part_id": part_id, "done_sortie": sailed.get(ship_id or 0)}

    named = [key for key, value in vars(on).items() if value]
    if len(found) == 1 or (named and named != ["ship"]):
        return [place(each.ship_id, each.part_id) for each in found]
    if named:
        return [place(found[0].ship_id)]
    if len(set(sailed.values())) > 1:
        return [place(ship_id) for ship_id in sailed]
    return [{"ship_id": None, "part_id": None, "done_sortie": next(iter(sailed.values()), None)}]


def _refuse_twice(recorder: Recorder, task_id: int, day: date, place: dict[str, int | None]) -> None:
    for row in upkeep.completions(recorder.connection, day, task_id):
        if row.done_on == day and {key: getattr(row, key) for key in place} == place:
            what = row.tag or row.ship or "all of it"
            raise InvalidRecord(f"that is on record already: {what}, on {day}", hint="see: maintain task show")


def _told(found: list[Target], on: record.Scope) -> str:
    if len(found) == 1 and found[0].ship:
        only = found[0]
        return f", {only.ship}/{only.position}" if only.position else f", {only.ship}"
    named = on.family or on.category or on.ship
    return f", {count(len(found), 'part')}" + (f" of {named}" if named else "") if len(found) > 1 else ""
