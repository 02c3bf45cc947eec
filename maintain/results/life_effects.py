"""What each circumstance does to life, the others held equal."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from maintain.results.base import Result
from maintain.results.life import Parameter
from maintain.results.life_source import Source, resting_on_source


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
    step : float
        How many units more the sentence and the screen speak of, so that the ratio of a number that goes into hundreds
        can be read; `coef`, `ratio` and limits are those of one unit.
    interval : str
        How its limits were made: "Wald", "jackknife" (few clusters), "profile" where no finite plain ratio fits, or
        "likelihood ratio" (few failures under a law).
    """

    name: str
    coef: float
    ratio: float | None
    lower: float | None
    upper: float | None
    se: float
    p: float
    interval: str
    step: float


@dataclass(frozen=True)
class FactorTest:
    """
    Does a covariate matter at all? One test of all its columns.

    Attributes
    ----------
    name : str
    statistic : float
        Chi-square on `df`.
    p, p_holm : float, optional
        Plain, and corrected for the number of covariates asked about; None with too few clusters to judge.
    test : str
        "Wald"; "largest of its values" (Bonferroni, where clusters are few for so many values); or "likelihood ratio"
        of a penalised answer, or of a law where failures are few.
    """

    name: str
    statistic: float
    df: int
    p: float | None
    p_holm: float | None
    test: str


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
        "cox"; "grouped", where something changes during lives whose failures are known between two looks; or the law of
        an accelerated-life model.
    ratio_of : str
        "hazard" or "time".
    n, events, rows : int
        Lives, failures, and rows (more than lives where something changes during a life).
    intercept, sigma : Parameter, optional
        Of an accelerated-life model: log of the scale with all covariates 0, and spread of log life (Weibull shape is
        1 / sigma).
    clusters, clustered_by : int and str, optional
        How many clusters errors allow for, and what their lives share.
    penalised : bool
        True if no finite ratio fits some covariate, so that Firth's penalty was needed.
    left_out : tuple of str
        Covariates of which nothing can be said.
    no_cause : tuple of str
        Covariates reckoned over the very life whose end they are held against: no answer rests on them.
    """

    source: Source
    model: str
    ratio_of: str
    n: int
    events: int
    rows: int
    coefficients: tuple[Coefficient, ...]
    factors: tuple[FactorTest, ...]
    concordance: float | None
    proportional_hazards: tuple[ProportionalityTest, ...]
    references: tuple[Reference, ...]
    strata: tuple[str, ...]
    clusters: int | None
    clustered_by: str | None
    penalised: bool
    left_out: tuple[str, ...]
    no_cause: tuple[str, ...]
    intercept: Parameter | None
    sigma: Parameter | None
    log_likelihood: float
    null_log_likelihood: float
    cautions: tuple[str, ...]

    def document(self) -> dict[str, Any]:
        """Effects first, then what they rest on."""
        return resting_on_source(self)
