"""maintain sortie ..."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from maintain.cli._command import reads, writes
from maintain.cli._options import Day, Number, ShipFilter, day

if TYPE_CHECKING:
    from maintain.results.base import Result
    from maintain.services.unit import Desk

app = typer.Typer(no_args_is_help=True, help="Sorties: log the whole fleet's in one line, correct, list.")

_SYNTAX = "SHIP=W0..W5[:cause or failed system][:8min under water][:25afloat][:60shots][:3above][:1on][:2below][:timer]"


@writes(app)
def log(
    desk: Desk,
    outcomes: Annotated[list[str], typer.Argument(metavar="SHIP=OUTCOME...", help=_SYNTAX)],
    battle: Annotated[str | None, typer.Option(help="The battle (none: a practice day).")] = None,
    venue: Annotated[str | None, typer.Option(help="The pond of a practice day.")] = None,
    on_day: Day = None,
    number: Number = None,
    minutes: Annotated[float | None, typer.Option(help="Minutes afloat of ships that don't say.", min=0)] = None,
) -> Result:
    """Log one sortie of many ships: maintain sortie log --battle may halberd=W1 gannet=W3:pumping:8min."""
    from maintain.services import sorties

    trip = sorties.Trip(battle=battle, venue=venue, day=day(desk, on_day, "--day"), number=number)
    return sorties.log(desk, trip=trip, written=tuple(outcomes), shared={"minutes_afloat": minutes})


@writes(app)
def correct(
    desk: Desk,
    outcome: Annotated[str, typer.Argument(metavar="SHIP=OUTCOME", help=_SYNTAX)],
    number: Annotated[int, typer.Option(help="Which sortie of that day.", min=1)],
    on_day: Day = None,
) -> Result:
    """Correct the outcome of a sortie already logged."""
    from maintain.services import sorties

    return sorties.correct(desk, written=outcome, day=day(desk, on_day, "--day") or desk.today, number=number)


@reads(app, "list")
def list_(
    desk: Desk,
    ship: ShipFilter = None,
    battle: Annotated[str | None, typer.Option(help="Only this battle.")] = None,
    sunk: Annotated[bool, typer.Option("--sunk", help="Only sinkings.")] = False,
    limit: Annotated[
        int | None, typer.Option(help="How many at the most (else 40 on the screen, all in --json and --csv).", min=1)
    ] = None,
) -> Result:
    """List sorties, newest first."""
    from maintain.services import sorties

    return sorties.listing(desk, ship=ship, battle=battle, sunk_only=sunk, limit=limit)


@writes(app)
def reconcile(
    desk: Desk,
    file: Annotated[
        Path, typer.Argument(help="A score sheet as CSV, its columns headed battle, ship, sinkings and perhaps sortie.")
    ],
    battle: Annotated[str | None, typer.Option(help="Its battle, if it has no column for that.")] = None,
    accept: Annotated[bool, typer.Option("--accept", help="Add the sinkings that no log has.")] = False,
) -> Result:
    """Hold a score sheet against the logs: sinkings that no log has, and logged ones that the sheet lacks."""
    from maintain.services.battle_day import scores

    return scores.reconcile(desk, path=file, battle=battle, accept=accept)
