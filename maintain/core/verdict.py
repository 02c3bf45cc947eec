"""On which p it rests whether groups differ: chi-square, F by clusters, or all ways to deal so few lives out."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike

from maintain.core.lives import Lives
from maintain.core.log_rank import LogRank, log_rank
from maintain.core.permutation import permutation_test

Method = Literal["chi-square", "F", "exact", "drawn"]

# With fewer a group, on the average, no chi-square or F is trusted here. Failures: the usual rule of five expected a
# cell (Cochran 1954, Biometrics 10, 417-451); lives: common practice, no source.
LEAST_LIVES, LEAST_FAILURES = 10, 5


@dataclass(frozen=True)
class Verdict:
    """
    The p on which it rests whether groups differ.

    Attributes
    ----------
    p : float
    method : str
        "chi-square", "F" (lives in clusters), "exact" (every way to deal the groups out) or "drawn" (ways drawn by
        lot, because there are too many to count).
    by : str or None
        What lives share, of all ways the one that leaves it least sure; None: lives on their own.
    statistic, df, denominator_df : float or None, int or None, int or None
        Of chi-square or F.
    deals : int or None
        Ways to deal the groups out that were looked at.
    least_p : float or None
        Least p that so few could have shown at all.
    """

    p: float
    method: Method
    by: str | None = None
    statistic: float | None = None
    df: int | None = None
    denominator_df: int | None = None
    deals: int | None = None
    least_p: float | None = None


def judged(
    lives: Lives,
    group: ArrayLike,
    rng: np.random.Generator,
    *,
    strata: ArrayLike | None = None,
    clusters: Mapping[str, ArrayLike] | None = None,
) -> tuple[LogRank, Verdict]:
    """
    Test whether groups have one hazard, and say on which p to rest the verdict.

    With few lives or failures it is the permutation test, else the largest p of the log-rank tests; of all ways in
    which lives hang together always the least sure.

    Parameters
    ----------
    lives : Lives
    group, strata : array-like, shape = (n,)
    rng : numpy.random.Generator
        Draws where so few lives can be dealt out in more ways than can be counted.
    clusters : mapping of name to array-like, shape = (n,), optional

    Raises
    ------
    NotEnoughData, InvalidRecord
        As `log_rank`.
    """
    test = log_rank(lives, group, strata=strata, clusters=clusters)
    if not too_few(test):
        return test, _by_distribution(test)
    ways: list[tuple[str | None, ArrayLike | None]] = [*(clusters or {}).items()] or [(None, None)]
    found = max(
        (permutation_test(lives, group, rng, strata=strata, cluster=labels, by=by) for by, labels in ways),
        key=lambda each: each.p,
    )
    method: Method = "exact" if found.exact else "drawn"
    return test, Verdict(found.p, method, found.by, deals=found.deals, least_p=found.least)


def too_few(test: LogRank) -> bool:
    """Whether no chi-square or F of so few lives or failures, for so many groups, is to be trusted."""
    groups = len(test.groups)
    return bool(test.n.sum() < LEAST_LIVES * groups or test.observed.sum() < LEAST_FAILURES * groups)


def _by_distribution(test: LogRank) -> Verdict:
    alone = Verdict(test.p, "chi-square", None, test.statistic, test.df)
    shared = (Verdict(each.p, "F", each.by, each.f, each.df, each.denominator_df) for each in test.robust)
    return max((alone, *shared), key=lambda each: each.p)
