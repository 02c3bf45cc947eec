"""Hazard ratios of what changes during a life, where failures are known only between two looks."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

import numpy as np
from numpy.typing import ArrayLike

from maintain.core.at_risk import Codes
from maintain.core.concordance import concordance
from maintain.core.effect import effects_of
from maintain.core.effect_inputs import hazard_inputs
from maintain.core.effect_words import cluster_words, size_words
from maintain.core.effects import Effects, cox_effects
from maintain.core.factors import wald_tests
from maintain.core.grouped import ALIVE, Looks, fit_grouped
from maintain.core.lives import Bools, Lives
from maintain.core.log_rank import FEW_CLUSTERS

FOUND_LATE = (
    "each failure counts when it was found: between looks the ratios have no best value. What is done to parts that "
    "work then looks better than it is"
)


def grouped_effects(
    lives: Lives,
    interval: Codes,
    covariates: Mapping[str, ArrayLike],
    *,
    strata: ArrayLike | None = None,
    cluster: ArrayLike | None = None,
    conf: float = 0.95,
) -> Effects:
    """
    Estimate hazard ratios with the likelihood of failing somewhere between two looks.

    Parameters
    ----------
    lives : Lives
        Rows as `cox_effects` takes them, cut also where a part that failed was last known to work.
    interval : array of int, shape = (n,)
        `grouped.ALIVE`, or the number of the failure that came somewhere in this row or in others of that number.
    covariates, strata, cluster, conf
        As in `cox_effects`.

    Returns
    -------
    Effects
        Groups of which nothing has failed are left out, in words: no finite ratio fits them, and they say nothing of
        the others. Where still none fits the answer is that of Cox's model, with a caution.

    Notes
    -----
    In simulated clubs that look every 20 days but not in winter, and renew then what works, the 95 % interval of the
    effect of a renewal held the truth 92 to 96 times in 100 with 200 parts and 91 to 96 with 60; Cox's model 38 to 95.

    References
    ----------
    See `maintain.core.grouped`.
    """
    told, spared = _told(covariates, interval, lives.n)
    if spared:
        some = [None if each is None else np.asarray(each)[told] for each in (strata, cluster)]
        rest = {name: np.asarray(each)[told] for name, each in covariates.items()}
        found = grouped_effects(lives.take(told), interval[told], rest, strata=some[0], cluster=some[1], conf=conf)
        return replace(found, left_out=(*found.left_out, *spared), cautions=(*_spared_words(spared), *found.cautions))
    given = hazard_inputs(lives, covariates, strata, cluster)
    seen, kept, clusters = given.seen, given.kept, given.clusters
    fitted = fit_grouped(Looks(seen.entry, seen.exit, interval, kept.table, given.layers, given.groups))
    if fitted is None:
        found = cox_effects(lives, covariates, strata=strata, cluster=cluster, conf=conf)
        return replace(found, cautions=(FOUND_LATE, *found.cautions))
    judging = None if given.groups is None else clusters
    few = judging if judging is not None and judging < FEW_CLUSTERS else None
    return Effects(
        model="grouped",
        ratio_of="hazard",
        rows=lives.n,
        failures=lives.failures,
        effects=effects_of(kept.names, fitted.coefficients, fitted.covariance, conf, few),
        factors=wald_tests(kept, fitted.coefficients, fitted.covariance, judging),
        references=kept.references,
        scale=None,
        sigma=None,
        log_likelihood=fitted.log_likelihood,
        null_log_likelihood=fitted.null_log_likelihood,
        concordance=concordance(seen, kept.table @ fitted.coefficients, given.layers),
        proportional=(),
        clusters=clusters,
        penalised=False,
        left_out=given.left_out,
        conf=conf,
        cautions=tuple(given.cautions + cluster_words(clusters) + size_words(lives, kept)),
    )


def _told(covariates: Mapping[str, ArrayLike], interval: Codes, n: int) -> tuple[Bools, tuple[str, ...]]:
    """Return the rows outside groups of which nothing has failed, and the names of those groups."""
    told, spared = np.ones(n, dtype=bool), []
    for name, values in covariates.items():
        column = np.asarray(values)
        number = column.dtype.kind in "fiub"
        column = column if number else column.astype(str)
        groups = np.unique(column).tolist()
        if len(groups) < 2 or (number and len(groups) > 2):
            continue
        failing = set(column[interval != ALIVE].tolist())
        for group in groups:
            if group not in failing:
                told &= column != group
                spared.append(f"{name}: {group:g}" if number else f"{name}: {group}")
    return told, tuple(spared)


def _spared_words(spared: tuple[str, ...]) -> list[str]:
    return [
        f"{each} left out: nothing in it has failed; ask of it without what changes during a life" for each in spared
    ]
