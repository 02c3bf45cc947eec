"""maintain battle ..."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from maintain import vocabulary
from maintain.cli._command import reads, writes
from maintain.cli._options import choice, day

if TYPE_CHECKING:
    from maintain.results.base import Result
    from maintain.services.unit import Desk

app = typer.Typer(no_args_is_help=True, help="Battles, planned and fought.")


@writes(app)
def add(
    desk: Desk,
    name: Annotated[str, typer.Argument(help="Name of the battle.")],
    first: Annotated[str, typer.Option("--from", metavar="DATE", help="Its first day.")],
    last: Annotated[str | None, typer.Option("--until", metavar="DATE", help="Its last day.")] = None,
    venue: Annotated[str | None, typer.Option(help="The pond.")] = None,
    planned_sorties: Annotated[int | None, typer.Option(help="Sorties a ship will sail in all.", min=1)] = None,
    no_resupply: Annotated[bool, typer.Option("--no-resupply", help="No spares can be had there.")] = False,
) -> Result:
    """Add a battle."""
    from maintain.services import battles

    began = day(desk, first, "--from")
    assert began is not None
    days = (began, day(desk, last, "--until") or began)
    return battles.add_battle(
        desk, name=name, days=days, venue=venue, planned_sorties=planned_sorties, resupply=not no_resupply
    )


@writes(app)
def change(
    desk: Desk,
    battle: Annotated[str, typer.Argument(help="The battle.")],
    name: Annotated[str | None, typer.Option(help="A new name.")] = None,
    first: Annotated[str | None, typer.Option("--from", metavar="DATE", help="Its new first day.")] = None,
    last: Annotated[
        str | None, typer.Option("--until", metavar="DATE", help="Its new last day (default: it lasts as long).")
    ] = None,
    venue: Annotated[str | None, typer.Option(help="The new pond.")] = None,
) -> Result:
    """Change a battle's name, days or venue; what is left out stays."""
    from maintain.services import battles

    days = {"first": day(desk, first, "--from"), "last": day(desk, last, "--until")}
    return battles.change_battle(desk, battle=battle, name=name, venue=venue, **days)


@writes(app)
def state(
    desk: Desk,
    battle: Annotated[str, typer.Argument(help="The battle.")],
    state: Annotated[str, choice("New state", vocabulary.BATTLE_STATES)],
) -> Result:
    """Mark a battle as planned, fought or called off."""
    from maintain.services import battles

    return battles.change_state(desk, battle=battle, state=state)


@reads(app, "list")
def list_(
    desk: Desk, planned: Annotated[bool, typer.Option("--planned", help="Only those still to come.")] = False
) -> Result:
    """List battles by date."""
    from maintain.services import battles

    return battles.list_battles(desk, planned_only=planned)
