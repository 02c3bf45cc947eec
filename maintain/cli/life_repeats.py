"""maintain life repeats"""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from maintain import vocabulary
from maintain.cli._lives import At, Conf, Since, times
from maintain.cli._options import ShipFilter, choice_option, day
from maintain.cli._pictures import pictured

if TYPE_CHECKING:
    from maintain.results.base import Pictured
    from maintain.services.unit import Desk

UNITS = ("position", "ship")
CLOCKS = ("days", "sorties")

_File = typer.Option("--csv", metavar="FILE", help="Failures of this file instead of the records.")
_End = typer.Option("--end", metavar="COL|TIME", help="Column: when the watch of the unit ended; or one time for all.")
_Event = typer.Option(
    "--event", metavar="COL", help="Column: 1/0, true/false, yes/no; a row that is no failure ends the watch."
)
_By = typer.Option(
    "--by", metavar="LABEL|COL", help="Group by a column of the file, or by position, ship, system, category or zone."
)


def _column(name: str, text: str) -> object:
    return typer.Option(f"--{name}", metavar="COL", help=f"Column: {text}.")


@pictured("maintain.render.life_repeats:plot")
def repeats(
    desk: Desk,
    file: Annotated[str | None, _File] = None,
    id_: Annotated[str | None, _column("id", "the unit; without it all rows are of one")] = None,
    time: Annotated[str | None, _column("time", "the unit's own clock at the failure")] = None,
    end: Annotated[str | None, _End] = None,
    event: Annotated[str | None, _Event] = None,
    start: Annotated[str | None, _column("start", "when the watch of the unit began; else 0")] = None,
    cluster: Annotated[str | None, _column("cluster", "the ship, or what else units share their luck with")] = None,
    by: Annotated[str | None, _By] = None,
    since: Since = None,
    ship: ShipFilter = None,
    position: Annotated[str | None, typer.Option("--position", help="Only positions of this name.")] = None,
    system: Annotated[str | None, choice_option("Only this system", vocabulary.SYSTEMS)] = None,
    category: Annotated[str | None, choice_option("Only positions of such parts", vocabulary.CATEGORIES)] = None,
    zone: Annotated[str | None, choice_option("Only positions in this zone", vocabulary.ZONES)] = None,
    unit: Annotated[str | None, choice_option("What is watched, by default each position", UNITS)] = None,
    clock: Annotated[str | None, choice_option("The measure of use, by default days", CLOCKS)] = None,
    at: At = None,
    conf: Conf = 0.95,
) -> Pictured:
    """Show whether failures of a position, ship or system come faster or slower through its repairs."""
    from maintain.services import life_repeats as service
    from maintain.services.life import Question

    columns = {"id": id_, "time": time, "end": end, "event": event, "start": start, "cluster": cluster}
    only = {"ship": ship, "position": position, "system": system, "category": category, "zone": zone}
    wanted = service.Wanted(unit, clock, only, day(desk, since, "--since"))
    return service.repeats(desk, service.Source(file, columns, by), wanted, Question(times(at), conf))
