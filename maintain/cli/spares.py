"""maintain spares."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from maintain.cli._command import answers_alone, reads
from maintain.cli._options import Service, UntilBattle, UntilDay, UntilYearsEnd, cents, day
from maintain.cli._pictures import pictured
from maintain.cli.spares_families import families

if TYPE_CHECKING:
    from maintain.results.base import Pictured
    from maintain.services.unit import Desk

app = typer.Typer()
reads(app)(families)


@answers_alone(app)
@pictured("maintain.render.spares_figures:plan")
def spares(
    desk: Desk,
    until: UntilDay = None,
    battle: UntilBattle = None,
    season: UntilYearsEnd = False,
    meet: Annotated[
        str | None, typer.Option(metavar="BATTLE", help="What to pack for this meet, far from any shop.")
    ] = None,
    service: Service = 0.95,
    whole: Annotated[
        bool,
        typer.Option("--whole", help="Ask that chance of all together: that nobody goes home for want of a spare."),
    ] = False,
    budget: Annotated[
        str | None, typer.Option(metavar="AMOUNT", help="Spend no more than this, where it saves most of the battle.")
    ] = None,
    why: Annotated[
        str | None, typer.Option(metavar="FAMILY", help="The whole reasoning about one family.", show_default=False)
    ] = None,
    everything: Annotated[bool, typer.Option("--all", help="Show families that hardly run out as well.")] = False,
) -> Pictured:
    """What the pool should hold, what to buy, and what to pack for a meet."""
    from maintain.services import crate, spares_why
    from maintain.services import spares as use_case
    from maintain.services.spell import Until

    question = use_case.Question(
        until=Until(day=day(desk, until, "--until"), battle=battle, season=season, meet=meet),
        service=service,
        whole=whole,
        budget_cents=cents(budget, "--budget"),
        everything=everything,
    )
    if why is not None:
        return spares_why.why(desk, why, question)
    return crate.crate(desk, question) if meet else use_case.spares(desk, question)
