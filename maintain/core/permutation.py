"""The log-rank test by sharing the groups out anew: exact however few lives or failures there are."""

from __future__ import annotations

import math
from collections.abc import Hashable
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from maintain.core.at_risk import Codes, Observed, codes_of, observed, still_in
from maintain.core.lives import Floats, Lives

MOST_COUNTED = 50_000  # ways to share out that are all counted; of more, so many as DRAWS are drawn by lot
DRAWS = 20_000
_AT_ONCE = 2_000_000  # labels drawn at a time
_SAME = 1e-9  # statistics that differ by less are one value, computed in another order


@dataclass(frozen=True)
class PermutationTest:
    """
    A log-rank test whose p is the share of ways to deal the groups out that differ as much as what was seen.

    Attributes
    ----------
    by : str or None
        What lives share, dealt out whole where its lives are all of one group; None: lives on their own.
    deals : int
        Ways to deal the groups out that were looked at.
    exact : bool
        True if these are all ways there are; False if they were drawn by lot.
    p : float
    least : float
        Least p that any outcome could have had here.
    """

    by: str | None
    deals: int
    exact: bool
    p: float
    least: float


@dataclass(frozen=True)
class _Block:
    """What may change places: scores, and how many of them each group holds."""

    scores: Floats
    group: Codes


def permutation_test(
    lives: Lives,
    group: ArrayLike,
    rng: np.random.Generator,
    *,
    strata: ArrayLike | None = None,
    cluster: ArrayLike | None = None,
    by: str | None = None,
) -> PermutationTest:
    """
    Test whether groups of lives have one and the same hazard, by dealing the groups out anew.

    Parameters
    ----------
    lives : Lives
        A failure known only to an interval counts when it was found.
    group : array-like, shape = (n,)
        Label of each life's group.
    rng : numpy.random.Generator
        Draws where there are more ways than can be counted.
    strata : array-like, shape = (n,), optional
        Labels change places only within these.
    cluster : array-like, shape = (n,), optional
        What lives share. Where all lives of a cluster are of one group, clusters change places as wholes (those in
        the same strata); else lives change places within their cluster.
    by : str, optional
        Name of the clusters.

    Returns
    -------
    PermutationTest
        It asks whether lives are alike in all but the group: groups that were watched for unlike times, or from
        unlike ages on, are not.

    Raises
    ------
    InvalidRecord
        If a label is missing.

    References
    ----------
    Log-rank scores: Peto and Peto (1972), J. R. Stat. Soc. A 135, 185-206; permutation of them: Kalbfleisch and
    Prentice (2002), The Statistical Analysis of Failure Time Data, 2nd ed., section 7.2; blocks: Good (2005),
    Permutation, Parametric and Bootstrap Tests of Hypotheses, 3rd ed.

    Examples
    --------
    >>> from maintain.core.lives import lives_from_times
    >>> lives = lives_from_times([1, 2, 3, 4, 5, 6, 7, 8])
    >>> found = permutation_test(lives, list("aaaabbbb"), np.random.default_rng(0))
    >>> found.deals, round(found.p, 6)  # 2 of 70
    (70, 0.028571)
    """
    names, code = codes_of(group, lives.n, "group")
    layers = np.zeros(lives.n, dtype=np.intp) if strata is None else codes_of(strata, lives.n, "stratum")[1]
    shared = None if cluster is None else codes_of(cluster, lives.n, by or "cluster")[1]
    blocks = _blocks(hazard_scores(observed(lives), layers), code, layers, shared)
    counts = [np.bincount(block.group, minlength=len(names)) for block in blocks]
    ways = math.prod(_multinomial(count.tolist()) for count in counts)
    seen = np.sum([np.bincount(block.group, block.scores, len(names)) for block in blocks], axis=0)[None]
    expected, spread = _moments(blocks, counts)
    if not spread.any():
        return PermutationTest(by, 1, True, 1.0, 1.0)
    dealt = _every(blocks, counts) if ways <= MOST_COUNTED else _drawn(blocks, len(names), rng)
    inverse = np.linalg.pinv(spread, rcond=1e-9, hermitian=True)
    apart, found = (np.einsum("ij,jk,ik->i", sums - expected, inverse, sums - expected) for sums in (dealt, seen))
    hits, most = (int(np.sum(apart >= least * (1 - _SAME) - _SAME)) for least in (float(found[0]), float(apart.max())))
    if ways <= MOST_COUNTED:
        return PermutationTest(by, ways, True, hits / ways, most / ways)
    return PermutationTest(by, DRAWS, False, (hits + 1) / (DRAWS + 1), 1 / (DRAWS + 1))


def hazard_scores(seen: Observed, layers: Codes) -> Floats:
    """
    Return each life's failure less the hazard it lived through: added up over a group, observed less expected.

    Parameters
    ----------
    seen : Observed
    layers : array of int, shape = (n,)
        Stratum of each life, from 0.
    """
    scores = seen.failed.astype(np.float64)
    for layer in range(int(layers.max()) + 1):
        rows = np.flatnonzero(layers == layer)
        entry, leave, failed = seen.entry[rows], seen.exit[rows], seen.failed[rows]
        times, died = np.unique(leave[failed], return_counts=True)
        at_risk = still_in(leave, times) - still_in(entry, times)
        hazard = np.concatenate(([0.0], np.cumsum(died / at_risk)))
        until, since = (np.searchsorted(times, bound, side="right") for bound in (leave, entry))
        scores[rows] -= hazard[until] - hazard[since]
    return scores


def _blocks(scores: Floats, code: Codes, layers: Codes, shared: Codes | None) -> list[_Block]:
    if shared is None:
        return [_Block(scores[layers == layer], code[layers == layer]) for layer in range(int(layers.max()) + 1)]
    gathered: dict[Hashable, list[tuple[float, int]]] = {}
    for one in range(int(shared.max()) + 1):
        rows = np.flatnonzero(shared == one)
        within = layers[rows]
        if np.unique(code[rows]).size == 1:
            key = tuple(np.unique(within).tolist())
            gathered.setdefault(key, []).append((float(scores[rows].sum()), int(code[rows[0]])))
            continue
        for row, layer in zip(rows.tolist(), within.tolist(), strict=True):
            gathered.setdefault((one, layer, "within"), []).append((float(scores[row]), int(code[row])))
    return [
        _Block(np.array([score for score, _ in items]), np.array([group for _, group in items], dtype=np.intp))
        for items in gathered.values()
    ]


def _multinomial(counts: list[int]) -> int:
    return math.factorial(sum(counts)) // math.prod(math.factorial(count) for count in counts)


def _moments(blocks: list[_Block], counts: list[NDArray[np.int64]]) -> tuple[Floats, Floats]:
    """Return mean and covariance of the groups' sums over all ways to deal them out."""
    size = counts[0].size
    expected, spread = np.zeros(size), np.zeros((size, size))
    for block, count in zip(blocks, counts, strict=True):
        expected += count * block.scores.mean()
        if block.scores.size > 1:
            spread += block.scores.var(ddof=1) * (np.diag(count) - np.outer(count, count) / block.scores.size)
    return expected, np.where(np.abs(spread) < 1e-12, 0.0, spread)


def _every(blocks: list[_Block], counts: list[NDArray[np.int64]]) -> Floats:
    """Return the groups' sums of scores, shape = (ways, groups), in every way to deal them out."""
    sums = np.zeros((1, counts[0].size))
    for block, count in zip(blocks, counts, strict=True):
        sums = (sums[:, None] + _ways_of(block.scores, count)[None]).reshape(-1, count.size)
    return sums


def _ways_of(scores: Floats, count: NDArray[np.int64]) -> Floats:
    left, sums, groups = count[None], np.zeros((1, count.size)), np.eye(count.size)
    for score in scores:
        open_to = [np.flatnonzero(left[:, group] > 0) for group in range(count.size)]
        sums = np.concatenate([sums[rows] + score * groups[group] for group, rows in enumerate(open_to)])
        left = np.concatenate([left[rows] - groups[group].astype(np.int64) for group, rows in enumerate(open_to)])
    return sums


def _drawn(blocks: list[_Block], size: int, rng: np.random.Generator) -> Floats:
    """Return the groups' sums of scores, shape = (DRAWS, groups), in ways drawn by lot."""
    sums = np.zeros((DRAWS, size))
    for block in blocks:
        step = max(_AT_ONCE // block.group.size, 1)
        for start in range(0, DRAWS, step):
            rows = slice(start, min(start + step, DRAWS))
            dealt = rng.permuted(np.tile(block.group, (rows.stop - start, 1)), axis=1)
            for group in range(size):
                sums[rows, group] += (dealt == group) @ block.scores
    return sums
