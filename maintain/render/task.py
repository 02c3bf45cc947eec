"""A task on the screen, with how it stands and its history."""

from __future__ import annotations

from typing import TYPE_CHECKING

from maintain.render.phrases import say
from maintain.render.tables import table
from maintain.results.base import Column, plain

if TYPE_CHECKING:
    from rich.console import Console

    from maintain.results.tasks import TaskPage

_STATES = (
    Column("ship", "Ship"),
    Column("position", "Position"),
    Column("part", "Part"),
    Column("state", "State"),
    Column("last_done", "Last done"),
    Column("counted", "Day or count"),
)
_TIMES = (
    Column("done_on", "Done on"),
    Column("ship", "Ship"),
    Column("part", "Part"),
    Column("by", "By"),
    Column("note", "Note"),
)


def page(result: TaskPage, console: Console) -> None:
    """What is to be done and who says so, how it stands, and every time it was done."""
    say(console, f"{result.title}, on {result.on}" if result.on else result.title, bold=True)
    say(console, "; ".join(_facts(result)))
    if result.states:
        console.print(table("How it stands", _STATES, [plain(each) for each in result.states]))
    if result.times:
        console.print(table("Done", _TIMES, [plain(each) for each in result.times]))
    else:
        say(console, "not done yet")


def _facts(result: TaskPage) -> list[str]:
    facts = [result.every or f"once, by {result.due_on}"]
    if result.every and result.due_on:
        facts.append(f"the first time by {result.due_on}")
    if result.source:
        facts.append(f"source: {result.source}")
    if result.decider:
        facts.append(f"{result.decider} decides")
    if result.work_minutes is not None:
        facts.append(f"{result.work_minutes} minutes")
    if result.note:
        facts.append(result.note)
    facts.append(f"set up on {result.starts_on}")
    if result.closed_on:
        facts.append(f"closed on {result.closed_on}" + (f": {result.why_closed}" if result.why_closed else ""))
    return facts
