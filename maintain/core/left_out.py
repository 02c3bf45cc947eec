"""Errors of a Cox fit from leaving out each cluster in turn: for ships, of which a club has few."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from maintain.core.at_risk import Codes, Observed
from maintain.core.cox import RiskSets, partial_likelihood, risk_sets
from maintain.core.lives import Bools, Floats

MOST_LEFT_OUT = 50  # with more clusters the sandwich serves as well, and costs less
UNTOLD = 1e-9  # of the information of all rows; less is none

# From standardised coefficients to the step that leads from them to the best ones.
Step = Callable[[RiskSets, Floats], Floats]


@dataclass(frozen=True)
class Watched:
    """
    The rows of a fit.

    Attributes
    ----------
    seen : Observed
    table : array, shape = (n, p)
    strata : array of int, shape = (n,), or None
    cluster : array of int, shape = (n,)
        What rows share, from 0 up; at least two.
    """

    seen: Observed
    table: Floats
    strata: Codes | None
    cluster: Codes

    @property
    def clusters(self) -> int:
        """Number of clusters."""
        return int(self.cluster.max()) + 1

    def without(self, one: int) -> RiskSets:
        """Return the risk sets without one cluster."""
        kept = self.cluster != one
        rest = Observed(self.seen.entry[kept], self.seen.exit[kept], self.seen.failed[kept])
        return risk_sets(rest, self.table[kept], None if self.strata is None else self.strata[kept])


def newton_step(sets: RiskSets, coefficients: Floats) -> Floats:
    """Return the step that Newton's method takes on the plain likelihood."""
    partial = partial_likelihood(sets, coefficients)
    return np.asarray(np.linalg.lstsq(partial.information, partial.score, rcond=1e-10)[0])


def left_out_covariance(rows: Watched, coefficients: Floats, step: Step = newton_step) -> tuple[Floats, Bools]:
    """
    Return the covariance of Cox's coefficients from leaving out each cluster in turn, one step each.

    It errs to the wide side where clusters are few or unlike, where the sandwich errs to the narrow one.

    Parameters
    ----------
    rows : Watched
    coefficients : array, shape = (p,)
        The estimate from all rows, per unit of each column.
    step : function
        By default of the plain likelihood.

    Returns
    -------
    covariance : array, shape = (p, p)
        Per unit of each column.
    lonely : array of bool, shape = (p,)
        True where some cluster is the only one to tell of a column: how clusters differ in it cannot be seen.

    References
    ----------
    Lipsitz, Dear and Zhao (1994), Biometrics 50, 842-846.
    """
    count, wide = rows.clusters, coefficients.size
    moves, lonely = np.empty((count, wide)), np.zeros(wide, dtype=bool)
    everyone = risk_sets(rows.seen, rows.table, rows.strata)
    known = _information(everyone, coefficients)
    for one in range(count):
        sets = rows.without(one)
        moves[one] = step(sets, coefficients * sets.scale) / sets.scale
        lonely |= _information(sets, coefficients) < UNTOLD * known
    return np.asarray((count - 1) / count * moves.T @ moves, dtype=np.float64), lonely


def _information(sets: RiskSets, coefficients: Floats) -> Floats:
    """What each column's own information is, per unit of it."""
    found = np.diag(partial_likelihood(sets, coefficients * sets.scale).information) / sets.scale**2
    return np.asarray(found, dtype=np.float64)
