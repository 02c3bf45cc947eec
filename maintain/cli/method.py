"""maintain method ..."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from maintain.cli._command import reads, writes
from maintain.cli._options import Note

if TYPE_CHECKING:
    from maintain.results.base import Result
    from maintain.services.unit import Desk

app = typer.Typer(no_args_is_help=True, help="Waterproofing methods: add, list.")


@writes(app)
def add(
    desk: Desk,
    name: Annotated[str, typer.Argument(help="For example 'grease'.")],
    note: Note = None,
) -> Result:
    """Add a waterproofing method."""
    from maintain.services import methods

    return methods.add(desk, name=name, note=note)


@reads(app, "list")
def list_(desk: Desk) -> Result:
    """List waterproofing methods."""
    from maintain.services import methods

    return methods.listing(desk)
