"""maintain task ..."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from maintain import vocabulary
from maintain.cli._command import reads, writes
from maintain.cli._options import Day, Note, choice_option, day

if TYPE_CHECKING:
    from maintain.results.base import Result
    from maintain.services.unit import Desk

app = typer.Typer(no_args_is_help=True, help="Tasks: recurring work and promises.")


@writes(app)
def add(
    desk: Desk,
    title: Annotated[str, typer.Argument(help="What is to be done.")],
    every: Annotated[int | None, typer.Option(help="How often, on the clock.", min=1)] = None,
    clock: Annotated[str | None, choice_option("Clock it recurs on", vocabulary.TASK_CLOCKS)] = None,
    due: Annotated[str | None, typer.Option(metavar="DATE", help="By when, if only once.")] = None,
    ship: Annotated[str | None, typer.Option(help="Done on this ship.")] = None,
    position: Annotated[str | None, typer.Option(metavar="SHIP/POSITION", help="Done on this position.")] = None,
    part: Annotated[str | None, typer.Option(help="Done on this part.")] = None,
    family: Annotated[str | None, typer.Option(help="Done on every installed part of this family.")] = None,
    category: Annotated[str | None, choice_option("Done on every installed part of it", vocabulary.CATEGORIES)] = None,
    source: Annotated[str, typer.Option(help="Who says so: a rule, a regulation, or common practice.")] = "club rule",
    decider: Annotated[str | None, typer.Option(help="Who decides.")] = None,
    work_minutes: Annotated[int | None, typer.Option(help="Minutes of work.", min=0)] = None,
    note: Note = None,
) -> Result:
    """Add recurring work (--every N --clock C) or a promise (--due DATE)."""
    from maintain.services import upkeep

    scope = {"ship": ship, "position": position, "part": part, "family": family, "category": category}
    facts = {
        "every": every,
        "clock": clock or ("days" if every else None),
        "due_on": day(desk, due, "--due"),
        "source": source,
        "decider": decider,
        "work_minutes": work_minutes,
        "note": note,
    }
    return upkeep.add_task(desk, title=title, scope=scope, **facts)


@writes(app)
def done(
    desk: Desk,
    title: Annotated[str, typer.Argument(help="The task.")],
    ship: Annotated[str | None, typer.Option(help="On which ship.")] = None,
    part: Annotated[str | None, typer.Option(help="On which part.")] = None,
    on_day: Day = None,
) -> Result:
    """Note that a task was done."""
    from maintain.services import upkeep

    return upkeep.complete_task(desk, title=title, ship=ship, part=part, day=day(desk, on_day, "--day"))


@reads(app, "list")
def list_(desk: Desk) -> Result:
    """List open tasks."""
    from maintain.services import upkeep

    return upkeep.list_tasks(desk)
