"""maintain spares families"""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from maintain.cli._options import day

if TYPE_CHECKING:
    from maintain.results.base import Result
    from maintain.services.unit import Desk


def families(
    desk: Desk,
    until: Annotated[
        str | None,
        typer.Option(metavar="DATE", help="Hold for demand until this day (default: the last battle planned)."),
    ] = None,
    battle: Annotated[str | None, typer.Option(help="Until the end of this battle.")] = None,
    season: Annotated[bool, typer.Option("--season", help="Until the end of the year.")] = False,
    service: Annotated[float, typer.Option(help="Chance with which each holding should suffice.")] = 0.95,
) -> Result:
    """What sharing would save: one family in place of two, one shelf for all ships."""
    from maintain.services import spares_families
    from maintain.services.spell import Until

    ahead = Until(day=day(desk, until, "--until"), battle=battle, season=season)
    return spares_families.families(desk, ahead, service)
