"""maintain failure ..."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from maintain import vocabulary
from maintain.cli._command import reads, writes
from maintain.cli._moments import AfterSortie, Found, found
from maintain.cli._options import Note, ShipFilter, choice_option, day
from maintain.cli._symptoms import Another, Cause, Effect, FoundBy, LastGood, Mode, SecondaryTo, symptoms

if TYPE_CHECKING:
    from maintain.results.base import Result
    from maintain.services.unit import Desk

app = typer.Typer(no_args_is_help=True, help="Failures: log one without a spare, correct, list.")


@writes(app)
def log(
    desk: Desk,
    part: Annotated[str, typer.Argument(help="The part: its tag, or ship/position for the one fitted there.")],
    mode: Mode = None,
    cause: Cause = None,
    effect: Effect = "unknown",
    found_: Found = None,
    after_sortie: AfterSortie = None,
    found_by: FoundBy = "unknown",
    last_good: LastGood = None,
    secondary_to: SecondaryTo = None,
    to: Annotated[str, choice_option("Where the failed part goes", ("scrapped", "suspect", "stays"))] = "scrapped",
    another: Another = False,
    note: Note = None,
) -> Result:
    """Log a failure without fitting another part."""
    from maintain.services import failure_log

    failure_log.look_up(desk, part, another=another)
    how = symptoms(
        desk,
        mode=mode,
        cause=cause,
        effect=effect,
        found_by=found_by,
        last_good=last_good,
        secondary_to=secondary_to,
        note=note,
        another=another,
    )
    timing = found(desk, found_, after_sortie)
    return failure_log.log(desk, part=part, symptoms=how, timing=timing, to=to)


@writes(app)
def correct(
    desk: Desk,
    number: Annotated[int, typer.Argument(help="The failure's number, as failure list shows it.", min=1)],
    mode: Mode = None,
    cause: Cause = None,
    effect: Annotated[str | None, choice_option("What the ship suffered", vocabulary.EFFECTS)] = None,
    found_: Annotated[str | None, typer.Option("--found", metavar="DATE", help="The day it was found.")] = None,
    after_sortie: AfterSortie = None,
    found_by: Annotated[str | None, choice_option("How it was found", vocabulary.FOUND_BY)] = None,
    last_good: LastGood = None,
    secondary_to: SecondaryTo = None,
    note: Note = None,
) -> Result:
    """Correct a failure already logged; what is left out stays."""
    from maintain.services import failure_log

    facts = {"mode": mode, "cause": cause, "effect": effect, "found_by": found_by, "note": note}
    timing = found(desk, found_, after_sortie)
    known = (day(desk, last_good, "--last-good"), secondary_to)
    return failure_log.correct(desk, number=number, facts=facts, timing=timing, known=known)


@reads(app, "list")
def list_(
    desk: Desk,
    ship: ShipFilter = None,
    family: Annotated[str | None, typer.Option(help="Only this family.")] = None,
    since: Annotated[str | None, typer.Option(metavar="DATE", help="Only those found from this day on.")] = None,
) -> Result:
    """List failures, newest first."""
    from maintain.services import failures

    return failures.listing(desk, ship=ship, family=family, since=day(desk, since, "--since"))
