"""The effect of one covariate: a ratio with its limits."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from maintain.core.estimate import estimate_from_log
from maintain.core.lives import Floats


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
        "Wald"; "jackknife" where errors come from leaving out each of few clusters; "profile" where the penalised
        likelihood itself gave the limits and p; "likelihood ratio" where that of a law did, failures being few.
    """

    name: str
    coef: float
    se: float
    ratio: float | None
    lower: float | None
    upper: float | None
    p: float
    interval: str


def effects_of(
    names: tuple[str, ...], coefficients: Floats, covariance: Floats, conf: float, clusters: int | None = None
) -> tuple[Effect, ...]:
    """
    Return effects with limits so many standard errors about their logs.

    Parameters
    ----------
    names : tuple of str
    coefficients : array, shape = (p,)
    covariance : array, shape = (p, p)
    conf : float
    clusters : int, optional
        Given if the covariance comes from leaving out each of so many: Student's t on one less then gives limits and p.

    References
    ----------
    Student's t on clusters - 1: Cameron and Miller (2015), J. Human Resources 50, 317-372, section VI.
    """
    from scipy.special import stdtr, stdtrit

    df = np.inf if clusters is None else clusters - 1
    z, interval = float(stdtrit(df, 0.5 + conf / 2)), "Wald" if clusters is None else "jackknife"
    found = []
    for name, coef, se in zip(names, coefficients.tolist(), np.sqrt(np.diag(covariance)).tolist(), strict=True):
        ratio = estimate_from_log(coef, se, z)
        p = float(2 * stdtr(df, -abs(coef) / se)) if se > 0 else 0.0
        found.append(Effect(name, coef, se, ratio.value, ratio.lower, ratio.upper, p, interval))
    return tuple(found)
