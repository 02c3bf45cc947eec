"""maintain life ..."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from maintain.cli._command import reads
from maintain.cli._lives import At, Conf, of_lives, times
from maintain.cli._options import choice_option
from maintain.cli._pictures import pictured
from maintain.cli.life_aftermath import aftermath
from maintain.cli.life_backtest import backtest
from maintain.cli.life_causes import causes
from maintain.cli.life_clock import clock
from maintain.cli.life_compare import compare
from maintain.cli.life_effects import effects
from maintain.cli.life_renew import renew
from maintain.cli.life_repeats import repeats
from maintain.cli.life_trial import trial

if TYPE_CHECKING:
    from maintain.core.posterior import Prior
    from maintain.results.base import Pictured
    from maintain.services.lives.samples import Sample
    from maintain.services.unit import Desk

app = typer.Typer(no_args_is_help=True, help="How long parts last: life curves and fitted laws.")
reads(app)(clock)
reads(app)(backtest)
reads(app)(renew)

MODELS = ("weibull", "lognormal", "loglogistic", "exponential", "best")

Given = Annotated[float | None, typer.Option("--given", metavar="AGE", help="For parts that worked at this age.")]
Tau = Annotated[
    float | None,
    typer.Option(
        "--tau",
        metavar="TIME",
        help="Mean life within this time; by default the longest at which somebody of every group was watched.",
        show_default=False,
    ),
]
Few = Annotated[
    bool | None,
    typer.Option(
        "--posterior/--no-posterior",
        help="Say what the lives say beside a prior, or don't; by default where fewer than 10 failed.",
        show_default=False,
    ),
]
Believed = Annotated[
    str | None,
    typer.Option(
        "--prior",
        metavar="SHAPE,SD",
        help="What you believe of a Weibull shape beforehand: its middle, and the standard deviation of its log.",
        show_default="1.3,0.5",
    ),
]
Draws = Annotated[
    int, typer.Option("--bootstrap", metavar="N", help="Draw the lives again so often for limits, ships whole.")
]
SecondOpinion = Annotated[
    bool,
    typer.Option("--second-opinion", help="Put the same lives to the library lifelines, and say whether it agrees."),
]


@reads(app, table=False)
@of_lives
@pictured("maintain.render.life_figures:curves")
def curve(
    desk: Desk,
    sample: Sample,
    at: At = None,
    conf: Conf = 0.95,
    given: Given = None,
    tau: Tau = None,
    hazard: Annotated[bool, typer.Option("--hazard", help="Show the cumulative hazard too (Nelson-Aalen).")] = False,
    second_opinion: SecondOpinion = False,
) -> Pictured:
    """Show the share still working against use, without a law: Kaplan-Meier, or Turnbull from intervals."""
    from maintain.services import life

    question = life.Question(times(at), conf, given, tau)
    return life.curve(sample, question, show_hazard=hazard, second_opinion=second_opinion)


@reads(app, table=False)
@of_lives
@pictured("maintain.render.life_figures:fits")
def fit(
    desk: Desk,
    sample: Sample,
    model: Annotated[str, choice_option("The law, or the best of them by AICc", MODELS)] = "weibull",
    at: At = None,
    conf: Conf = 0.95,
    given: Given = None,
    posterior: Few = None,
    prior: Believed = None,
    bootstrap: Draws = 0,
    second_opinion: SecondOpinion = False,
) -> Pictured:
    """Fit a law of life: mean, median, age by which a tenth have failed, and whether they wear out."""
    from maintain.services import life_fit
    from maintain.services.life import Question

    wish = life_fit.Wish(model, posterior, _belief(prior), bootstrap, second_opinion)
    return life_fit.fit(sample, wish, Question(times(at), conf, given))


reads(app, table=False)(compare)
reads(app, table=False)(causes)
reads(app, table=False)(effects)
reads(app, table=False)(repeats)
reads(app)(trial)
reads(app, table=False)(aftermath)


def _belief(text: str | None) -> Prior | None:
    """Read SHAPE,SD."""
    if text is None:
        return None
    from maintain.core.posterior import SHAPE_RANGE, Prior

    low, high = SHAPE_RANGE
    try:
        shape, spread = (float(each) for each in text.split(","))
    except ValueError:
        shape, spread = 0.0, -1.0
    if not (low <= shape <= high and 0 <= spread <= 5):
        hint = f"write a shape from {low:g} to {high:g} and a standard deviation from 0 to 5: --prior 1.3,0.5"
        raise typer.BadParameter(hint, param_hint="--prior")
    return Prior(shape=shape, log_shape_sd=spread)
