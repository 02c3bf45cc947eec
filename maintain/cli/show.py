"""maintain show SHIP."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from maintain.cli._command import reads

if TYPE_CHECKING:
    from maintain.results.base import Result
    from maintain.services.unit import Desk

app = typer.Typer()


@reads(app)
def show(desk: Desk, ship: Annotated[str, typer.Argument(help="The ship.")]) -> Result:
    """Show a ship: her positions, the parts in them, how much water they have seen."""
    from maintain.services.ship_page import ship_page

    return ship_page(desk, ship=ship)
