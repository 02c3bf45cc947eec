"""What each circumstance does to life, the others held equal."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from maintain.results.base import Result, plain
from maintain.results.life import Parameter, Source


@dataclass(frozen=True)
class Coefficient:
    """
    One effect.

    Attributes
    ----------
    name : str
        "zone: bilge" for a label, held against its reference; a number's own name for one unit of it.
    coef, se : float
        Log of the ratio and its standard error.
    ratio, lower, upper : float, optional
        Hazard ratio (Cox: above 1 fails sooner) or time ratio (accelerated life: above 1 lasts longer); None where
        the data set no bound.
    interval : str
        "Wald", or "profile" for a penalised answer.
    """

    name: str
    coef: float
    ratio: float | None
    lower: float | None
    upper: float | None
    se: float
    p: float
    interval: str


@dataclass(frozen=True)
class ProportionalityTest:
    """Does an effect stay the same as parts age? `grows`: its hazard ratio rises with age (None for "all")."""

    name: str
    statistic: float
    df: int
    p: float
    grows: bool | None


@dataclass(frozen=True)
class Reference:
    """The value of a label that its other values are held against."""

    covariate: str
    value: str


@dataclass(frozen=True)
class LifeEffects(Result):
    """
    All effects of one model.

    Attributes
    ----------
    model : str
        "cox", or the law of an accelerated-life model.
    ratio_of : str
        "hazard" or "time".
    n, events, rows : int
        Lives, failures, and rows (more than lives where something changes during a life).
    intercept, sigma : Parameter, optional
        Of an accelerated-life model: log of the scale with all covariates 0, and spread of log life (Weibull shape is
        1 / sigma).
    penalised : bool
        True if on one side of a covariate nothing has failed, so that Firth's penalty was needed.
    too_narrow : bool
        True if the limits are narrower than they should be: few clusters, or penalised, which allows for none.
    left_out : tuple of str
        Covariates of which nothing can be said.
    """

    source: Source
    model: str
    ratio_of: str
    n: int
    events: int
    rows: int
    coefficients: tuple[Coefficient, ...]
    concordance: float | None
    proportional_hazards: tuple[ProportionalityTest, ...]
    references: tuple[Reference, ...]
    strata: tuple[str, ...]
    clusters: int | None
    penalised: bool
    too_narrow: bool
    left_out: tuple[str, ...]
    intercept: Parameter | None
    sigma: Parameter | None
    log_likelihood: float
    null_log_likelihood: float
    cautions: tuple[str, ...]

    def document(self) -> dict[str, Any]:
        """Effects first, then what they rest on."""
        found = plain({name: value for name, value in vars(self).items() if name != "source"})
        assert isinstance(found, dict)
        return {**found, **plain(self.source)}
