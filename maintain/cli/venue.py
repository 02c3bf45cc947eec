"""maintain venue ..."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from maintain import vocabulary
from maintain.cli._command import reads, writes
from maintain.cli._options import Note, choice_option

if TYPE_CHECKING:
    from maintain.results.base import Result
    from maintain.services.unit import Desk

app = typer.Typer(no_args_is_help=True, help="Venues: ponds and their water.")

Depth = Annotated[float | None, typer.Option(help="Depth in metres.", min=0)]


@writes(app)
def add(
    desk: Desk,
    name: Annotated[str, typer.Argument(help="Name of the pond.")],
    water: Annotated[str, choice_option("Kind of water", vocabulary.WATERS)] = "unknown",
    depth_m: Depth = None,
    note: Note = None,
) -> Result:
    """Add a pond."""
    from maintain.services import battles

    return battles.add_venue(desk, name=name, water=water, depth_m=depth_m, note=note)


@writes(app)
def change(
    desk: Desk,
    venue: Annotated[str, typer.Argument(help="The pond.")],
    water: Annotated[str | None, choice_option("Kind of water", vocabulary.WATERS)] = None,
    depth_m: Depth = None,
    note: Note = None,
) -> Result:
    """Change what is known of a pond."""
    from maintain.services import battles

    return battles.change_venue(desk, venue=venue, water=water, depth_m=depth_m, note=note)


@reads(app, "list")
def list_(desk: Desk) -> Result:
    """List all ponds."""
    from maintain.services import battles

    return battles.list_venues(desk)
