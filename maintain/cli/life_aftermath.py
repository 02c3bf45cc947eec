"""maintain life aftermath"""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from maintain import vocabulary
from maintain.cli._lives import At, Conf, times
from maintain.cli._options import ShipFilter, choice_option

if TYPE_CHECKING:
    from maintain.results.base import Result
    from maintain.services.unit import Desk


def aftermath(
    desk: Desk,
    family: Annotated[str | None, typer.Option("--family", help="Only this family.")] = None,
    category: Annotated[str | None, choice_option("Only this kind of part", vocabulary.CATEGORIES)] = None,
    zone: Annotated[str | None, choice_option("Only parts in this zone", vocabulary.ZONES)] = None,
    ship: ShipFilter = None,
    at: At = None,
    conf: Conf = 0.95,
) -> Result:
    """Show how long after a sinking parts die that were under: when to open the ship and look."""
    from maintain.services import life_aftermath
    from maintain.services.life import Question

    only = {"family": family, "category": category, "zone": zone, "ship": ship}
    return life_aftermath.aftermath(desk, only, Question(times(at), conf))
