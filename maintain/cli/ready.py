"""maintain ready."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from maintain.cli._command import reads
from maintain.cli._options import Refit

if TYPE_CHECKING:
    from maintain.results.base import Result
    from maintain.results.ready import Ready, ReadyFleet
    from maintain.services.unit import Desk

app = typer.Typer()


@reads(app)
def ready(
    desk: Desk,
    ship: Annotated[str | None, typer.Argument(help="The ship.", show_default=False)] = None,
    fleet: Annotated[bool, typer.Option("--fleet", help="All ships in commission, a line each.")] = False,
    battle: Annotated[str | None, typer.Option(help="The battle to get through (default: the next).")] = None,
    refit: Refit = False,
) -> Result:
    """How likely a ship is to get through the battle, and the best things to do tonight."""
    if fleet == (ship is not None):
        raise typer.BadParameter("name a ship, or ask for --fleet", param_hint="SHIP")
    from maintain.results.ready import Ready, ReadyFleet
    from maintain.services.kept import kept

    if ship is None:
        return kept(desk, ReadyFleet, {"battle": battle}, lambda: _of_fleet(desk, battle), refit=refit)
    return kept(desk, Ready, {"ship": ship, "battle": battle}, lambda: _of_ship(desk, ship, battle), refit=refit)


def _of_ship(desk: Desk, ship: str, battle: str | None) -> Ready:
    from maintain.services import ready as use_case

    return use_case.ready(desk, ship=ship, battle=battle)


def _of_fleet(desk: Desk, battle: str | None) -> ReadyFleet:
    from maintain.services import ready as use_case

    return use_case.ready_fleet(desk, battle=battle)
