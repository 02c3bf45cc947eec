"""maintain reading ..."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from maintain import vocabulary
from maintain.cli._command import reads, writes
from maintain.cli._options import Note, ShipFilter, choice, choice_option
from maintain.cli._pictures import pictured

if TYPE_CHECKING:
    from maintain.results.base import Pictured, Result
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
    from maintain.services.readings import record

    return record.add(desk, of=of, measure=measure, value=value, unit=unit, note=note)


@reads(app, "list")
def list_(
    desk: Desk,
    ship: ShipFilter = None,
    part: Annotated[str | None, typer.Option(help="Only this part.")] = None,
    measure: Annotated[str | None, choice_option("Only this measure", _MEASURES)] = None,
) -> Result:
    """List readings, newest first."""
    from maintain.services.readings import record

    return record.listing(desk, ship=ship, part=part, measure=measure)


@reads(app)
@pictured("maintain.render.readings:drawn")
def trend(
    desk: Desk,
    of: Annotated[
        str | None, typer.Argument(metavar="PART|SHIP/POSITION|SHIP", help="Of what (default: all in use).")
    ] = None,
    measure: Annotated[str | None, choice_option("Only this measure", vocabulary.GAUGED)] = None,
    conf: Annotated[float, typer.Option(help="Confidence of the intervals.")] = 0.95,
    hole_mm: Annotated[
        list[float] | None, typer.Option(help="Diameter of a hole the pump is to carry (default: 4.5 and 6.4).")
    ] = None,
    depth_mm: Annotated[float, typer.Option(help="How deep that hole is.")] = 25.0,
) -> Pictured:
    """Readings against age: the line through them, and when it meets its limit."""
    from maintain.services.readings import trend as use_case

    holes = tuple(hole_mm) if hole_mm else use_case.HOLES_MM
    return use_case.trend(desk, use_case.Question(of, measure, conf, holes, depth_mm))


@writes(app)
def limit(
    desk: Desk,
    measure: Annotated[str, choice("What is measured", vocabulary.GAUGED)],
    at_most: Annotated[float | None, typer.Option(help="Good readings are not above this.")] = None,
    at_least: Annotated[float | None, typer.Option(help="Good readings are not below this.")] = None,
    of_first: Annotated[bool, typer.Option("--of-first", help="In per cent of the part's first reading.")] = False,
    family: Annotated[str | None, typer.Option(help="Only of this family.")] = None,
    category: Annotated[str | None, choice_option("Or of a whole category", vocabulary.CATEGORIES)] = None,
    source: Annotated[str | None, typer.Option(help="Who says so.")] = None,
    remove: Annotated[bool, typer.Option("--remove", help="Take the club's limit back.")] = False,
) -> Result:
    """Set what a measure is held against, and who says so; it outranks common practice."""
    from maintain.services.readings import limits

    setting = limits.Setting(measure, family, category, at_most, at_least, of_first, source, remove)
    return limits.set_limit(desk, setting)


@reads(app)
def limits(desk: Desk) -> Result:
    """What each measure is held against, and who says so."""
    from maintain.services.readings import limits as use_case

    return use_case.listing(desk)
