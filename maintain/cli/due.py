"""maintain due."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from maintain import vocabulary
from maintain.cli._command import reads
from maintain.cli._options import ShipFilter, choice_option

if TYPE_CHECKING:
    from maintain.results.base import Result
    from maintain.services.unit import Desk

SOMETHING_IS_DUE = 10

app = typer.Typer()


@reads(app)
def due(
    desk: Desk,
    ship: ShipFilter = None,
    battle: Annotated[str | None, typer.Option(help="Before the end of this battle (default: the next).")] = None,
    system: Annotated[str | None, choice_option("Only this system", vocabulary.SYSTEMS)] = None,
    over: Annotated[float, typer.Option(help="List parts at least this likely to fail.", min=0, max=1)] = 0.03,
    everything: Annotated[bool, typer.Option("--all", help="List all parts, however unlikely to fail.")] = False,
    hours: Annotated[
        float | None,
        typer.Option(
            help="Only work that fits in so many hours, by what a minute of it buys.", min=0, show_default=False
        ),
    ] = None,
    explain: Annotated[
        str | None,
        typer.Option(metavar="PART", help="All there is to say of one part and its advice.", show_default=False),
    ] = None,
    exit_code: Annotated[bool, typer.Option("--exit-code", help="Exit with 10 if something is due.")] = False,
) -> tuple[Result, int]:
    """What is due before the next battle, and why."""
    from maintain.services import due as use_case

    if explain is not None:
        from maintain.services.explain import explain as explained

        return explained(desk, part=explain, battle=battle), 0
    question = use_case.Question(battle=battle, ship=ship, system=system, over=over, everything=everything, hours=hours)
    answer = use_case.due(desk, question)
    return answer, SOMETHING_IS_DUE if exit_code and answer.lines else 0
