"""Residuals of a Cox fit: errors that let lives of one ship fail together, and whether hazards stay proportional."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from maintain.core.at_risk import Codes, Observed, total_by
from maintain.core.cox import Partial, RiskSets
from maintain.core.lives import Floats


@dataclass(frozen=True)
class Proportionality:
    """
    Test that the effect of one covariate, or of all together, stays the same as parts age.

    Attributes
    ----------
    name : str
        Covariate, or "all".
    statistic, df, p : float, int, float
    grows : bool
        True if its log hazard ratio rises with age (meaningless for "all").
    """

    name: str
    statistic: float
    df: int
    p: float
    grows: bool


def score_residuals(sets: RiskSets, partial: Partial) -> Floats:
    """
    Return each row's own part of the score (standardised covariates), with Efron's ties.

    Returns
    -------
    array, shape = (n, p)

    References
    ----------
    Therneau and Grambsch (2000), Modeling Survival Data, section 4.6 and its treatment of ties in 3.3.
    """
    hazard = 1 / partial.total
    pull = partial.mean * hazard[:, None]
    steps = np.column_stack((hazard, pull))
    running = np.column_stack([np.cumsum(total_by(sets.place, column, sets.size)) for column in steps.T])
    padded = np.concatenate((np.zeros((1, running.shape[1])), running))
    gained = padded[sets.last] - padded[sets.first]
    residuals: Floats = -partial.risk[:, None] * (sets.table * gained[:, :1] - gained[:, 1:])

    # A failure sees the mean of its tie, and of each tied term only the share that Efron leaves it.
    ties = np.bincount(sets.place, minlength=sets.size)[sets.place][:, None]
    means = np.column_stack([total_by(sets.place, column, sets.size) for column in partial.mean.T])[sets.place] / ties
    shared = np.column_stack([total_by(sets.place, column, sets.size) for column in (steps * sets.tied[:, None]).T])[
        sets.place
    ]
    x = sets.table[sets.dead]
    residuals[sets.dead] += x - means + partial.risk[sets.dead, None] * (x * shared[:, :1] - shared[:, 1:])
    return residuals


def sandwich(sets: RiskSets, partial: Partial, cluster: Codes) -> Floats:
    """
    Return the robust covariance of the standardised coefficients.

    Parameters
    ----------
    sets : RiskSets
    partial : Partial
        At the estimate.
    cluster : array of int, shape = (n,)
        What rows share.

    References
    ----------
    Lin and Wei (1989), J. Am. Stat. Assoc. 84, 1074-1078; clusters: Lee, Wei and Amato (1992).
    """
    residuals = np.column_stack([total_by(cluster, column) for column in score_residuals(sets, partial).T])
    moves = np.linalg.solve(partial.information, residuals.T)
    return np.asarray(moves @ moves.T, dtype=np.float64)


def design_effect(sets: RiskSets, null: Partial, columns: list[int], cluster: Codes) -> float:
    """
    Return how many times as much the score of some covariates varies as it would if each row failed on its own.

    Parameters
    ----------
    sets : RiskSets
    null : Partial
        At the estimate with those coefficients at 0: there even a group without failures had failures to expect.
    columns : list of int
    cluster : array of int, shape = (n,)
        What rows share, from 0 up.

    Returns
    -------
    float
        At least 1: the mean over the directions of these covariates.

    References
    ----------
    Rao and Scott (1984), Ann. Statist. 12, 46-60, their first correction; score tests: Rotnitzky and Jewell (1990),
    Biometrika 77, 485-497.
    """
    others = [k for k in range(sets.table.shape[1]) if k not in columns]
    information = null.information
    weights = np.linalg.pinv(information[np.ix_(others, others)], hermitian=True) @ information[np.ix_(others, columns)]
    rows = score_residuals(sets, null)
    rows = rows[:, columns] - rows[:, others] @ weights
    sums = np.column_stack([total_by(cluster, column) for column in rows.T])
    sums = sums - sums.mean(axis=0)
    count = sums.shape[0]
    naive = information[np.ix_(columns, columns)] - information[np.ix_(columns, others)] @ weights
    ratio = np.linalg.pinv(naive, rcond=1e-10, hermitian=True) @ (sums.T @ sums) * count / max(count - 1, 1)
    return max(1.0, float(np.trace(ratio)) / len(columns))


def proportionality(
    sets: RiskSets, partial: Partial, seen: Observed, names: tuple[str, ...]
) -> tuple[Proportionality, ...]:
    """
    Test for each covariate, and for all, whether its effect changes with age.

    Age enters as 1 - Kaplan-Meier just before each failure, so that long lives of few parts do not rule the answer.

    Parameters
    ----------
    sets, partial : RiskSets, Partial
        At the estimate.
    seen : Observed
        The rows from which `sets` was made.
    names : tuple of str

    References
    ----------
    Grambsch and Therneau (1994), Biometrika 81, 515-526, as the score test of a covariate times age.
    """
    from scipy.special import chdtrc

    age = _age(sets, seen)
    p = len(names)
    schoenfeld = sets.table[sets.dead] - partial.mean
    score = schoenfeld.T @ age
    cross = np.tensordot(age, partial.spread, axes=1)
    square = np.tensordot(age**2, partial.spread, axes=1)
    # What is left of the information on the age terms once the plain effects are fitted.
    own = square - cross @ np.linalg.solve(partial.information, cross)
    found = []
    for k, name in enumerate(names):
        statistic = _ratio(score[k] ** 2, own[k, k])
        found.append(Proportionality(name, statistic, 1, float(chdtrc(1, statistic)), bool(score[k] > 0)))
    together = float(score @ np.linalg.pinv(own, rcond=1e-9, hermitian=True) @ score)
    found.append(Proportionality("all", together, p, float(chdtrc(p, together)), False))
    return tuple(found)


def _age(sets: RiskSets, seen: Observed) -> Floats:
    """Return 1 - pooled Kaplan-Meier just before each failure, less its mean."""
    times, deaths = np.unique(seen.exit[seen.failed], return_counts=True)
    survival = np.cumprod(1 - deaths / seen.at_risk(times))
    before = np.concatenate(([1.0], survival[:-1]))
    age = 1 - before[np.searchsorted(times, seen.exit[sets.dead])]
    return np.asarray(age - age.mean(), dtype=np.float64)


def _ratio(top: float, bottom: float) -> float:
    return float(top / bottom) if bottom > 1e-12 else 0.0
