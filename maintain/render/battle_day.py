"""The check before a battle, on the screen: questions one by one, or all of them."""

from __future__ import annotations

from typing import TYPE_CHECKING

from rich.text import Text

from maintain.render import asking

if TYPE_CHECKING:
    from rich.console import Console

    from maintain.results.battle_day import CheckPage, CheckStep

_STYLES = {"pass": "green", "fail": "bold red", "not done": "yellow", "promise": "yellow"}


def ask(step: CheckStep) -> None:
    """Put a question to whoever walks through the check; on stderr, beside the answer of the command."""
    screen = asking.console()
    _head(step, screen)
    _details(step, screen)


def check(result: CheckPage, console: Console) -> None:
    """What was promised, what runs out, all questions with their answers, and what is open."""
    when = f"{result.from_on}" if result.from_on == result.until_on else f"{result.from_on} to {result.until_on}"
    begun = f"{result.answered} of {len(result.steps)} answered" if result.begun_on else "not begun"
    console.print(Text(f"{result.ship} before {result.battle} ({when}): {begun}", style="bold"))
    for line in result.notes:
        console.print(Text(line))
    for promise in result.promises:
        line = f"Promised on {promise.since}: {promise.what}, by {promise.due_on}"
        console.print(Text(line + (f" ({promise.decider})" if promise.decider else "")))
    for doubt in result.suspects:
        console.print(Text(f"Suspect: {doubt}"))
    for each in result.certificates:
        line = f"{each.part} ({each.position}): {each.kind} until {each.expires_on}; {each.source}; {each.decider}"
        console.print(
            Text(line if each.holds else f"OUT OF DATE before the end: {line}", style="" if each.holds else "bold red")
        )
    for line in result.due:
        console.print(Text(f"Due: {line}"))
    console.print(Text(f"What is due: {result.due_from}."))
    for step in result.steps:
        _head(step, console)
        if step.given is None:
            _details(step, console)
    _open(result, console)


def _head(step: CheckStep, console: Console) -> None:
    given = step.given
    mark = Text(given.answer if given else "–", style=_STYLES.get(given.answer, "") if given else "")
    line = Text(step.question)
    if given is not None:
        figure = f"{given.figure:g} {step.unit or ''}".rstrip() if given.figure is not None else None
        said = [figure, given.promise, given.note if given.promise is None else None, given.by, given.at[:16]]
        line.append(f" [{'; '.join(filter(None, said))}]")
    console.print(asking.head(step.step, mark, line))


def _details(step: CheckStep, console: Console) -> None:
    """What belongs to a question: the test, its figure and limit, what is due and doubted, what to mind."""
    told = [f"test: {step.how}"] if step.how else []
    if step.measure is not None:
        limit = step.limit
        bound = (
            f"{limit.bound} {limit.value:g} {limit.unit} ({limit.source})"
            if limit
            else f"in {step.unit}; no limit is known"
        )
        last = f"; last {step.last.value:g} on {step.last.taken_on}" if step.last else "; not measured yet"
        told.append(f"figure: {step.measure}, {bound}{last}")
    told += [f"due: {line}" for line in step.due]
    told += [f"suspect: {line}" for line in step.suspects]
    told += [f"caution: {line}" for line in step.cautions]
    if step.safety and step.decider:
        told.append(f"decides: {step.decider}")
    for line in told:
        console.print(asking.hung(Text(line, style="dim" if line.startswith("test") else ""), 12))


def _open(result: CheckPage, console: Console) -> None:
    if result.begun_on is not None:
        for line in result.open_safety:
            console.print(asking.hung(Text(f"open on safety: {line}", style="bold red"), 2))
    for line in result.open_items:
        console.print(asking.hung(Text(f"open: {line}"), 2))
    console.print(Text(f"{result.ship}: {result.verdict}", style="bold"))
