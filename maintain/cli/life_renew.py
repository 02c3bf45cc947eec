"""maintain life renew."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, Any

import typer

from maintain import vocabulary
from maintain.cli._options import Refit, cents, choice_option

if TYPE_CHECKING:
    from maintain.results.base import Result
    from maintain.services.unit import Desk


def renew(
    desk: Desk,
    category: Annotated[str | None, choice_option("Only this kind of part", vocabulary.CATEGORIES)] = None,
    family: Annotated[str | None, typer.Option("--family", help="Only this family.")] = None,
    cost_of_failure: Annotated[
        str | None, typer.Option(metavar="MONEY", help="What a failure in battle costs, the new part included.")
    ] = None,
    hour: Annotated[str, typer.Option(metavar="MONEY", help="What an hour of a member is worth.")] = "15.00",
    tolerate: Annotated[
        float, typer.Option(help="Calls in vain in a season put up with, for what fails unheard.", min=0.001)
    ] = 0.1,
    refit: Refit = False,
) -> Result:
    """Say at what age to renew working parts, or never, and how often to test what fails unheard."""
    from maintain.results.renewal import Renewal
    from maintain.services.kept import kept

    asked: dict[str, Any] = {"category": category, "family": family, "tolerated": tolerate}
    stakes: dict[str, Any] = {
        "hour_cents": cents(hour, "--hour"),
        "failure_cents": cents(cost_of_failure, "--cost-of-failure"),
    }

    def fresh() -> Renewal:
        from maintain.services import renewal as use_case
        from maintain.services.stakes import Stakes

        return use_case.renewal(desk, use_case.Question(**asked, stakes=Stakes(**stakes)))

    return kept(desk, Renewal, asked | stakes, fresh, refit=refit)
