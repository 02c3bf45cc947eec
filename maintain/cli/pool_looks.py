"""maintain pool status, board, owed, history, stale, limits, costs: looking at the pool"""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from maintain import vocabulary
from maintain.cli._options import choice_option, day

if TYPE_CHECKING:
    from maintain.results.base import Result
    from maintain.services.unit import Desk

_COSTS_BY = ("family", "ship", "season", "captain")


def status(
    desk: Desk,
    item: Annotated[str | None, typer.Argument(metavar="PART|FAMILY", help="Each piece of this one only.")] = None,
) -> Result:
    """Show what the pool has, where it is and whether it works."""
    from maintain.services.pool import status as use_case

    return use_case.status(desk, item_text=item)


def board(
    desk: Desk,
    only: Annotated[str | None, choice_option("Notices of this kind only", vocabulary.NOTICES)] = None,
) -> Result:
    """Show the shortage board: what is owed, overdue, stale, short, suspect or unidentified."""
    from maintain.services.pool import board as use_case

    return use_case.board(desk, kind=only)


def owed(
    desk: Desk,
    by: Annotated[str | None, typer.Option(metavar="MEMBER", help="Only what this member owes or is owed.")] = None,
    ship: Annotated[str | None, typer.Option(help="Only what was borrowed for this ship, or is aboard her.")] = None,
) -> Result:
    """Show who owes what to whom, since when, by when."""
    from maintain.services.pool import owed as use_case

    return use_case.owed(desk, by=by, ship=ship)


def history(
    desk: Desk, item: Annotated[str, typer.Argument(metavar="PART|FAMILY", help="A family, or one part.")]
) -> Result:
    """Show all comings and goings of a family."""
    from maintain.services.pool import history as use_case

    return use_case.history(desk, item_text=item)


def stale(
    desk: Desk,
    by: Annotated[str | None, typer.Option(metavar="DATE", help="Stale by then (default: today).")] = None,
) -> Result:
    """Show what has lain in the pool too long: rubber, cells, glue."""
    from maintain.services.pool import stale as use_case

    return use_case.stale(desk, by=day(desk, by, "--by"))


def limits(
    desk: Desk,
    rules: Annotated[bool, typer.Option("--rules", help="Show the rules known by name instead.")] = False,
) -> Result:
    """Show how long each family may lie in store, and who says so."""
    from maintain.services.pool import limits as use_case

    return use_case.rules() if rules else use_case.listing(desk)


def costs(
    desk: Desk,
    season: Annotated[
        int | None, typer.Option(metavar="YEAR", help="Of this season (default: this one; by season: all).")
    ] = None,
    since: Annotated[str | None, typer.Option(metavar="DATE", help="Or since this day.")] = None,
    by: Annotated[str, choice_option("Summed by", _COSTS_BY)] = "family",
) -> Result:
    """Show what failures, renewals and losses cost; by captain also what is owed in kind."""
    from maintain.services.pool import costs as use_case

    return use_case.costs(desk, use_case.Asked(season, day(desk, since, "--since"), by))
