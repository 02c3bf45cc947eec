"""What each circumstance does to life, the others held equal: hazard ratios (Cox) or time ratios (accelerated life)."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike

from maintain.core.aft import Accelerated, fit_accelerated
from maintain.core.at_risk import Codes, found_late_caution, observed
from maintain.core.concordance import concordance
from maintain.core.covariates import Covariates, gram_of
from maintain.core.cox import Maximum, RiskSets, maximise, risk_sets, separated
from maintain.core.cox_residuals import Proportionality, proportionality, sandwich
from maintain.core.effect import Effect, effects_of
from maintain.core.effect_inputs import checked, clusters_of, hazard_inputs, without_redundant
from maintain.core.effect_words import advice, cluster_words, separation_words, size_words
from maintain.core.endless_effects import endless_effects
from maintain.core.estimate import Estimate, estimate_from_log, two_sided_z
from maintain.core.factors import Factor, wald_tests
from maintain.core.few_failures import Fitted, likelihood_limits, ratio_tests, refuse_fewer_than_numbers
from maintain.core.identifiable import check_identifiable, no_maximum
from maintain.core.left_out import MOST_LEFT_OUT, Watched, left_out_covariance
from maintain.core.lives import Floats, Lives
from maintain.core.log_rank import FEW_CLUSTERS
from maintain.core.models import model_named
from maintain.errors import NotEnoughData


@dataclass(frozen=True)
class Effects:
    """
    All effects of one model.

    Attributes
    ----------
    model : str
        "cox", "grouped" (failures known between looks), or the law of an accelerated-life model.
    ratio_of : str
        "hazard" (above 1: fails sooner) or "time" (above 1: lasts longer).
    rows, failures : int
    effects : tuple of Effect
    factors : tuple of Factor
        The test of each covariate with all its columns.
    references : tuple of (str, str)
        Labelled covariates and the label against which the others are held.
    scale, sigma : Estimate or None
        Of an accelerated-life model with all covariates 0; Weibull shape is 1 / sigma. None for Cox.
    log_likelihood, null_log_likelihood : float
        With and without covariates (partial for Cox).
    concordance : float or None
    proportional : tuple of Proportionality
        Cox only; empty if penalised.
    clusters : int or None
    penalised : bool
        True if Firth's penalty was needed.
    left_out : tuple of str
        Covariates of which nothing can be said.
    conf : float
    cautions : tuple of str
    """

    model: str
    ratio_of: str
    rows: int
    failures: int
    effects: tuple[Effect, ...]
    factors: tuple[Factor, ...]
    references: tuple[tuple[str, str], ...]
    scale: Estimate | None
    sigma: Estimate | None
    log_likelihood: float
    null_log_likelihood: float
    concordance: float | None
    proportional: tuple[Proportionality, ...]
    clusters: int | None
    penalised: bool
    left_out: tuple[str, ...]
    conf: float
    cautions: tuple[str, ...]


def cox_effects(
    lives: Lives,
    covariates: Mapping[str, ArrayLike],
    *,
    strata: ArrayLike | None = None,
    cluster: ArrayLike | None = None,
    conf: float = 0.95,
) -> Effects:
    """
    Estimate hazard ratios by Cox's model (Efron's ties).

    Parameters
    ----------
    lives : Lives
        One row a life; or, where covariates change, several: entry the start, lower the stop of each, upper inf
        unless it failed at that stop. A failure known only to an interval counts when it was found.
    covariates : mapping of name to array-like, shape = (n,)
        Numbers, or labels (the most frequent is the reference).
    strata : array-like, shape = (n,), optional
        Label whose groups may have hazards of any shape; its own effect is not estimated.
    cluster : array-like, shape = (n,), optional
        Ship or sinking that rows share.
    conf : float

    Returns
    -------
    Effects
        Where one value of a covariate never fails, no finite ratio fits: Firth's penalised likelihood then answers,
        with limits from its profile for that covariate.

    Raises
    ------
    NotEnoughData
        If there is no failure, or no covariate that varies among those at risk.
    InvalidRecord
        If a value is missing or lengths differ.

    Notes
    -----
    In simulated clubs with clustered errors the 95 % interval held the truth 94 times in 100 with 100 ships of five
    lives, 94 to 98 with 8 to 16, whose errors come from leaving out each in turn.

    References
    ----------
    Cox (1972), J. R. Stat. Soc. B 34, 187-220; see `maintain.core.cox`, `cox_residuals` and `firth`.
    """
    two_sided_z(conf)
    given = hazard_inputs(lives, covariates, strata, cluster)
    seen, kept, groups, cautions = given.seen, given.kept, given.groups, given.cautions
    sets = risk_sets(seen, kept.table, given.layers)
    fitted = maximise(sets)
    endless = separated(sets) | fitted.runaway
    rows = None if groups is None else Watched(seen, kept.table, given.layers, groups)
    if endless.any():
        answer, tests = endless_effects(sets, kept, endless, rows, conf)
        cautions += separation_words(kept, endless, lives.failed, answer, clustered=rows is not None)
        lonely: tuple[str, ...] = ()
    else:
        answer, tests, lonely = _plain(sets, fitted, kept, rows, conf)
    cautions += cluster_words(given.clusters, lonely)
    proportional = () if endless.any() else proportionality(sets, fitted.partial, seen, kept.names)
    return Effects(
        model="cox",
        ratio_of="hazard",
        rows=lives.n,
        failures=lives.failures,
        effects=answer,
        factors=tests,
        references=kept.references,
        scale=None,
        sigma=None,
        log_likelihood=fitted.partial.log_likelihood,
        null_log_likelihood=fitted.null_log_likelihood,
        concordance=concordance(seen, kept.table @ np.array([effect.coef for effect in answer]), given.layers),
        proportional=proportional,
        clusters=given.clusters,
        penalised=bool(endless.any()),
        left_out=given.left_out,
        conf=conf,
        cautions=tuple(found_late_caution(lives) + cautions + size_words(lives, kept) + advice(proportional, 1 - conf)),
    )


def accelerated_effects(
    lives: Lives,
    covariates: Mapping[str, ArrayLike],
    *,
    model: str = "weibull",
    cluster: ArrayLike | None = None,
    conf: float = 0.95,
) -> Effects:
    """
    Estimate time ratios by an accelerated-life model; failures known to an interval are used as such.

    Parameters
    ----------
    lives : Lives
    covariates : mapping of name to array-like, shape = (n,)
    model : str
        weibull, lognormal, loglogistic or exponential.
    cluster : array-like, shape = (n,), optional
    conf : float

    Raises
    ------
    NotFound
        If there is no such model.
    NotEnoughData
        If there are fewer failures than numbers to estimate, or one value of a covariate never fails.
    InvalidRecord
        If a value is missing or lengths differ.

    Notes
    -----
    In simulated clubs the 95 % interval held the truth 94 times in 100 with 100 lives, 92 with 15. With fewer than
    three failures a number estimated, limits and tests come from likelihood ratios (see `maintain.core.few_failures`).
    """
    law, z = model_named(model), two_sided_z(conf)
    check_identifiable(lives, law)
    groups, count = clusters_of(cluster, lives.n)
    given = checked(covariates, lives.n)
    kept, cautions = without_redundant(given, *gram_of(given.table))
    _refuse_endless(lives, kept)
    refuse_fewer_than_numbers(law, lives, kept)
    fitted = fit_accelerated(law, lives, kept.table, groups)
    null = fit_accelerated(law, lives, kept.table[:, :0])
    if fitted is None or null is None:
        raise no_maximum(lives, law)
    se = np.sqrt(np.diag(fitted.covariance))
    effects, factors = _under_law(Fitted(law, lives, kept, fitted), groups, count, conf)
    return Effects(
        model=law.name,
        ratio_of="time",
        rows=lives.n,
        failures=lives.failures,
        effects=effects,
        factors=factors,
        references=kept.references,
        scale=estimate_from_log(float(fitted.coefficients[0]), float(se[0]), z),
        sigma=_sigma(fitted, se, z),
        log_likelihood=fitted.log_likelihood,
        null_log_likelihood=null.log_likelihood,
        concordance=concordance(observed(lives), -kept.table @ fitted.coefficients[1:]),
        proportional=(),
        clusters=count,
        penalised=False,
        left_out=tuple(name for name in given.names if name not in kept.names),
        conf=conf,
        cautions=tuple(cautions + cluster_words(count) + size_words(lives, kept)),
    )


def _plain(
    sets: RiskSets, fitted: Maximum, kept: Covariates, rows: Watched | None, conf: float
) -> tuple[tuple[Effect, ...], tuple[Factor, ...], tuple[str, ...]]:
    """Return effects, tests, and the covariates of which only one cluster tells."""
    coefficients, unit = fitted.coefficients / sets.scale, np.outer(sets.scale, sets.scale)
    plain = np.linalg.inv(fitted.partial.information) / unit
    if rows is None:
        return effects_of(kept.names, coefficients, plain, conf), wald_tests(kept, coefficients, plain, None), ()
    robust, count = sandwich(sets, fitted.partial, rows.cluster) / unit, rows.clusters
    if count > MOST_LEFT_OUT:
        return effects_of(kept.names, coefficients, robust, conf), wald_tests(kept, coefficients, robust, count), ()
    left, lonely = left_out_covariance(rows, coefficients)
    left += np.diag(np.where(lonely, np.maximum(np.diag(plain) - np.diag(left), 0.0), 0.0))
    few = count < FEW_CLUSTERS
    answer = effects_of(kept.names, coefficients, left if few else robust, conf, count if few else None)
    alone = tuple(name for name, only in zip(kept.names, lonely.tolist(), strict=True) if only)
    return answer, wald_tests(kept, coefficients, left, count), alone


def _under_law(
    found: Fitted, groups: Codes | None, count: int | None, conf: float
) -> tuple[tuple[Effect, ...], tuple[Factor, ...]]:
    """Return effects and tests: from standard errors, or from the likelihood itself where failures are few."""
    kept, slopes, wide = found.given, found.best.coefficients[1:], len(found.given.names) + 1
    spread, few = found.best.covariance[1:wide, 1:wide], groups is not None and (count or 0) < FEW_CLUSTERS
    effects = effects_of(kept.names, slopes, spread, conf, count if few else None)
    if not found.few:
        return effects, wald_tests(kept, slopes, spread, None if groups is None else count)
    plain = found.best if groups is None else fit_accelerated(found.law, found.lives, kept.table)
    assert plain is not None  # it is the same maximum
    alone, df = replace(found, best=plain), np.inf if count is None or not few else count - 1
    return likelihood_limits(alone, effects, conf, df), ratio_tests(alone, effects, df)


def _sigma(fitted: Accelerated, se: Floats, z: float) -> Estimate:
    if fitted.covariance.shape[0] == fitted.coefficients.size:
        return Estimate(1.0, None, None)
    return estimate_from_log(fitted.log_sigma, float(se[-1]), z)


def _refuse_endless(lives: Lives, covariates: Covariates) -> None:
    """Refuse a covariate of which one value never fails: its time ratio has no finite estimate."""
    for name, column in zip(covariates.names, covariates.table.T, strict=True):
        values = np.unique(column)
        fails = np.unique(column[lives.failed])
        if values.size == 2 and fails.size == 1:
            raise NotEnoughData(
                f"{name}: nothing has failed where it is {values[values != fails[0]][0]:g}; no finite time ratio fits",
                hint="Cox's model gives a penalised answer here",
                covariate=name,
            )
