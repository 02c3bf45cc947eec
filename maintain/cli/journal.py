"""maintain journal."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from maintain.cli._command import reads

if TYPE_CHECKING:
    from maintain.results.base import Result
    from maintain.services.unit import Desk

app = typer.Typer()


@reads(app)
def journal(desk: Desk, limit: Annotated[int, typer.Option(help="How many changes.", min=1)] = 20) -> Result:
    """Show who changed what, and when."""
    from maintain.services import history

    return history.listing(desk, limit=limit)
