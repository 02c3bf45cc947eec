"""maintain life effects"""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

from maintain.cli._lives import Conf, lives_with
from maintain.cli._options import choice_option

if TYPE_CHECKING:
    from maintain.results.base import Result
    from maintain.services.lives.samples import Sample
    from maintain.services.unit import Desk

MODELS = ("cox", "weibull", "lognormal", "loglogistic", "exponential")


@lives_with("covariates", "strata")
def effects(
    desk: Desk,
    sample: Sample,
    covariates: tuple[str, ...],
    strata: tuple[str, ...],
    model: Annotated[str, choice_option("Hazard ratios by Cox, or time ratios by a law", MODELS)] = "cox",
    conf: Conf = 0.95,
) -> Result:
    """Tell what zone, waterproofing, sinkings ... do to life, the others held equal."""
    from maintain.services import life_effects as service

    return service.effects(sample, covariates, strata, model, conf)
