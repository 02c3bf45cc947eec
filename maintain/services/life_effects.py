"""What each circumstance does to life, the others held equal: Cox's model, or accelerated life."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from maintain.core.effects import Effect, Effects, accelerated_effects, cox_effects
from maintain.core.estimate import Estimate
from maintain.core.log_rank import FEW_CLUSTERS
from maintain.errors import InvalidRecord, NotEnoughData
from maintain.results.life import Parameter
from maintain.results.life_effects import Coefficient, LifeEffects, ProportionalityTest, Reference
from maintain.services.lives.columns import Words
from maintain.services.lives.samples import Sample

COX = "cox"
MOST_STRATA_VALUES = 10

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
    return _told(sample, found, strata)


def cox(sample: Sample, columns: Columns, *, strata: tuple[str, ...] = (), conf: float) -> Effects:
    """Estimate hazard ratios, in strata by columns of the sample, its clusters allowed for."""
    layers = strata_of(sample, strata) if strata else None
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
    """
    Fit with the errors that allow most for lives sharing their luck.

    Every way of clustering is tried, and where one has few clusters, whose errors come out too small, also lives on
    their own; of each effect the widest interval stays.
    """
    ways = [each for each in sample.clusters.values() if np.unique(each.astype(str)).size > 1]
    if not ways:
        return fit(None)
    found = [fit(each) for each in ways]
    if any((each.clusters or 0) < FEW_CLUSTERS for each in found):
        found.append(fit(None))
    first = found[0]
    if first.penalised:
        return first
    widest = tuple(
        max(same, key=lambda effect: effect.se) for same in zip(*(each.effects for each in found), strict=True)
    )
    narrow = sum(effect is not own for effect, own in zip(widest, first.effects, strict=True))
    names = " or ".join((*sample.clusters, "lives on their own"))
    said = (f"errors allow for clusters by {names}, whichever are widest: few clusters make them too small",)
    return replace(first, effects=widest, cautions=(*first.cautions, *(said if narrow else ())))


def _too_narrow(found: Effects, sample: Sample) -> bool:
    """Whether errors are known to be too small: few clusters, or a penalised answer, which allows for none."""
    sizes = [np.unique(each.astype(str)).size for each in sample.clusters.values()]
    return any(size > 1 and (found.penalised or size < FEW_CLUSTERS) for size in sizes)


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


def _told(sample: Sample, found: Effects, strata: tuple[str, ...]) -> LifeEffects:
    law = found.model != COX
    notes = (
        [] if sample.clusters else ["lives are taken on their own; if they share their luck, name how with --cluster"]
    )
    return LifeEffects(
        source=sample.source(found.conf, notes),
        model=found.model,
        ratio_of=found.ratio_of,
        n=sample.n,
        events=found.failures,
        rows=found.rows,
        coefficients=tuple(_coefficient(each) for each in found.effects),
        concordance=found.concordance,
        proportional_hazards=tuple(
            ProportionalityTest(each.name, each.statistic, each.df, each.p, None if each.name == "all" else each.grows)
            for each in found.proportional
        ),
        references=tuple(Reference(name, value) for name, value in found.references),
        strata=strata,
        clusters=found.clusters,
        penalised=found.penalised,
        too_narrow=_too_narrow(found, sample),
        left_out=found.left_out,
        intercept=_logged(found.scale) if law else None,
        sigma=_parameter(found.sigma) if law else None,
        log_likelihood=found.log_likelihood,
        null_log_likelihood=found.null_log_likelihood,
        cautions=found.cautions,
    )


def _coefficient(each: Effect) -> Coefficient:
    return Coefficient(each.name, each.coef, each.ratio, each.lower, each.upper, each.se, each.p, each.interval)


def _parameter(found: Estimate | None) -> Parameter | None:
    return None if found is None else Parameter(found.value, found.lower, found.upper, found.se)


def _logged(scale: Estimate | None) -> Parameter | None:
    """The scale on the log scale, where its limits were made."""
    if scale is None or not scale.value or scale.se is None:
        return None
    lower, upper = (None if not limit else math.log(limit) for limit in (scale.lower, scale.upper))
    return Parameter(math.log(scale.value), lower, upper, scale.se / scale.value)
