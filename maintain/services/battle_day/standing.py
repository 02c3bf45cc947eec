"""What stands open on a ship before a battle: on safety, and otherwise. A record of it, never a clearance."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from datetime import date

from maintain.core.wording import count
from maintain.results.battle_day import CheckStep, LegalDate, Promise

NOTHING_OPEN = "no open safety item is recorded"
_LACKING = {"fail": "failed", "not done": "not done", "promise": "promised"}
_DECIDES = "the safety officer decides, not this record"


def safety_items(
    steps: Sequence[CheckStep], certificates: Sequence[LegalDate], begun: bool, today: date
) -> tuple[str, ...]:
    """Open safety items: questions of safety without a pass, and dates that run out before the battle ends."""
    dates = [_over(each, today) for each in certificates if not each.holds]
    if not begun:
        return ("not checked", *dates)
    return (*(_item(each) for each in steps if each.safety and not _passed(each)), *dates)


def other_items(
    steps: Sequence[CheckStep], promises: Sequence[Promise], parts: tuple[Sequence[str], Sequence[str]], begun: bool
) -> tuple[str, ...]:
    """What else is open: parts that failed and are aboard, other questions, earlier promises, suspects not retested."""
    failed, suspects = parts
    asked = [_item(each) for each in steps if not each.safety and not _passed(each)] if begun else []
    kept = [f"promised: {each.what}, by {each.due_on}" for each in promises]
    return (*failed, *asked, *kept, *(f"suspect: {each}" for each in suspects))


def verdict(steps: Sequence[CheckStep], open_safety: Sequence[str], begun: bool) -> str:
    """The one thing that may be said of a check: what did not pass first."""
    if not begun:
        return f"not checked; {_DECIDES}"
    safety = f"{count(len(open_safety), 'open safety item')} recorded" if open_safety else NOTHING_OPEN
    return "; ".join(filter(None, (shortfall(steps), safety, _DECIDES)))


def shortfall(steps: Sequence[CheckStep]) -> str | None:
    """How many questions were answered otherwise than with a pass, and where; None: none."""
    short = {answer: [each for each in steps if each.given and each.given.answer == answer] for answer in _LACKING}
    counted = ", ".join(f"{len(found)} {_LACKING[answer]}" for answer, found in short.items() if found)
    found = [each for of_answer in short.values() for each in of_answer]
    asked = Counter(each.position for each in found)
    names = (each.position if each.position and asked[each.position] == 1 else _subject(each) for each in found)
    return f"{counted}: {', '.join(names)}" if found else None


def _over(each: LegalDate, today: date) -> str:
    runs = "ran" if each.expires_on < today else "runs"
    return f"{each.part} ({each.position}): {each.kind} {runs} out on {each.expires_on} ({each.source}): {each.decider}"


def _passed(step: CheckStep) -> bool:
    return step.given is not None and step.given.answer == "pass"


def _subject(step: CheckStep) -> str:
    """What a step asks about, and where."""
    return " ".join(filter(None, (step.topic or step.question, step.position)))


def _item(step: CheckStep) -> str:
    asked = f"step {step.step}, {step.topic or step.question}" + (f", {step.position}" if step.position else "")
    if step.given is None:
        return f"{asked}: not answered"
    if step.given.answer == "promise":
        return (
            f"{asked}: promised by {step.given.promise_due_on}" if step.given.promise_due_on else f"{asked}: promised"
        )
    note = f" ({step.given.note})" if step.given.note else ""
    return f"{asked}: {'failed' if step.given.answer == 'fail' else step.given.answer}{note}"
