"""What each circumstance does to life, the others held equal: hazard ratios (Cox) or time ratios (accelerated life)."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike

from maintain.core.aft import Accelerated, fit_accelerated
from maintain.core.at_risk import Codes, codes_of, found_late_caution, observed
from maintain.core.concordance import concordance
from maintain.core.covariates import Covariates, covariates_of, gram_of, redundant
from maintain.core.cox import Maximum, RiskSets, maximise, partial_likelihood, risk_sets, separated
from maintain.core.cox_residuals import Proportionality, proportionality, sandwich
from maintain.core.effect_words import advice, cluster_words, redundancy_words, separation_words, size_words
from maintain.core.estimate import Estimate, estimate_from_log, exp_or_none, two_sided_z
from maintain.core.firth import maximise_penalised, profile_limits, profile_p
from maintain.core.identifiable import check_identifiable, no_maximum
from maintain.core.lives import Bools, Floats, Lives
from maintain.core.models import model_named
from maintain.errors import InvalidRecord, NotEnoughData


@dataclass(frozen=True)
class Effect:
    """
    The effect of one covariate.

    Attributes
    ----------
    name : str
    coef, se : float
        Log of the ratio for one unit of the covariate, and its standard error (robust where clusters were given).
    ratio, lower, upper : float or None
        Hazard ratio or time ratio with its interval, made on the log scale; None beyond any float.
    p : float
    interval : str
        "Wald", or "profile" where the penalised likelihood itself gave the limits and p.
    """

    name: str
    coef: float
    se: float
    ratio: float | None
    lower: float | None
    upper: float | None
    p: float
    interval: str


@dataclass(frozen=True)
class Effects:
    """
    All effects of one model.

    Attributes
    ----------
    model : str
        "cox", or the law of an accelerated-life model.
    ratio_of : str
        "hazard" (above 1: fails sooner) or "time" (above 1: lasts longer).
    rows, failures : int
    effects : tuple of Effect
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
    lives, 88 with 10.

    References
    ----------
    Cox (1972), J. R. Stat. Soc. B 34, 187-220; see `maintain.core.cox`, `cox_residuals` and `firth`.
    """
    z = two_sided_z(conf)
    _need_failures(lives)
    seen = observed(lives)
    layers = None if strata is None else codes_of(strata, lives.n, "stratum")[1]
    groups = None if cluster is None else codes_of(cluster, lives.n, "cluster")[1]
    given = _checked(covariates_of(covariates), lives.n)
    everyone = risk_sets(seen, given.table, layers)
    information = partial_likelihood(everyone, np.zeros(len(given.names))).information
    kept, cautions = _without_redundant(given, information, np.full(len(given.names), float(everyone.events)))
    sets = risk_sets(seen, kept.table, layers)
    fitted = maximise(sets)
    endless = separated(sets) | fitted.runaway
    if endless.any():
        answer = _penalised(sets, kept.names, endless, z)
        cautions += separation_words(kept.names, endless, clustered=groups is not None)
    else:
        answer = _plain(sets, fitted, kept.names, groups, z)
        cautions += cluster_words(groups)
    proportional = () if endless.any() else proportionality(sets, fitted.partial, seen, kept.names)
    return Effects(
        model="cox",
        ratio_of="hazard",
        rows=lives.n,
        failures=lives.failures,
        effects=answer,
        references=kept.references,
        scale=None,
        sigma=None,
        log_likelihood=fitted.partial.log_likelihood,
        null_log_likelihood=fitted.null_log_likelihood,
        concordance=concordance(seen, kept.table @ np.array([effect.coef for effect in answer]), layers),
        proportional=proportional,
        clusters=None if groups is None else int(groups.max()) + 1,
        penalised=bool(endless.any()),
        left_out=tuple(name for name in given.names if name not in kept.names),
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
        If there are too few failures, or one value of a covariate never fails.
    InvalidRecord
        If a value is missing or lengths differ.

    Notes
    -----
    In simulated clubs the 95 % interval held the truth 94 times in 100 with 100 lives, 92 with 15.
    """
    law, z = model_named(model), two_sided_z(conf)
    check_identifiable(lives, law)
    groups = None if cluster is None else codes_of(cluster, lives.n, "cluster")[1]
    given = _checked(covariates_of(covariates), lives.n)
    kept, cautions = _without_redundant(given, *gram_of(given.table))
    _refuse_endless(lives, kept)
    fitted = fit_accelerated(law, lives, kept.table, groups)
    null = fit_accelerated(law, lives, kept.table[:, :0])
    if fitted is None or null is None:
        raise no_maximum(lives, law)
    se = np.sqrt(np.diag(fitted.covariance))
    slopes = fitted.coefficients[1:]
    answer = tuple(_wald(*row, z) for row in zip(kept.names, slopes.tolist(), se[1:].tolist(), strict=False))
    return Effects(
        model=law.name,
        ratio_of="time",
        rows=lives.n,
        failures=lives.failures,
        effects=answer,
        references=kept.references,
        scale=estimate_from_log(float(fitted.coefficients[0]), float(se[0]), z),
        sigma=_sigma(fitted, se, z),
        log_likelihood=fitted.log_likelihood,
        null_log_likelihood=null.log_likelihood,
        concordance=concordance(observed(lives), -kept.table @ slopes),
        proportional=(),
        clusters=None if groups is None else int(groups.max()) + 1,
        penalised=False,
        left_out=tuple(name for name in given.names if name not in kept.names),
        conf=conf,
        cautions=tuple(cautions + cluster_words(groups) + size_words(lives, kept)),
    )


def _need_failures(lives: Lives) -> None:
    if not lives.failures:
        raise NotEnoughData(f"no failure among {lives.n} lives: no effect can be seen yet", hint="wait for failures")


def _checked(given: Covariates, n: int) -> Covariates:
    if given.table.shape[0] != n:
        raise InvalidRecord(f"{n} lives need {n} values of each covariate, got {given.table.shape[0]}")
    return given


def _without_redundant(given: Covariates, gram: Floats, size: Floats) -> tuple[Covariates, list[str]]:
    """Return the covariates of which something can be said, and why it cannot of the others."""
    bad = redundant(given.names, gram, size)
    kept = given.take([place for place, name in enumerate(given.names) if name not in bad])
    words = redundancy_words(bad)
    if not kept.names:
        raise NotEnoughData(f"no effect can be seen: {'; '.join(words)}", hint="choose covariates that vary")
    return kept, words


def _plain(
    sets: RiskSets, fitted: Maximum, names: tuple[str, ...], groups: Codes | None, z: float
) -> tuple[Effect, ...]:
    covariance = np.linalg.inv(fitted.partial.information)
    if groups is not None:
        covariance = sandwich(sets, fitted.partial, groups)
    coefs, errors = fitted.coefficients / sets.scale, np.sqrt(np.diag(covariance)) / sets.scale
    return tuple(_wald(*row, z) for row in zip(names, coefs.tolist(), errors.tolist(), strict=True))


def _penalised(sets: RiskSets, names: tuple[str, ...], endless: Bools, z: float) -> tuple[Effect, ...]:
    best = maximise_penalised(sets)
    errors = np.sqrt(np.diag(np.linalg.inv(best.partial.information))) / sets.scale
    found = []
    for k, name in enumerate(names):
        effect = _wald(name, float(best.coefficients[k] / sets.scale[k]), float(errors[k]), z)
        if endless[k]:
            lower, upper = (_exp(limit / float(sets.scale[k])) for limit in profile_limits(sets, best, k, z))
            effect = replace(effect, lower=lower, upper=upper, p=profile_p(sets, best, k), interval="profile")
        found.append(effect)
    return tuple(found)


def _exp(limit: float) -> float | None:
    return 0.0 if limit < -700 else exp_or_none(limit)


def _wald(name: str, coef: float, se: float, z: float) -> Effect:
    from scipy.special import ndtr

    ratio = estimate_from_log(coef, se, z)
    p = float(2 * ndtr(-abs(coef) / se)) if se > 0 else 0.0
    return Effect(name, coef, se, ratio.value, ratio.lower, ratio.upper, p, "Wald")


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
