"""maintain calendar."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from maintain.cli._command import reads
from maintain.cli._options import ShipFilter, day

if TYPE_CHECKING:
    from maintain.results.base import Result
    from maintain.services.unit import Desk

app = typer.Typer()


@reads(app)
def calendar(
    desk: Desk,
    ship: ShipFilter = None,
    captain: Annotated[str | None, typer.Option(help="Only this captain's ships.")] = None,
    until: Annotated[str | None, typer.Option(metavar="DATE", help="Until this day (default: a year ahead).")] = None,
    out: Annotated[
        Path | None,
        typer.Option(help="Write a file that phones take in (RFC 5545); - prints it.", metavar="FILE.ics|-"),
    ] = None,
    replace: Annotated[bool, typer.Option("--replace", help="Overwrite a file that is there already.")] = False,
) -> Result:
    """Battles, legal dates and work by day, also as a file for a phone's calendar."""
    from maintain.services import calendar

    if ship and captain:
        raise typer.BadParameter("name a --ship or a --captain, not both", param_hint="--captain")
    made = calendar.calendar(desk, calendar.Wanted(ship, captain, day(desk, until, "--until")))
    if out is None:
        return made
    return calendar.as_text(desk, made) if str(out) == "-" else calendar.write(desk, made, out, replace=replace)
