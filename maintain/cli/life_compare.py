"""maintain life compare"""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from maintain.cli._lives import At, Conf, lives_with, names, times

if TYPE_CHECKING:
    from maintain.results.base import Result
    from maintain.services.lives.samples import Sample
    from maintain.services.unit import Desk

_Between = typer.Option("--between", metavar="A,B", help="Only these groups; by default all.")
_Worth = typer.Option("--worth", metavar="RATIO", help="How many times as often one must fail to be worth finding.")
_Power = typer.Option("--power", help="Chance of finding that which is thought enough.")


@lives_with("adjust", "strata")
def compare(
    desk: Desk,
    sample: Sample,
    adjust: tuple[str, ...],
    strata: tuple[str, ...],
    between: Annotated[str | None, _Between] = None,
    worth: Annotated[float, _Worth] = 2.0,
    power: Annotated[float, _Power] = 0.8,
    at: At = None,
    conf: Conf = 0.95,
) -> Result:
    """Tell whether groups last equally long, whether that is a fair comparison, and what would settle it."""
    from maintain.services import life_compare as service
    from maintain.services.life import Question

    how = service.Fairly(names(between), adjust, strata, worth, power)
    return service.compare(sample, Question(times(at), conf), how)
