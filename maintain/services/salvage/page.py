"""The salvage of a ship as it stands: every step with what belongs to it, what is to be tried again, what is open."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date
from typing import Any

import sqlalchemy as sa

from maintain.core.names import quoted
from maintain.core.wording import count, whose
from maintain.records import salvage as rows
from maintain.records import ship_page, wetted_parts
from maintain.records import tables as t
from maintain.records.salvage import BOX, LOOK
from maintain.results.salvage import Answered, Retest, SalvagePage, SalvageStep
from maintain.services.salvage import begun
from maintain.services.salvage.apart import DECIDER, WHAT_THEN, why_apart
from maintain.services.salvage.begun import Salvage, Step, Which
from maintain.services.salvage.care import care_of
from maintain.services.salvage.order import ANSWERS, CAUSE, FIRST, LAST, MINUTES
from maintain.services.salvage.questions import BENCH, LATER, inside
from maintain.services.salvage.wetted import wetted
from maintain.services.unit import Desk, reading

_DECIDES = "the club's safety officer decides, not this record"
_LATE_DAYS = 60  # after a sinking, that make one think of a wrong clock (common practice, no source)
_ACTS = {act.name: act for act in (*FIRST, *LAST)}


def show(desk: Desk, which: Which) -> SalvagePage:
    """The salvage after a sinking as it stands; of one not begun, what will be asked."""
    with reading(desk) as connection:
        return page(connection, begun.look_up(connection, which, desk.today), desk.today)


def page(connection: sa.Connection, found: Salvage, today: date) -> SalvagePage:
    """Put together all that is known of a salvage."""
    steps = steps_of(connection, found, today)
    asked = [each for each in steps if each.given or each.open_on(today)]
    retests = _retests(steps) if found.row else ()
    unsafe = tuple(f"step {each.step}, {each.topic}" for each in steps if found.sank and unsafe_still(each))
    suspects = tuple(
        f"{each.tag} (was {each.position}): {each.mode} since {each.raised_on}, awaits a retest"
        for each in ship_page.suspects(connection, found.ship.id, today)
    )
    sortie = found.sortie
    return SalvagePage(
        ship=found.ship.name,
        captain=connection.execute(sa.select(t.member.c.name).where(t.member.c.id == found.ship.captain_id)).scalar(),
        day=sortie.sailed_on,
        number=sortie.number,
        battle=sortie.battle,
        wetness=sortie.wetness,
        water=sortie.water,
        minutes_under=sortie.minutes_under,
        cause=sortie.sinking_cause or "unknown",
        system=sortie.sinking_system,
        begun_on=found.row.begun_on if found.row else None,
        finished_on=found.row.finished_on if found.row else None,
        as_of=today,
        answered=sum(each.given is not None for each in steps),
        asked=len(asked),
        steps=steps,
        retests=retests,
        open_safety=unsafe if found.row else (),
        suspects=suspects,
        verdict=_verdict(found, retests, suspects, unsafe),
        notes=(*_notes(found, today), *_apart(steps)),
    )


def unsafe_still(step: SalvageStep) -> bool:
    """Whether a step of safety is not done."""
    return step.safety and not step.settled


@dataclass(frozen=True)
class _Known:
    """What is known of the parts of a salvage."""

    wetness: str | None
    given: Mapping[int, Any]
    looks: Mapping[int, str]
    box: str | None
    at_hand: set[int]
    seen: Mapping[int, date]
    packs: Mapping[int, str]
    water: str
    explained: bool

    def wet(self, step: Step) -> bool:
        """Whether the part of a step was wetted."""
        assert step.zone is not None
        assert step.part_id is not None
        return wetted(step.zone, self.wetness, self.box, self.looks.get(step.part_id))

    def why_apart(self, step: Step) -> str | None:
        """Why the battery of a step is neither charged nor tried; None: it may be, or is no battery."""
        told = self.packs.get(step.part_id) if step.part_id is not None else None
        return why_apart(told, self.water) if told is not None and self.wet(step) else None


def steps_of(connection: sa.Connection, found: Salvage, today: date) -> tuple[SalvageStep, ...]:
    """The steps with their answers and what belongs to each."""
    given = rows.answers(connection, found.row.id) if found.row else {}
    parts = {step.part_id for step in found.steps if step.part_id is not None}
    known = _Known(
        wetness=found.sortie.wetness if found.sank else "W0",  # only what somebody found counts
        given=given,
        looks={
            step.part_id: given[step.step].answer
            for step in found.steps
            if step.topic == LOOK and step.part_id is not None and step.step in given
        },
        box=next((given[each.step].answer for each in found.steps if each.topic == BOX and each.step in given), None),
        at_hand=wetted_parts.at_hand(connection, found.row.id, today) if found.row else parts,
        seen=wetted_parts.seen_since(connection, found.row.id, today) if found.row else {},
        packs={} if all(step.category != "battery" for step in found.steps) else wetted_parts.told_of_packs(connection),
        water=found.sortie.water,
        explained=_explained(connection, found),
    )
    return tuple(_step(each, found, known) for each in found.steps)


def _explained(connection: sa.Connection, found: Salvage) -> bool:
    """Whether a failure on record sank her."""
    failure = t.failure.c
    sank = sa.select(failure.id).where(failure.sortie_id == found.sortie.id, failure.effect == "sank").limit(1)
    return connection.execute(sank).first() is not None


def _step(step: Step, found: Salvage, known: _Known) -> SalvageStep:
    given = _given(known.given.get(step.step))
    bare = SalvageStep(step.step, step.topic, step.question, (), step.position, step.part, given=given)
    if step.topic in (LOOK, BENCH, *LATER):
        return _of_part(bare, step, known)
    act = _ACTS.get(step.topic)
    if act is None:
        return replace(bare, answers=ANSWERS["act"])
    return replace(
        bare,
        answers=ANSWERS[act.kind],
        how=act.how.format(where=inside(found.places, act)),
        safety=act.safety,
        decider=act.decider,
        cautions=act.cautions,
        stands=None if given else _told_elsewhere(step.topic, found, known),
    )


def _told_elsewhere(topic: str, found: Salvage, known: _Known) -> str | None:
    """What the logs say by now of the sinking itself."""
    sortie = found.sortie
    if topic == MINUTES and sortie.minutes_under is not None:
        return f"{sortie.minutes_under:g} min by the log"
    if topic == CAUSE and (sortie.sinking_cause not in (None, "unknown") or known.explained):
        return "a failure on record" if known.explained else f"{sortie.sinking_cause} by the log"
    return None


def _of_part(bare: SalvageStep, step: Step, known: _Known) -> SalvageStep:
    care = care_of(step.category)
    if step.topic == LOOK:
        held = step.zone == "sealed box" and known.box == "dry"
        return replace(
            bare,
            answers=ANSWERS["look"],
            how=care.look,
            cautions=care.look_cautions,
            stands="dry, with its box" if held and bare.given is None else None,
        )
    apart = known.why_apart(step)
    return replace(
        bare,
        answers=ANSWERS["test"],
        how=care.test,
        decider=care.decider,
        cautions=care.test_cautions,
        due_on=step.due_on,
        stands=None if bare.settled else f"{apart}: not charged, not tried" if apart else _needless(step, known),
        apart=apart is not None,
    )


def _needless(step: Step, known: _Known) -> str | None:
    """Why a part need not be tried, if that is so."""
    if not known.wet(step):
        return "was not wetted"
    if step.part_id not in known.at_hand:
        return "no longer there"
    seen = known.seen.get(step.step)
    return f"seen to work on {seen}" if seen else None


def _given(row: Any) -> Answered | None:
    return None if row is None else Answered(row.answer, row.opened, row.dried, row.by, row.answered_at, row.note)


def _retests(steps: tuple[SalvageStep, ...]) -> tuple[Retest, ...]:
    """The next retest of each part that has one to come, the earliest first."""
    left: dict[str, Retest] = {}
    for each in steps:
        open_still = not each.settled and each.stands is None and not each.apart
        if open_still and each.due_on is not None and each.part is not None and each.part not in left:
            left[each.part] = Retest(each.part, each.position or "", each.step, each.topic, each.due_on)
    return tuple(left.values())


def _verdict(found: Salvage, retests: tuple[Retest, ...], suspects: tuple[str, ...], unsafe: tuple[str, ...]) -> str:
    if found.row is None:
        return f"not begun; {_DECIDES}"
    again = f"{count(len(retests), 'part')} to be tried again"
    by = f", the first from {min(each.due_on for each in retests)} on" if retests else ""
    doubted = f"{count(len(suspects), 'suspect')} open"
    items = f"{count(len(unsafe), 'open safety item')} recorded" if unsafe else "no open safety item is recorded"
    return f"{again}{by}; {doubted}; {items}; {_DECIDES}"


def _apart(steps: tuple[SalvageStep, ...]) -> tuple[str, ...]:
    """What is said of each battery that is kept apart."""
    named = dict.fromkeys(each.part for each in steps if each.apart)
    return tuple(f"{part} stays apart: {WHAT_THEN}; {DECIDER} decides what becomes of it" for part in named)


def _notes(found: Salvage, today: date) -> tuple[str, ...]:
    notes = []
    if not found.places:
        add = f"maintain position add {quoted(f'{found.ship.name}/rudder-servo')} --system steering --zone bilge"
        notes.append(
            f"{whose(found.ship.name)} positions are not recorded: asked of the whole ship; add them with: {add}"
        )
    elif all(each.part_id is None for each in found.places):
        notes.append("no part was recorded aboard: nothing to look at one by one; add them with: maintain part add")
    if not found.sank:
        notes.append("the log no longer says that she sank then: what was found of her parts stays, and so do retests")
    if found.row is None and found.since:
        notes.append(f"she has sailed {count(found.since, 'sortie')} since, and did not sink")
    late = ((found.row.begun_on if found.row else today) - found.sortie.sailed_on).days
    if late > _LATE_DAYS:
        notes.append(f"{count(late, 'day')} after she sank: if the clock is wrong, name the day with --on")
    return tuple(notes)
