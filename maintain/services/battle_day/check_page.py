"""The check of a ship before a battle: every question with what belongs to it, and what is open."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import Any

import sqlalchemy as sa

from maintain.core.names import quoted
from maintain.core.wording import whose
from maintain.records import checks as rows
from maintain.records import ship_page, upkeep
from maintain.records import tables as t
from maintain.records.failed_aboard import failed_aboard
from maintain.results.battle_day import CheckPage, CheckStep, Figure, Given, LegalDate, Limit, Promise
from maintain.services.battle_day import begun, standing
from maintain.services.battle_day.aboard import Place
from maintain.services.battle_day.begun import Check, Step
from maintain.services.battle_day.due_aboard import DueAboard, due_aboard
from maintain.services.battle_day.morning import BY_NAME, LINE_PER_DEPTH
from maintain.services.battle_day.questions import covered
from maintain.services.dated_work.failed_aboard import standing as standing_of
from maintain.services.readings.limits import limit_of
from maintain.services.unit import Desk, reading
from maintain.vocabulary import MEASURES

_SUSPECT = "{0.tag} (was {0.position}): {0.mode} since {0.raised_on}, awaits a retest"


def show(desk: Desk, *, ship: str, battle: str | None) -> CheckPage:
    """The check of a ship as it stands; of one not begun, what will be asked."""
    with reading(desk) as connection:
        return page(connection, begun.look_up(connection, ship, battle, desk.today), desk.today)


def page(connection: sa.Connection, check: Check, today: date) -> CheckPage:
    """Put together all that is known of a check."""
    if check.row is None:
        begun.require_sailing(check.ship)
    legal = legal_dates(upkeep.certificates(connection), check.ship.name, check.battle.until_on)
    doubts = {each.position: _SUSPECT.format(each) for each in ship_page.suspects(connection, check.ship.id, today)}
    tags = {each.name: each.tag for each in check.places if each.tag is not None}
    due = due_aboard(connection, today, check.ship, check.battle, tags)
    steps = steps_of(connection, check, today, due, doubts)
    promised = promises(connection, check, today)
    suspects = tuple(doubts.values())
    failed = failed_on(failed_aboard(connection, today), check.ship.name, steps)
    is_begun = check.row is not None
    unsafe = standing.safety_items(steps, legal, is_begun, today)
    return CheckPage(
        ship=check.ship.name,
        captain=connection.execute(sa.select(t.member.c.name).where(t.member.c.id == check.ship.captain_id)).scalar(),
        battle=check.battle.name,
        from_on=check.battle.from_on,
        until_on=check.battle.until_on,
        begun_on=check.row.begun_on if check.row else None,
        finished_on=check.row.finished_on if check.row else None,
        answered=sum(each.given is not None for each in steps),
        steps=steps,
        promises=promised,
        suspects=suspects,
        certificates=legal,
        due=tuple(_elsewhere(due, check)),
        due_from=due.told,
        open_safety=unsafe,
        open_items=standing.other_items(steps, promised, (failed, suspects), is_begun),
        verdict=standing.verdict(steps, unsafe, is_begun),
        notes=_notes(check),
    )


@dataclass(frozen=True)
class _Known:
    """What is known of a ship's positions, to be put beside the questions."""

    given: dict[int, Any]
    last: dict[tuple[int, str], Any]
    limits: dict[int, Limit | None]
    tags: dict[int, str | None]
    due: dict[str | None, list[str]]
    suspects: dict[str, str]
    places: tuple[Place, ...]
    line_metres: float | None

    def beside(self, step: Step) -> list[str]:
        """Names of all positions whose work a step shows."""
        return [each.name for each in covered(self.places, step.topic or "", step.position_id)]


def steps_of(
    connection: sa.Connection, check: Check, today: date, due: DueAboard, suspects: dict[str, str]
) -> tuple[CheckStep, ...]:
    """The steps with their answers and what belongs to each."""
    known = _Known(
        given=rows.answers(connection, check.row.id) if check.row else {},
        last=rows.last_readings(connection, check.ship.id, today),
        limits=_limits(connection, check),
        tags={each.id: each.tag for each in check.places},
        due=due.at,
        suspects=suspects,
        places=check.places,
        line_metres=_line_metres(connection, check),
    )
    return tuple(_at_position(each, known) if each.position else _step(each, known) for each in check.steps)


def _limits(connection: sa.Connection, check: Check) -> dict[int, Limit | None]:
    """What the figure of each step is held against, by its number."""
    fitted = {each.id: each.part_id for each in check.places}
    found = {}
    for each in check.steps:
        measure = BY_NAME[each.topic].measure if each.topic in BY_NAME else None
        if measure is not None and each.position_id is not None:
            found[each.step] = limit_of(connection, measure, fitted.get(each.position_id), each.position_id)
    return found


def _step(step: Step, known: _Known) -> CheckStep:
    topic = BY_NAME.get(step.topic or "")
    given = known.given.get(step.step)
    if topic is None:
        return CheckStep(step.step, step.topic, step.question, step.position, given=_given(given))
    return CheckStep(
        step=step.step,
        topic=step.topic,
        question=step.question,
        position=step.position,
        how=topic.how
        if topic.name != "line" or known.line_metres is None
        else _of_this_pond(topic.how, known.line_metres),
        safety=topic.safety,
        decider=topic.decider,
        cautions=topic.cautions,
        given=_given(given),
    )


def _at_position(step: Step, known: _Known) -> CheckStep:
    """A step with what is known of its position and the part in it."""
    assert step.position is not None
    assert step.position_id is not None
    topic = BY_NAME.get(step.topic or "")
    measure = topic.measure if topic else None
    before = known.last.get((step.position_id, measure)) if measure else None
    beside = known.beside(step) or [step.position]
    return replace(
        _step(step, known),
        part=known.tags.get(step.position_id),
        measure=measure,
        unit=MEASURES[measure] if measure else None,
        limit=known.limits.get(step.step),
        last=Figure(before.value, before.taken_on) if before else None,
        due=tuple(_named(line, name, step.position) for name in beside for line in known.due.get(name, ())),
        suspects=tuple(known.suspects[name] for name in beside if name in known.suspects),
    )


def _given(row: Any) -> Given | None:
    if row is None:
        return None
    return Given(row.answer, row.figure, row.by, row.answered_at, row.note, row.promise, row.promise_due_on)


def legal_dates(certified: list[Any], ship: str, until: date) -> tuple[LegalDate, ...]:
    """Certificates of the parts aboard a ship, the earliest first."""
    return tuple(
        LegalDate(row.tag, row.position, row.kind, row.expires_on, row.source, row.decider, row.expires_on >= until)
        for row in certified
        if row.ship == ship
    )


def failed_on(rows_: list[Any], ship: str, steps: Sequence[CheckStep]) -> tuple[str, ...]:
    """What failed and is aboard a ship, of rows of `failed_aboard`, but what a step of her check says itself."""
    told = {each.position for each in steps if each.given is not None and each.given.answer == "fail"}
    return tuple(
        f"{row.position}: {standing_of(row)}"
        for row in rows_
        if row.ship == ship and (row.topic is None or row.position not in told)
    )


def promises(connection: sa.Connection, check: Check, today: date) -> tuple[Promise, ...]:
    """What was promised at earlier checks and is still open."""
    found = rows.promises(connection, check.ship.id, today, but_of=check.row.id if check.row else None)
    return tuple(Promise(row.title, row.due_on, row.starts_on, row.decider) for row in found)


def _elsewhere(due: DueAboard, check: Check) -> list[str]:
    """What is due where no question is asked, with its position."""
    asked_of = {
        place.name for each in check.steps for place in covered(check.places, each.topic or "", each.position_id)
    }
    left = ((position, line) for position, lines in due.at.items() if position not in asked_of for line in lines)
    return [_named(line, position, None) for position, line in left]


def _named(line: str, position: str | None, under: str | None) -> str:
    """A line with the position it is about, unless it stands under that one."""
    return line if position in (None, under) else f"{position}: {line}"


def _line_metres(connection: sa.Connection, check: Check) -> float | None:
    """How long a recovery line must be at the battle's pond; None: nobody noted its depth."""
    depth = connection.execute(sa.select(t.venue.c.depth_m).where(t.venue.c.id == check.battle.venue_id)).scalar()
    return None if depth is None else round(LINE_PER_DEPTH * depth, 1)


def _of_this_pond(how: str, metres: float) -> str:
    return f"{how}: {metres:g} m at this pond"


def _notes(check: Check) -> tuple[str, ...]:
    if check.places:
        return ()
    add = f"maintain position add {quoted(f'{check.ship.name}/rudder-servo')} --system steering --zone bilge"
    return (f"{whose(check.ship.name)} positions are not recorded: asked of the whole ship; add them with: {add}",)
