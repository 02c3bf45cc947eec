"""maintain position ..."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from maintain import vocabulary
from maintain.cli._command import reads, writes
from maintain.cli._options import Note, ShipFilter, choice_option

if TYPE_CHECKING:
    from maintain.results.base import Result
    from maintain.services.unit import Desk

app = typer.Typer(no_args_is_help=True, help="Positions: the places on a ship that take one part.")

Where = Annotated[str, typer.Argument(metavar="SHIP/POSITION", help="For example halberd/rudder-servo.")]
Fits = Annotated[list[str] | None, typer.Option("--fits", help="A family that fits; repeat for more (none: any fits).")]
Bank = Annotated[str | None, typer.Option(help="Name of a bank whose positions stand in for each other.")]
BankNeeds = Annotated[int | None, typer.Option(help="How many of the bank must work.", min=1)]
PoweredBy = Annotated[str | None, typer.Option(help="Position of the battery that feeds it.")]


@writes(app)
def add(
    desk: Desk,
    where: Where,
    system: Annotated[str, choice_option("What it serves", vocabulary.SYSTEMS)],
    zone: Annotated[str, choice_option("Where water finds it", vocabulary.ZONES)],
    dependence: Annotated[str, choice_option("How much she depends on it", vocabulary.DEPENDENCE)] = "vital",
    fits: Fits = None,
    bank: Bank = None,
    bank_needs: BankNeeds = None,
    powered_by: PoweredBy = None,
    note: Note = None,
) -> Result:
    """Add a position to a ship."""
    from maintain.services import positions

    facts = {"system": system, "zone": zone, "dependence": dependence, "bank": bank, "bank_needs": bank_needs}
    return positions.add(desk, where=where, families=tuple(fits or ()), powered_by=powered_by, note=note, **facts)


@writes(app)
def change(
    desk: Desk,
    where: Where,
    system: Annotated[str | None, choice_option("What it serves", vocabulary.SYSTEMS)] = None,
    zone: Annotated[str | None, choice_option("Where water finds it", vocabulary.ZONES)] = None,
    dependence: Annotated[str | None, choice_option("How much she depends on it", vocabulary.DEPENDENCE)] = None,
    fits: Fits = None,
    bank: Bank = None,
    bank_needs: BankNeeds = None,
    powered_by: PoweredBy = None,
    note: Note = None,
) -> Result:
    """Change what is known of a position."""
    from maintain.services import positions

    facts = {
        "system": system,
        "zone": zone,
        "dependence": dependence,
        "bank": bank,
        "bank_needs": bank_needs,
        "note": note,
    }
    return positions.change(desk, where=where, families=tuple(fits or ()), powered_by=powered_by, facts=facts)


@writes(app)
def remove(desk: Desk, where: Where) -> Result:
    """Remove a position that never held a part."""
    from maintain.services import positions

    return positions.remove(desk, where=where)


@reads(app, "list")
def list_(
    desk: Desk,
    ship: ShipFilter = None,
    system: Annotated[str | None, choice_option("Only this system", vocabulary.SYSTEMS)] = None,
    empty: Annotated[bool, typer.Option("--empty", help="Only those that hold no part.")] = False,
) -> Result:
    """List positions with the part each holds."""
    from maintain.services import positions

    return positions.listing(desk, ship=ship, system=system, empty_only=empty)
