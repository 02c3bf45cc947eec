"""maintain life ..."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from maintain.cli._command import reads
from maintain.cli._lives import of_lives
from maintain.cli._options import choice_option
from maintain.cli.life_backtest import backtest
from maintain.cli.life_clock import clock
from maintain.cli.life_renew import renew

if TYPE_CHECKING:
    from maintain.results.base import Result
    from maintain.services.lives.samples import Sample
    from maintain.services.unit import Desk

app = typer.Typer(no_args_is_help=True, help="How long parts last: life curves and fitted laws.")
reads(app)(clock)
reads(app)(backtest)
reads(app)(renew)

MODELS = ("weibull", "lognormal", "loglogistic", "exponential", "best")

At = Annotated[str | None, typer.Option("--at", metavar="T1,T2", help="Read the answer at these times.")]
Conf = Annotated[float, typer.Option("--conf", help="Confidence of all intervals.")]
Given = Annotated[float | None, typer.Option("--given", metavar="AGE", help="For parts that worked at this age.")]


@reads(app, table=False)
@of_lives
def curve(desk: Desk, sample: Sample, at: At = None, conf: Conf = 0.95, given: Given = None) -> Result:
    """Show the share still working against use, without a law: Kaplan-Meier, or Turnbull from intervals."""
    from maintain.services import life

    return life.curve(sample, life.Question(_times(at), conf, given))


@reads(app, table=False)
@of_lives
def fit(
    desk: Desk,
    sample: Sample,
    model: Annotated[str, choice_option("The law, or the best of them by AICc", MODELS)] = "weibull",
    at: At = None,
    conf: Conf = 0.95,
    given: Given = None,
) -> Result:
    """Fit a law of life: mean, median, age by which a tenth have failed, and whether they wear out."""
    from maintain.services import life

    return life.fit(sample, model, life.Question(_times(at), conf, given))


def _times(text: str | None) -> tuple[float, ...]:
    """Read T1,T2."""
    try:
        return tuple(float(each) for each in text.split(",")) if text else ()
    except ValueError:
        raise typer.BadParameter("write times as numbers with commas: --at 100,200", param_hint="--at") from None
