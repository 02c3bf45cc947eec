"""maintain life clock."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from maintain import vocabulary
from maintain.cli._options import choice_option
from maintain.cli._pictures import pictured

if TYPE_CHECKING:
    from maintain.results.base import Pictured
    from maintain.services.unit import Desk


@pictured("maintain.render.life_clock:drawn")
def clock(
    desk: Desk,
    category: Annotated[str | None, choice_option("Only this kind of part", vocabulary.CATEGORIES)] = None,
    family: Annotated[str | None, typer.Option("--family", help="Only this family.")] = None,
    zone: Annotated[str | None, choice_option("Only parts in this zone", vocabulary.ZONES)] = None,
    conf: Annotated[float, typer.Option("--conf", help="Confidence of all intervals.")] = 0.8,
) -> Pictured:
    """Tell whether age or water wears parts: what a sinking costs in days of life, and which clock explains best."""
    from maintain.services import life_clock

    return life_clock.clock(desk, life_clock.Question(category, family, zone, conf))
