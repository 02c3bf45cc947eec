"""maintain ready."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from maintain.cli._command import reads

if TYPE_CHECKING:
    from maintain.results.base import Result
    from maintain.services.unit import Desk

app = typer.Typer()


@reads(app)
def ready(
    desk: Desk,
    ship: Annotated[str | None, typer.Argument(help="The ship.", show_default=False)] = None,
    fleet: Annotated[bool, typer.Option("--fleet", help="All ships in commission, a line each.")] = False,
    battle: Annotated[str | None, typer.Option(help="The battle to get through (default: the next).")] = None,
) -> Result:
    """How likely a ship is to get through the battle, and the best things to do tonight."""
    if fleet == (ship is not None):
        raise typer.BadParameter("name a ship, or ask for --fleet", param_hint="SHIP")
    from maintain.services import ready as use_case

    if ship is None:
        return use_case.ready_fleet(desk, battle=battle)
    return use_case.ready(desk, ship=ship, battle=battle)
