"""Effects where the plain answer runs off to infinity: Firth's penalised likelihood, what rows share allowed for."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from maintain.core.covariates import Covariates
from maintain.core.cox import RiskSets
from maintain.core.cox_residuals import design_effect, sandwich
from maintain.core.effect import Effect, effects_of
from maintain.core.estimate import exp_or_none, two_sided_z
from maintain.core.factors import RATIO, Factor, columns_by_factor
from maintain.core.firth import Penalised, maximise_penalised, penalised_step, profile_limits, without
from maintain.core.left_out import Watched, left_out_covariance
from maintain.core.lives import Bools
from maintain.core.log_rank import FEW_CLUSTERS


def endless_effects(
    sets: RiskSets, given: Covariates, endless: Bools, rows: Watched | None, conf: float
) -> tuple[tuple[Effect, ...], tuple[Factor, ...]]:
    """
    Return the penalised effects and the test of each covariate.

    Parameters
    ----------
    sets : RiskSets
    given : Covariates
        Those of `sets`.
    endless : array of bool, shape = (p,)
        Columns without a finite plain estimate. They get limits from the profile, the others Wald's.
    rows : Watched, optional
        The rows of `sets`, if they share their luck. Errors of the others then come from the sandwich at the penalised
        estimate, or from leaving out each of few clusters, where that is wider. Where nothing failed neither sees what
        ships share: so the profile is widened, and the tests are scaled, by the design effect of the score at no
        effect.
    conf : float

    References
    ----------
    See `maintain.core.firth`, `left_out` and `cox_residuals.design_effect`.
    """
    from scipy.special import chdtrc

    best, z = maximise_penalised(sets), two_sided_z(conf)
    found = list(_wald(sets, best, given.names, rows, conf))
    for k in np.flatnonzero(endless).tolist():
        statistic, share = _ratio_statistic(sets, best, [k], rows)
        limits = profile_limits(sets, best, k, z, share)
        lower, upper = (_exp(limit / float(sets.scale[k])) for limit in limits)
        found[k] = replace(found[k], lower=lower, upper=upper, p=float(chdtrc(1, statistic)), interval="profile")
    tests = tuple(_test(sets, best, name, columns, rows) for name, columns in columns_by_factor(given).items())
    return tuple(found), tests


def _wald(
    sets: RiskSets, best: Penalised, names: tuple[str, ...], rows: Watched | None, conf: float
) -> tuple[Effect, ...]:
    unit, coefficients = np.outer(sets.scale, sets.scale), best.coefficients / sets.scale
    plain = np.linalg.inv(best.partial.information) / unit
    if rows is None:
        return effects_of(names, coefficients, plain, conf)
    few = rows.clusters < FEW_CLUSTERS
    robust = (
        left_out_covariance(rows, coefficients, penalised_step)[0]
        if few
        else sandwich(sets, best.partial, rows.cluster) / unit
    )
    wider = np.diag(np.maximum(np.diag(plain), np.diag(robust)))
    return effects_of(names, coefficients, wider, conf, rows.clusters if few else None)


def _ratio_statistic(sets: RiskSets, best: Penalised, columns: list[int], rows: Watched | None) -> tuple[float, float]:
    """Return the penalised likelihood ratio over its design effect, and the design effect."""
    null, statistic = without(sets, best, columns)
    share = 1.0 if rows is None else design_effect(sets, null.partial, columns, rows.cluster)
    return statistic / share, share


def _test(sets: RiskSets, best: Penalised, name: str, columns: list[int], rows: Watched | None) -> Factor:
    from scipy.special import chdtrc, fdtrc

    statistic, _ = _ratio_statistic(sets, best, columns, rows)
    df = len(columns)
    if rows is None:
        return Factor(name, statistic, df, float(chdtrc(df, statistic)), RATIO)
    rest = rows.clusters - df
    p = float(fdtrc(df, rest, statistic / df)) if rest > 0 else None
    return Factor(name, statistic, df, p, RATIO)


def _exp(limit: float) -> float | None:
    return 0.0 if limit < -700 else exp_or_none(limit)
