"""maintain ship ..."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from maintain import vocabulary
from maintain.cli._command import reads, writes
from maintain.cli._missing import confirm
from maintain.cli._options import Since, Yes, choice, day

if TYPE_CHECKING:
    from maintain.results.base import Result
    from maintain.services.unit import Desk

app = typer.Typer(no_args_is_help=True, help="Ships: add, list, change state.")


@writes(app)
def add(
    desk: Desk,
    name: Annotated[str, typer.Argument(help="Her name.")],
    captain: Annotated[str | None, typer.Option(help="Her captain, a member.")] = None,
    number: Annotated[str | None, typer.Option(help="Her number in the club.")] = None,
    like: Annotated[
        str | None, typer.Option(help="Lay out positions of a typical 'light cruiser', battleship or 'convoy ship'.")
    ] = None,
    since: Since = None,
) -> Result:
    """Add a ship."""
    from maintain.services import ships

    began = day(desk, since, "--since")
    return ships.add(desk, name=name, captain=captain, number=number, template=like, since=began)


@writes(app)
def state(
    desk: Desk,
    ship: Annotated[str, typer.Argument(help="The ship.")],
    state: Annotated[str, choice("Her new state", vocabulary.SHIP_STATES)],
    since: Since = None,
    yes: Yes = False,
) -> Result:
    """Put a ship in dry dock, back in commission, or strike her off."""
    from maintain.services import ships

    if state in ("lost", "paid off"):
        confirm(f"{ship} is struck off and all her parts leave her. Go on?", yes=yes)
    return ships.change_state(desk, ship=ship, state=state, since=day(desk, since, "--since"))


@reads(app, "list")
def list_(desk: Desk) -> Result:
    """List all ships."""
    from maintain.services import ships

    return ships.listing(desk)
