"""maintain init."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from maintain.cli._command import writes

if TYPE_CHECKING:
    from maintain.results.base import Result
    from maintain.services.unit import Desk

app = typer.Typer()


@writes(app)
def init(
    desk: Desk,
    name: Annotated[str, typer.Option("--club", help="Name of the club.")] = "our club",
    currency: Annotated[str, typer.Option(help="Currency of all costs, as a code of three letters.")] = "EUR",
    records_from: Annotated[str | None, typer.Option(help="First day the records cover.", metavar="DATE")] = None,
) -> Result:
    """Make a new, empty database for a club."""
    from maintain.core.when import parse_day
    from maintain.services import club

    since = parse_day(records_from, desk.today, what="--records-from") if records_from else None
    return club.init(desk, name=name, currency=currency, records_from=since)
