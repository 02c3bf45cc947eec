"""maintain reading ..."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from maintain import vocabulary
from maintain.cli._command import reads, writes
from maintain.cli._options import Note, ShipFilter, choice, choice_option

if TYPE_CHECKING:
    from maintain.results.base import Result
    from maintain.services.unit import Desk

app = typer.Typer(no_args_is_help=True, help="Readings: measured values of parts and positions.")

_MEASURES = tuple(vocabulary.MEASURES)


@writes(app)
def add(
    desk: Desk,
    of: Annotated[str, typer.Argument(metavar="PART|SHIP/POSITION", help="What was measured.")],
    measure: Annotated[str, choice("What about it", _MEASURES)],
    value: Annotated[float, typer.Argument(help="What was read.")],
    unit: Annotated[str | None, typer.Option(help="Unit of a measure called other; the rest have their own.")] = None,
    note: Note = None,
) -> Result:
    """Record a reading taken today, or on the day of --on."""
    from maintain.services import readings

    return readings.add(desk, of=of, measure=measure, value=value, unit=unit, note=note)


@reads(app, "list")
def list_(
    desk: Desk,
    ship: ShipFilter = None,
    part: Annotated[str | None, typer.Option(help="Only this part.")] = None,
    measure: Annotated[str | None, choice_option("Only this measure", _MEASURES)] = None,
) -> Result:
    """List readings, newest first."""
    from maintain.services import readings

    return readings.listing(desk, ship=ship, part=part, measure=measure)
