"""maintain opening ..."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from maintain import vocabulary
from maintain.cli._command import reads, writes
from maintain.cli._options import Day, Number, ShipFilter, choice, choice_option, day

if TYPE_CHECKING:
    from maintain.results.base import Result
    from maintain.services.unit import Desk

app = typer.Typer(no_args_is_help=True, help="Openings: how a box looked inside; a dry finding is data.")


@writes(app)
def log(
    desk: Desk,
    where: Annotated[str, typer.Argument(metavar="SHIP[/POSITION]", help="What was opened.")],
    found: Annotated[str, choice("How it looked inside", vocabulary.OPENED_FINDINGS)],
    zone: Annotated[str, choice_option("Which zone", vocabulary.ZONES)] = "sealed box",
    on_day: Day = None,
    number: Number = None,
    dried: Annotated[bool, typer.Option("--dried", help="It was cleaned and dried.")] = False,
) -> Result:
    """Log what was found when a box or hull was opened."""
    from maintain.services import openings

    sortie = (day(desk, on_day, "--day"), number)
    return openings.log(desk, where=where, found=found, zone=zone, sortie=sortie, dried=dried)


@reads(app, "list")
def list_(desk: Desk, ship: ShipFilter = None) -> Result:
    """List openings, newest first."""
    from maintain.services import openings

    return openings.listing(desk, ship=ship)
