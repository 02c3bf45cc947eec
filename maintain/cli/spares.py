"""maintain spares."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from maintain.cli._command import reads
from maintain.cli._options import day

if TYPE_CHECKING:
    from maintain.results.base import Result
    from maintain.services.unit import Desk

app = typer.Typer()


@reads(app)
def spares(
    desk: Desk,
    until: Annotated[
        str | None,
        typer.Option(metavar="DATE", help="Hold for demand until this day (default: the last battle planned)."),
    ] = None,
    service: Annotated[float, typer.Option(help="Chance with which each holding should suffice.")] = 0.95,
    everything: Annotated[bool, typer.Option("--all", help="Show families that hardly run out as well.")] = False,
) -> Result:
    """What the pool should hold, and what to buy."""
    from maintain.services import spares as use_case

    question = use_case.Question(until=day(desk, until, "--until"), service=service, everything=everything)
    return use_case.spares(desk, question)
