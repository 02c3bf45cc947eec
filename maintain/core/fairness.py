"""What makes a comparison of groups unfair: zones, waters, ages or exposures that differ between them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import combinations

import numpy as np
from numpy.typing import ArrayLike

from maintain.core.at_risk import Codes, codes_of, refuse_missing, require_two
from maintain.core.lives import Bools, Floats, Lives
from maintain.core.wording import count

# A standardised difference beyond 0.1 is usually called a meaningful imbalance (Austin 2009, Statist. Med. 28,
# 3083-3107); small groups differ by more than that through chance alone, so the larger of the two is the line here.
SMALL_DIFFERENCE = 0.1


@dataclass(frozen=True)
class Imbalance:
    """
    How much two groups differ in one thing other than what is compared.

    Attributes
    ----------
    covariate : str
    a, b : str
        The two groups that differ most in it.
    difference : float
        Standardised difference between them: in units of the spread within groups. inf if they do not overlap.
    unfair : bool
        True if beyond what is small and beyond what chance does one time in twenty in groups so large.
    never_together : bool
        True for labels of which no value occurs in both groups: no adjustment can help.
    """

    covariate: str
    a: str
    b: str
    difference: float
    unfair: bool
    never_together: bool


def imbalances(group: ArrayLike, covariates: Mapping[str, ArrayLike]) -> tuple[Imbalance, ...]:
    """
    Find, for each covariate, the two groups that differ most in it.

    Parameters
    ----------
    group : array-like, shape = (n,)
        Label of each life's group.
    covariates : mapping of name to array-like, shape = (n,)
        Numbers (age, sinkings) or labels (zone, water, ship).

    Raises
    ------
    NotEnoughData
        If there is only one group.
    InvalidRecord
        If a value is missing; names the rows (from 1).

    References
    ----------
    Austin (2009), Statist. Med. 28, 3083-3107; labels: Yang and Dalton (2012), SAS Global Forum 335.

    Examples
    --------
    >>> found = imbalances(["oil", "oil", "grease", "grease"], {"zone": ["bilge", "bilge", "dry deck", "dry deck"]})
    >>> found[0].unfair, found[0].never_together
    (True, True)
    """
    column = np.asarray(group)
    names, code = codes_of(column, column.size, "group")
    require_two(names)
    return tuple(_widest(name, np.asarray(values), code, names) for name, values in covariates.items())


def late_entry_cautions(lives: Lives, group: ArrayLike) -> tuple[str, ...]:
    """
    Name the groups most of whose lives were first seen with use already on them: survivors of an unseen number.

    Parameters
    ----------
    lives : Lives
    group : array-like, shape = (n,)
    """
    names, code = codes_of(group, lives.n, "group")
    found = []
    for place, name in enumerate(names):
        late = lives.entry[code == place] > 0
        if late.mean() > 0.5:
            found.append(
                f"{name}: {int(late.sum())} of {count(late.size, 'life')} {'was' if late.sum() == 1 else 'were'} "
                "first seen in use; parts like them that failed "
                "before are not in the records, and what happens early in life rests on the few others"
            )
    return tuple(found)


def _widest(covariate: str, values: np.ndarray, code: Codes, names: tuple[str, ...]) -> Imbalance:
    refuse_missing(values, covariate)
    numeric = values.dtype.kind in "fiub"
    table = values.astype(np.float64)[:, None] if numeric else _indicators(values, covariate)
    best, a, b = max(
        (_standardised(table[code == a], table[code == b]), a, b) for a, b in combinations(range(len(names)), 2)
    )
    apart = not numeric and not np.any(table[code == a].any(axis=0) & table[code == b].any(axis=0))
    line = max(SMALL_DIFFERENCE, _chance(table[(code == a) | (code == b)], code[(code == a) | (code == b)] == a))
    return Imbalance(covariate, names[a], names[b], best, best > line or apart, apart)


def _chance(table: Floats, first: Bools) -> float:
    """Return the standardised difference that chance alone exceeds one time in twenty (Hotelling's T squared)."""
    from scipy.special import fdtri

    free, n = max(int(np.sum(table.any(axis=0))) - 1, 1), first.size
    spare = n - free - 1
    if spare < 1:
        return float("inf")
    return float(np.sqrt(free * n / spare * fdtri(free, spare, 0.95) * (1 / np.sum(first) + 1 / np.sum(~first))))


def _indicators(values: np.ndarray, covariate: str) -> Floats:
    labels, code = codes_of(values, values.size, covariate)
    table: Floats = (code[:, None] == np.arange(len(labels))).astype(np.float64)
    return table


def _standardised(a: Floats, b: Floats) -> float:
    """Return the Mahalanobis distance of the two mean rows, by the mean of the two covariances."""
    gap = a.mean(axis=0) - b.mean(axis=0)
    if not gap.any():
        return 0.0
    spread = (np.atleast_2d(np.cov(a.T, bias=True)) + np.atleast_2d(np.cov(b.T, bias=True))) / 2
    values, vectors = np.linalg.eigh(spread)
    along = vectors.T @ gap
    flat = values <= 1e-12 * max(float(values[-1]), 1e-300)
    if np.any(np.abs(along[flat]) > 1e-9 * np.abs(gap).max()):
        return float("inf")
    return float(np.sqrt(np.sum(along[~flat] ** 2 / values[~flat])))
