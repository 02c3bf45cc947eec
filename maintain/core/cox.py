"""Cox's partial likelihood with Efron's treatment of ties: late entry, strata, time-varying rows, whole arrays.

Our own rather than lifelines': its robust errors are wrong on rows with an entry time, it reports a group without
failures as a failed convergence, and it has no penalised answer.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from maintain.core.at_risk import Codes, Observed, total_by, total_while
from maintain.core.lives import Bools, Floats

# A log hazard ratio per standard deviation beyond this is no estimate but a likelihood without a maximum.
RUNAWAY = 15.0
LONGEST_STEP = 3.0
WIDEST = 30.0  # range of log hazards kept: beyond it sums over risk sets are rounding
FLAT = 1e-9  # of the information without effects; less is a likelihood that has run flat
MOST_STEPS = 60


@dataclass(frozen=True)
class RiskSets:
    """
    Who was at risk at each failure time of each stratum, with standardised covariates.

    Attributes
    ----------
    table : array, shape = (n, p)
        Covariates less `centre`, over `scale`.
    centre, scale : array, shape = (p,)
    first, last : array of int, shape = (n,)
        Life i is at risk at failure times first[i] <= j < last[i] (numbered through all strata).
    size : int
        Number of failure times, counted apart in each stratum.
    dead : array of int, shape = (events,)
        Rows that failed, in order of failure time.
    place : array of int, shape = (events,)
        Failure time of each of those.
    tied : array, shape = (events,)
        Efron's share: of d tied failures 0, 1/d, ... (d-1)/d.
    """

    table: Floats
    centre: Floats
    scale: Floats
    first: Codes
    last: Codes
    size: int
    dead: Codes
    place: Codes
    tied: Floats

    @property
    def events(self) -> int:
        """Number of failures."""
        return int(self.dead.size)

    def at_risk_total(self, values: Floats) -> Floats:
        """Return, at each failure time, the sum of `values` over the lives at risk."""
        return total_while(self.first, self.last, values, self.size)


@dataclass(frozen=True)
class Partial:
    """
    Partial likelihood at one value of the coefficients, and what residuals need.

    Attributes
    ----------
    log_likelihood : float
    score : array, shape = (p,)
    information : array, shape = (p, p)
    risk : array, shape = (n,)
        Relative hazards, up to a common factor.
    total : array, shape = (events,)
        Sum of `risk` over those at risk, less Efron's share of the tied failures.
    mean : array, shape = (events, p)
        Mean covariates under the same weights.
    spread : array, shape = (events, p, p)
        Their covariance.
    """

    log_likelihood: float
    score: Floats
    information: Floats
    risk: Floats
    total: Floats
    mean: Floats
    spread: Floats


@dataclass(frozen=True)
class Maximum:
    """Where the likelihood is greatest (standardised coefficients); `runaway` marks those without a maximum."""

    coefficients: Floats
    partial: Partial
    null_log_likelihood: float
    score_statistic: float
    runaway: Bools


def risk_sets(seen: Observed, table: Floats, strata: Codes | None = None) -> RiskSets:
    """
    Arrange rows for the partial likelihood.

    Parameters
    ----------
    seen : Observed
        One row a life, or several where covariates change with time: each from its start to its stop.
    table : array, shape = (n, p)
    strata : array of int, shape = (n,), optional
    """
    layer = np.zeros(seen.exit.size, dtype=np.int64) if strata is None else strata.astype(np.int64)
    moments, rank = np.unique(np.concatenate((seen.exit, seen.entry)), return_inverse=True)
    keys: Codes = np.tile(layer, 2) * moments.size + rank
    out, into = keys[: layer.size], keys[layer.size :]
    failing = np.flatnonzero(seen.failed)
    dead = failing[np.argsort(out[failing], kind="stable")]
    times, place, count = np.unique(out[dead], return_inverse=True, return_counts=True)
    first_of_tie = np.concatenate(([0], np.cumsum(count)[:-1]))
    centre, scale = table.mean(axis=0), table.std(axis=0)
    scale = np.where(scale > 0, scale, 1.0)
    return RiskSets(
        table=(table - centre) / scale,
        centre=centre,
        scale=scale,
        first=np.searchsorted(times, into, side="right"),
        last=np.searchsorted(times, out, side="right"),
        size=times.size,
        dead=dead,
        place=place,
        tied=(np.arange(dead.size) - first_of_tie[place]) / count[place],
    )


def partial_likelihood(sets: RiskSets, coefficients: Floats) -> Partial:
    """
    Evaluate Efron's partial likelihood.

    Parameters
    ----------
    sets : RiskSets
    coefficients : array, shape = (p,)
        Of the standardised covariates.

    References
    ----------
    Efron (1977), J. Am. Stat. Assoc. 72, 557-565; Andersen and Gill (1982), Ann. Statist. 10, 1100-1120.
    """
    linear = sets.table @ coefficients
    linear = np.maximum(linear - linear.max(), -WIDEST)
    risk, x = np.exp(linear), sets.table
    p = x.shape[1]
    total = np.maximum(_efron(sets, risk), np.exp(-WIDEST))
    mean = np.column_stack([_efron(sets, risk * x[:, k]) for k in range(p)]) / total[:, None]
    spread = np.empty((sets.events, p, p))
    for k in range(p):
        for m in range(k + 1):
            second = _efron(sets, risk * x[:, k] * x[:, m]) / total
            spread[:, k, m] = spread[:, m, k] = second - mean[:, k] * mean[:, m]
    return Partial(
        log_likelihood=float(linear[sets.dead].sum() - np.log(total).sum()),
        score=(x[sets.dead] - mean).sum(axis=0),
        information=spread.sum(axis=0),
        risk=risk,
        total=total,
        mean=mean,
        spread=spread,
    )


def _efron(sets: RiskSets, values: Floats) -> Floats:
    """Return, for each failure, the sum over those at risk less its share of the failures tied with it."""
    tied = total_by(sets.place, values[sets.dead], sets.size)
    return sets.at_risk_total(values)[sets.place] - sets.tied * tied[sets.place]


def maximise(sets: RiskSets) -> Maximum:
    """
    Find the coefficients of greatest partial likelihood by Newton's method with step halving.

    A coefficient that runs off to infinity (a group without failures) is no error here: `runaway` marks it.
    """
    here = np.zeros(sets.table.shape[1])
    now = null = partial_likelihood(sets, here)
    for _ in range(MOST_STEPS):
        step = np.linalg.lstsq(now.information, now.score, rcond=None)[0]
        step = step * min(1.0, LONGEST_STEP / max(float(np.abs(step).max()), 1e-300))
        following = partial_likelihood(sets, here + step)
        while following.log_likelihood < now.log_likelihood - 1e-9 and np.abs(step).max() > 1e-10:
            step = step / 2
            following = partial_likelihood(sets, here + step)
        gain = following.log_likelihood - now.log_likelihood
        here, now = here + step, following
        if np.abs(here).max() > RUNAWAY or (gain < 1e-11 * (1 + abs(now.log_likelihood)) and np.abs(step).max() < 1e-7):
            break
    return Maximum(
        coefficients=here,
        partial=now,
        null_log_likelihood=null.log_likelihood,
        score_statistic=float(null.score @ np.linalg.lstsq(null.information, null.score, rcond=None)[0]),
        runaway=_runaway(sets, here, now, null),
    )


def _runaway(sets: RiskSets, coefficients: Floats, now: Partial, null: Partial) -> Bools:
    """Mark the coefficients that have run off, or along which the likelihood has gone flat."""
    if np.abs(coefficients).max() > RUNAWAY or np.ptp(sets.table @ coefficients) > WIDEST:
        far: Bools = np.abs(coefficients) > 0.6 * np.abs(coefficients).max()
        return far
    values, vectors = np.linalg.eigh(now.information)
    flat = values < FLAT * np.linalg.norm(null.information)
    found: Bools = np.any(np.abs(vectors[:, flat]) > 0.3, axis=1)
    return found


def separated(sets: RiskSets) -> Bools:
    """
    Mark two-valued covariates of which one value never fails while the other does: no finite effect fits.

    Returns
    -------
    array of bool, shape = (p,)
    """
    found = np.zeros(sets.table.shape[1], dtype=bool)
    everyone = sets.at_risk_total(np.ones(sets.table.shape[0]))
    for k, column in enumerate(sets.table.T):
        values = np.unique(column)
        if values.size != 2:
            continue
        high = (column == values[1]).astype(np.float64)
        mixed = sets.at_risk_total(high)
        informative = ((mixed > 0.5) & (mixed < everyone - 0.5))[sets.place]
        fails = high[sets.dead][informative]
        found[k] = fails.size > 0 and (not fails.any() or bool(fails.all()))
    return found
