"""maintain task ..."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from maintain import vocabulary
from maintain.cli._command import reads, writes
from maintain.cli._moments import AfterSortie
from maintain.cli._options import Day, Note, ShipFilter, choice_option, day

if TYPE_CHECKING:
    from maintain.results.base import Result
    from maintain.services.unit import Desk

app = typer.Typer(no_args_is_help=True, help="Tasks: work that comes round, and promises.")

Title = Annotated[str, typer.Argument(help="The task; the beginning of its title is enough.")]
Every = Annotated[
    list[str] | None,
    typer.Option(
        "--every",
        metavar="N CLOCK",
        help="How often: '2 battle days', '1 immersion', '6 months', 'twice a season'; "
        "repeat it for more clocks, and the first reached counts. Clocks: days (weeks, months, years), "
        "battle days, sorties, minutes afloat, wet sorties, immersions, minutes under, shots.",
        show_default=False,
    ),
]
Due = Annotated[
    str | None, typer.Option(metavar="DATE", help="By when, if only once; the first time, if it comes round.")
]
Decider = Annotated[str | None, typer.Option(help="Who decides.")]
WorkMinutes = Annotated[int | None, typer.Option(help="Minutes of work.", min=0)]
Part = Annotated[str | None, typer.Option(help="On this part (tag or ship/position).", show_default=False)]
Position = Annotated[str | None, typer.Option(metavar="SHIP/POSITION", help="On this position.")]
Family = Annotated[str | None, typer.Option(help="On every installed part of this family.")]


@writes(app)
def add(
    desk: Desk,
    title: Annotated[str, typer.Argument(help="What is to be done.")],
    every: Every = None,
    due: Due = None,
    ship: Annotated[str | None, typer.Option(help="On this ship.")] = None,
    position: Position = None,
    part: Part = None,
    family: Family = None,
    category: Annotated[str | None, choice_option("On every installed part of it", vocabulary.CATEGORIES)] = None,
    source: Annotated[str, typer.Option(help="Who says so: a rule, a regulation, or common practice.")] = "club rule",
    decider: Decider = None,
    work_minutes: WorkMinutes = None,
    note: Note = None,
) -> Result:
    """Add work that comes round (--every), or a promise (--due)."""
    from maintain.services.tasks import record

    scope = record.Scope(ship, position, part, family, category)
    facts = {"source": source, "decider": decider, "work_minutes": work_minutes, "note": note}
    return record.add(desk, title=title, scope=scope, every=every or (), due_on=day(desk, due, "--due"), **facts)


@writes(app)
def done(
    desk: Desk,
    title: Title,
    ship: Annotated[str | None, typer.Option(help="On this ship and what is hers (default: on all).")] = None,
    position: Position = None,
    part: Part = None,
    family: Family = None,
    on_day: Day = None,
    after_sortie: AfterSortie = None,
    by: Annotated[str | None, typer.Option(help="The member who did it (default: whoever is named by --who).")] = None,
    note: Note = None,
) -> Result:
    """Note that a task was done; one that is to be done once is closed by it."""
    from maintain.services.tasks import done, record

    scope = record.Scope(ship, position, part, family)
    return done.done(desk, title=title, on=scope, work=done.Work(day(desk, on_day, "--day"), after_sortie, by, note))


@writes(app)
def change(
    desk: Desk,
    title: Title,
    every: Every = None,
    due: Due = None,
    rename: Annotated[str | None, typer.Option("--title", help="A new title.")] = None,
    source: Annotated[str | None, typer.Option(help="Who says so.")] = None,
    decider: Decider = None,
    work_minutes: WorkMinutes = None,
    note: Note = None,
) -> Result:
    """Mend a task; --every replaces all its clocks."""
    from maintain.services.tasks import record

    facts = {
        "title": rename,
        "due_on": day(desk, due, "--due"),
        "source": source,
        "decider": decider,
        "work_minutes": work_minutes,
        "note": note,
    }
    return record.change(desk, title=title, every=every or (), facts=facts)


@writes(app)
def close(desk: Desk, title: Title, reason: Annotated[str, typer.Option(help="Why it is to stop.")]) -> Result:
    """Stop a task; what was done stays on record."""
    from maintain.services.tasks import record

    return record.close(desk, title=title, reason=reason)


@reads(app, "list")
def list_(
    desk: Desk,
    ship: ShipFilter = None,
    category: Annotated[str | None, choice_option("Only on parts of it", vocabulary.CATEGORIES)] = None,
    overdue: Annotated[bool, typer.Option("--overdue", help="Only what is overdue.")] = False,
    limit: Annotated[
        int | None, typer.Option(help="At most so many (default: 40 on a screen, all to a script).", min=1)
    ] = None,
) -> Result:
    """List what is overdue, due, due by the end of the next battle, not yet due, and done."""
    from maintain.services.tasks import look

    return look.listing(desk, look.Filter(ship, category, overdue, limit))


@reads(app)
def show(desk: Desk, title: Title) -> Result:
    """Show a task: how it stands on each ship and part, and every time it was done."""
    from maintain.services.tasks import look

    return look.page(desk, title=title)


@reads(app)
def suggest(
    desk: Desk,
    category: Annotated[str | None, choice_option("Only on parts of it", vocabulary.CATEGORIES)] = None,
    ship: ShipFilter = None,
    everything: Annotated[
        bool, typer.Option("--everything", help="Also work on parts that the club has none of.")
    ] = False,
) -> Result:
    """Suggest the usual work on the parts there are, each with its source or that it has none."""
    from maintain.services.tasks import adopt

    return adopt.suggest(desk, category=category, ship=ship, everything=everything)


@writes(app)
def adopt(
    desk: Desk,
    titles: Annotated[
        list[str] | None, typer.Argument(metavar="[TITLE]...", help="Which of the work suggested.", show_default=False)
    ] = None,
    every_one: Annotated[bool, typer.Option("--all", help="All of it.")] = False,
    category: Annotated[str | None, choice_option("All on parts of it", vocabulary.CATEGORIES)] = None,
    ship: Annotated[str | None, typer.Option(help="Only for this ship (default: the fleet).")] = None,
) -> Result:
    """Make usual work the club's own tasks; what it has already is left alone."""
    from maintain.services.tasks import adopt

    if not (titles or every_one or category):
        raise typer.BadParameter("name titles, a --category, or --all", param_hint="TITLE")
    return adopt.adopt(desk, adopt.Choice(tuple(titles or ()), category, ship))
