"""What each circumstance does to life, the others held equal: Cox's model, or accelerated life."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from maintain.core.compare import holm
from maintain.core.effect import Effect
from maintain.core.effects import Effects, accelerated_effects, cox_effects
from maintain.core.estimate import Estimate
from maintain.core.factors import Factor
from maintain.core.grouped_effects import grouped_effects
from maintain.errors import InvalidRecord, NotEnoughData
from maintain.results.life import Parameter
from maintain.results.life_effects import Coefficient, FactorTest, LifeEffects, ProportionalityTest, Reference
from maintain.services.lives.circumstances import RATES
from maintain.services.lives.columns import Words
from maintain.services.lives.samples import Sample

COX = "cox"
MOST_STRATA_VALUES = 10
WIDE = 10.0  # spread of a number from which one unit more is too little to speak of

Columns = Mapping[str, NDArray[Any]]


def effects(
    sample: Sample, covariates: tuple[str, ...], strata: tuple[str, ...], model: str, conf: float
) -> LifeEffects:
    """
    Estimate the effects of covariates.

    Parameters
    ----------
    sample : Sample
        If it is in groups, what they differ in is one more covariate.
    covariates, strata : tuple of str
        Names of its columns.
    model : str
        "cox", or a law for an accelerated-life model.
    conf : float

    Raises
    ------
    InvalidRecord
        If no covariate is named, or the model has no place for strata or for what changes during a life.
    NotEnoughData
        If nothing failed, or nothing that is asked varies.
    """
    names = tuple(dict.fromkeys((*((sample.by,) if sample.by else ()), *map(sample.heading, covariates))))
    if not names:
        raise InvalidRecord("it is not said whose effect is asked", hint="name it: --covariates zone,waterproofing")
    strata = tuple(map(sample.heading, strata))
    sample = sample.known_by((*names, *strata)).clustered_beside((*names, *strata))
    columns = {name: sample.group if name == sample.by else sample.columns[name] for name in names}
    if model == COX:
        found = cox(sample, columns, strata=strata, conf=conf)
    else:
        _refuse_with_law(sample, strata, model)
        found = careful(
            lambda cluster: accelerated_effects(sample.lives, columns, model=model, cluster=cluster, conf=conf), sample
        )
    return _told(sample, found, strata, _rated(sample, names))


def cox(sample: Sample, columns: Columns, *, strata: tuple[str, ...] = (), conf: float) -> Effects:
    """
    Estimate hazard ratios, in strata by columns of the sample, its clusters allowed for.

    Where something changes during the lives of the records, failures count as what they are: known between two looks.
    """
    layers = strata_of(sample, strata) if strata else None
    looks = sample.interval
    if looks is not None:
        return careful(
            lambda cluster: grouped_effects(sample.lives, looks, columns, strata=layers, cluster=cluster, conf=conf),
            sample,
        )
    return careful(
        lambda cluster: cox_effects(sample.lives, columns, strata=layers, cluster=cluster, conf=conf), sample
    )


def weibull(sample: Sample, columns: Columns, *, conf: float) -> Effects | None:
    """Estimate time ratios under a Weibull law, the clusters of the sample allowed for; None if they settle nothing."""
    try:
        return careful(lambda cluster: accelerated_effects(sample.lives, columns, cluster=cluster, conf=conf), sample)
    except NotEnoughData:
        return None


def careful(fit: Callable[[Words | None], Effects], sample: Sample) -> Effects:
    """Fit with every way in which lives may share their luck; of each effect and each test the most careful stays."""
    ways = {name: each for name, each in sample.clusters.items() if np.unique(each.astype(str)).size > 1}
    if not ways:
        return fit(None)
    found = [fit(each) for each in ways.values()]
    first = found[0]
    widest = tuple(
        max(same, key=lambda effect: (effect.p, effect.se))
        for same in zip(*(each.effects for each in found), strict=True)
    )
    tests = tuple(max(same, key=_doubt) for same in zip(*(each.factors for each in found), strict=True))
    changed = widest != first.effects or tests != first.factors
    said = (f"limits and p allow for clusters by {' or '.join(ways)}, whichever leave more open",)
    return replace(first, effects=widest, factors=tests, cautions=(*first.cautions, *(said if changed else ())))


def _doubt(test: Factor) -> float:
    return np.inf if test.p is None else test.p


def strata_of(sample: Sample, names: tuple[str, ...]) -> Words:
    """Return a word for each life that only those alike in all of these columns share."""
    chosen = [sample.heading(name) for name in names]
    for name in chosen:
        column = sample.columns[name]
        if column.dtype.kind == "f" and np.unique(column).size > MOST_STRATA_VALUES:
            raise InvalidRecord(
                f"{name} has {np.unique(column).size} values: hardly two lives are alike in it",
                hint="strata are for labels; hold measurements equal as covariates",
            )
    joined = [" / ".join(map(str, row)) for row in zip(*(sample.columns[name] for name in chosen), strict=True)]
    found = np.empty(len(joined), dtype=object)
    found[:] = joined
    return found


def _refuse_with_law(sample: Sample, strata: tuple[str, ...], model: str) -> None:
    if strata:
        raise InvalidRecord(
            f"strata have no place in a {model} law", hint="take --model cox, or name them as covariates"
        )
    if sample.several_rows:
        raise InvalidRecord(
            f"what changes during a life has no place in a {model} law: it would count for the whole life",
            hint="take --model cox",
        )


def _told(sample: Sample, found: Effects, strata: tuple[str, ...], rated: Mapping[str, str]) -> LifeEffects:
    law = found.ratio_of == "time"
    notes = (
        [] if sample.clusters else ["lives are taken on their own; if they share their luck, name how with --cluster"]
    )
    notes += [
        f"{name}: reckoned over the life itself, so what ended it early also made this high; ask of {clock}, counted "
        "up to each day"
        for name, clock in rated.items()
    ]
    return LifeEffects(
        source=sample.source(found.conf, notes),
        model=found.model,
        ratio_of=found.ratio_of,
        n=sample.n,
        events=found.failures,
        rows=found.rows,
        coefficients=tuple(_coefficient(each, _step(sample, each.name)) for each in found.effects),
        factors=_corrected(found.factors),
        concordance=found.concordance,
        proportional_hazards=tuple(
            ProportionalityTest(each.name, each.statistic, each.df, each.p, None if each.name == "all" else each.grows)
            for each in found.proportional
        ),
        references=tuple(Reference(name, value) for name, value in found.references),
        strata=strata,
        clusters=found.clusters,
        clustered_by=next(iter(sample.clusters), None) if found.clusters else None,
        penalised=found.penalised,
        left_out=found.left_out,
        no_cause=tuple(rated),
        intercept=_logged(found.scale) if law else None,
        sigma=_parameter(found.sigma) if law else None,
        log_likelihood=found.log_likelihood,
        null_log_likelihood=found.null_log_likelihood,
        cautions=found.cautions,
    )


def _coefficient(each: Effect, step: float) -> Coefficient:
    return Coefficient(each.name, each.coef, each.ratio, each.lower, each.upper, each.se, each.p, each.interval, step)


def _step(sample: Sample, name: str) -> float:
    """A power of ten of about the size by which lives differ in a number; 1 for labels and small counts."""
    column = sample.columns.get(name)
    if column is None or column.dtype.kind not in "fiu":
        return 1.0
    column = column.astype(np.float64)
    spread, span = float(column.std()), float(np.ptp(column))
    if span >= 1 and spread < WIDE:
        return 1.0
    return float(10.0 ** math.floor(math.log10(spread if spread >= WIDE else span))) if span > 0 else 1.0


def _rated(sample: Sample, names: tuple[str, ...]) -> dict[str, str]:
    """Return what was reckoned over a life that its failure may have ended, and what to ask of instead."""
    return {} if sample.tag is None else {name: clock for clock, name in RATES.items() if name in names}


def _corrected(tests: tuple[Factor, ...]) -> tuple[FactorTest, ...]:
    """The tests with p corrected for their number; what can't be judged counts for nothing."""
    judged = [test.p for test in tests if test.p is not None]
    corrected = iter(holm(judged))
    return tuple(
        FactorTest(each.name, each.statistic, each.df, each.p, None if each.p is None else next(corrected), each.test)
        for each in tests
    )


def _parameter(found: Estimate | None) -> Parameter | None:
    return None if found is None else Parameter(found.value, found.lower, found.upper, found.se)


def _logged(scale: Estimate | None) -> Parameter | None:
    """The scale on the log scale, where its limits were made."""
    if scale is None or not scale.value or scale.se is None:
        return None
    lower, upper = (None if not limit else math.log(limit) for limit in (scale.lower, scale.upper))
    return Parameter(math.log(scale.value), lower, upper, scale.se / scale.value)
