"""maintain due."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, Any

import typer

from maintain import vocabulary
from maintain.cli._command import reads
from maintain.cli._options import Refit, ShipFilter, choice_option

if TYPE_CHECKING:
    from maintain.results.base import Result
    from maintain.results.outlook import Due
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
    exit_code: Annotated[
        bool, typer.Option("--exit-code", help="Exit with 10 if something is due or missing.")
    ] = False,
    refit: Refit = False,
) -> tuple[Result, int]:
    """What is due before the next battle, and why."""
    if explain is not None:
        _alone(ship=ship, system=system, hours=hours, all=everything)
        from maintain.services.explain import explain as explained
        from maintain.services.kept import forget

        if refit:
            forget(desk)
        return explained(desk, part=explain, battle=battle), 0
    asked: dict[str, Any] = {"battle": battle, "ship": ship, "system": system, "over": over}
    asked |= {"everything": everything, "hours": hours}
    answer = _kept(desk, asked, refit)
    return answer, SOMETHING_IS_DUE if exit_code and (answer.lines or answer.empty) else 0


def _alone(**others: object) -> None:
    """Refuse what would narrow a list: one part is explained whole."""
    given = [f"--{name}" for name, value in others.items() if value]
    if given:
        raise typer.BadParameter(f"{', '.join(given)} cannot go with it: it tells of one part", param_hint="--explain")


def _kept(desk: Desk, asked: dict[str, Any], refit: bool) -> Due:
    """The answer, worked out only if it is not kept, with the last verdict on such forecasts."""
    from dataclasses import replace

    from maintain.results.outlook import Due
    from maintain.services.kept import kept
    from maintain.services.trust import last_verdict

    def fresh() -> Due:
        from maintain.services import due as use_case

        return use_case.due(desk, use_case.Question(**asked))

    answer = kept(desk, Due, asked, fresh, refit=refit)
    return replace(answer, notes=(*answer.notes, *last_verdict(desk)))
