"""maintain member ..."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from maintain.cli._command import reads, writes
from maintain.cli._options import Note

if TYPE_CHECKING:
    from maintain.results.base import Result
    from maintain.services.unit import Desk

app = typer.Typer(no_args_is_help=True, help="Members: captains and whoever owns or borrows parts.")


@writes(app)
def add(
    desk: Desk, name: Annotated[str, typer.Argument(help="A nickname or initials will do.")], note: Note = None
) -> Result:
    """Add a member."""
    from maintain.services import members

    return members.add(desk, name=name, note=note)


@reads(app, "list")
def list_(desk: Desk) -> Result:
    """List all members with their ships."""
    from maintain.services import members

    return members.listing(desk)
