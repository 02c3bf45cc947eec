"""A salvage on the screen: step by step, or all of it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from rich.text import Text

from maintain.core.wording import count
from maintain.render import asking

if TYPE_CHECKING:
    from rich.console import Console

    from maintain.results.salvage import SalvagePage, SalvageStep

_STYLES = {"done": "green", "dry": "green", "pass": "green", "fail": "bold red", "water": "bold", "damp": "bold"}


def ask(step: SalvageStep) -> None:
    """Put a step to whoever walks through a salvage; on stderr, beside the answer of the command."""
    screen = asking.console()
    _head(step, screen)
    _hang(_details(step), screen)


def salvage(result: SalvagePage, console: Console) -> None:
    """The sinking, what was done and found, what is to be tried again, and what is open."""
    begun = f"{result.answered} of {result.asked} answered" if result.begun_on else "not begun"
    where = f" ({result.battle})" if result.battle else ""
    console.print(Text(f"{result.ship} after sortie {result.number} of {result.day}{where}: {begun}", style="bold"))
    cause = f"{result.cause}, {result.system}" if result.system else result.cause
    under = "nobody knows how long" if result.minutes_under is None else f"{result.minutes_under:g} min"
    console.print(Text(f"{result.wetness or 'wetness unknown'}, under: {under}; cause: {cause}; water: {result.water}"))
    for line in result.notes:
        console.print(Text(line))
    said: list[str] = []
    for step in result.steps:
        if step.given is not None or step.open_on(result.as_of):
            _head(step, console)
            told = [] if step.settled else _details(step)
            if told != said:  # parts of a kind are cared for alike
                _hang(told, console)
            said = told
    _not_asked(result, console)
    for each in result.retests:
        line = f"{each.part} ({each.position}): step {each.step}, {each.after}, from {each.due_on} on"
        console.print(asking.hung(Text(f"try again: {line}"), 2))
    for line in result.suspects:
        console.print(asking.hung(Text(f"suspect: {line}"), 2))
    for line in result.open_safety:
        console.print(asking.hung(Text(f"open on safety: {line}", style="bold red"), 2))
    console.print(Text(f"{result.ship}: {result.verdict}", style="bold"))


def _not_asked(result: SalvagePage, console: Console) -> None:
    """How many steps are not asked, by the reason."""
    told: dict[str, int] = {}
    for step in result.steps:
        if step.given is None and not step.open_on(result.as_of):
            why = step.stands or "for a later day"
            told[why] = told.get(why, 0) + 1
    if told:
        said = "; ".join(f"{count(n, 'step')}: {why}" for why, n in told.items())
        console.print(asking.hung(Text(f"not asked: {said}"), 2))


def _head(step: SalvageStep, console: Console) -> None:
    given = step.given
    mark = Text(given.answer if given else "–", style=_STYLES.get(given.answer, "") if given else "")
    line = Text(step.question)
    if given is not None:
        said = ["opened" if given.opened else None, given.dried, given.note, given.by, given.at[:16]]
        line.append(f" [{'; '.join(filter(None, said))}]")
    console.print(asking.head(step.step, mark, line))


def _details(step: SalvageStep) -> list[str]:
    """What belongs to a step: how it is done, what to mind, who decides."""
    told = [f"how: {step.how}"] if step.how else []
    told += [f"caution: {line}" for line in step.cautions]
    if step.decider and (step.safety or step.decider != "captain"):
        told.append(f"decides: {step.decider}")
    return told


def _hang(told: list[str], console: Console) -> None:
    for line in told:
        console.print(asking.hung(Text(line, style="dim" if line.startswith("how") else ""), 12))
