"""maintain family ..."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from maintain import vocabulary
from maintain.cli._command import reads, writes
from maintain.cli._options import Note, cents, choice_option

if TYPE_CHECKING:
    from maintain.results.base import Result
    from maintain.services.unit import Desk

app = typer.Typer(no_args_is_help=True, help="Families: parts that swap without rework.")

Cost = Annotated[str | None, typer.Option(help="Unit cost in the club's currency, for example 12.50.")]
Lead = Annotated[int | None, typer.Option(help="Days from order to delivery.", min=0)]
Shelf = Annotated[int | None, typer.Option(help="Days it may lie in store.", min=1)]
Fitting = Annotated[int | None, typer.Option(help="Minutes of work to replace one.", min=0)]
Line = Annotated[int | None, typer.Option(help="Reorder when the pool holds fewer.", min=0)]
Weight = Annotated[float | None, typer.Option(help="Weight of one, in grams.", min=0)]


@writes(app)
def add(
    desk: Desk,
    name: Annotated[str, typer.Argument(help="For example 'standard servo'.")],
    category: Annotated[str, choice_option("Category", vocabulary.CATEGORIES)],
    kept: Annotated[str, choice_option("Kept", vocabulary.TRACKING)] = "tagged",
    hidden: Annotated[bool, typer.Option("--hidden", help="Only a demand test shows that it has failed.")] = False,
    ages_on_shelf: Annotated[
        bool, typer.Option("--ages-on-shelf", help="Rubber and cells age in the box too.")
    ] = False,
    unit_cost: Cost = None,
    lead_time_days: Lead = None,
    shelf_life_days: Shelf = None,
    fitting_minutes: Fitting = None,
    reorder_line: Line = None,
    weight_grams: Weight = None,
    note: Note = None,
) -> Result:
    """Add a family."""
    from maintain.services import families

    return families.add(
        desk,
        name=name,
        category=category,
        tracking=kept,
        hidden=hidden,
        ages_on_shelf=ages_on_shelf,
        unit_cost_cents=cents(unit_cost, "--unit-cost"),
        lead_time_days=lead_time_days,
        shelf_life_days=shelf_life_days,
        fitting_minutes=fitting_minutes,
        reorder_line=reorder_line,
        weight_grams=weight_grams,
        note=note,
    )


@writes(app)
def change(
    desk: Desk,
    family: Annotated[str, typer.Argument(help="The family.")],
    hidden: Annotated[
        bool | None, typer.Option("--hidden/--not-hidden", help="Only a demand test shows failure.")
    ] = None,
    unit_cost: Cost = None,
    lead_time_days: Lead = None,
    shelf_life_days: Shelf = None,
    fitting_minutes: Fitting = None,
    reorder_line: Line = None,
    weight_grams: Weight = None,
    note: Note = None,
) -> Result:
    """Change what is known of a family."""
    from maintain.services import families

    facts = {
        "hidden": hidden,
        "unit_cost_cents": cents(unit_cost, "--unit-cost"),
        "lead_time_days": lead_time_days,
        "shelf_life_days": shelf_life_days,
        "fitting_minutes": fitting_minutes,
        "reorder_line": reorder_line,
        "weight_grams": weight_grams,
        "note": note,
    }
    return families.change(desk, family=family, facts=facts)


@reads(app, "list")
def list_(
    desk: Desk,
    category: Annotated[str | None, choice_option("Only this category", vocabulary.CATEGORIES)] = None,
) -> Result:
    """List all families."""
    from maintain.services import families

    return families.listing(desk, category=category)
