"""How often the part judged more at risk was the first to fail: Harrell's C with late entry and strata."""

from __future__ import annotations

import numpy as np

from maintain.core.at_risk import Codes, Observed
from maintain.core.lives import Floats


def concordance(seen: Observed, risk: Floats, strata: Codes | None = None) -> float | None:
    """
    Return the share of comparable pairs in which the higher risk failed first; ties in risk count half.

    A pair is comparable if one failed while the other was under observation and outlived it.

    Parameters
    ----------
    seen : Observed
    risk : array, shape = (n,)
        Higher means expected to fail sooner.
    strata : array of int, shape = (n,), optional
        Pairs are formed within strata only.

    Returns
    -------
    float or None
        None if no pair is comparable.

    References
    ----------
    Harrell et al. (1982), J. Am. Med. Assoc. 247, 2543-2546; late entry as in Therneau and Watson (2015), Mayo
    Clinic technical report 85.

    Examples
    --------
    >>> seen = Observed(np.zeros(3), np.array([1.0, 2.0, 3.0]), np.array([True, True, False]))
    >>> concordance(seen, np.array([3.0, 1.0, 2.0]))
    0.6666666666666666
    """
    layers = np.zeros(risk.size, dtype=np.intp) if strata is None else strata
    won = drawn = pairs = 0.0
    for layer in np.unique(layers):
        rows = np.flatnonzero(layers == layer)
        part = _count(Observed(seen.entry[rows], seen.exit[rows], seen.failed[rows]), risk[rows])
        won, drawn, pairs = won + part[0], drawn + part[1], pairs + part[2]
    return (won + drawn / 2) / pairs if pairs else None


def _count(seen: Observed, risk: Floats) -> tuple[float, float, float]:
    """Return pairs won, drawn and comparable."""
    # Of lives ending at one time, censored ones outlive failed ones.
    moment = np.unique(np.concatenate((seen.exit, seen.entry)), return_inverse=True)[1]
    end, begin = 2 * moment[: risk.size] + ~seen.failed, 2 * moment[risk.size :] + 1
    level = np.unique(risk, return_inverse=True)[1].astype(np.int64)
    dead = np.flatnonzero(seen.failed)
    outlived = _beyond(end, level, end[dead] + 1, level[dead])
    if seen.entry.any():
        # Those that came later than this failure are among the outliving, but were never at risk with it.
        outlived = outlived - _beyond(begin, level, end[dead] + 1, level[dead])
    below, equal, above = outlived.sum(axis=1)
    return float(below), float(equal), float(below + equal + above)


def _beyond(keys: Codes, level: Codes, wanted: Codes, limit: Codes) -> np.ndarray:
    """
    Count, for each query, points with key >= wanted whose level is below, at and above the limit.

    Points in order of key are cut into blocks of 1, 2, 4...; a query needs at most one block of each size, and in a
    block sorted by level two binary searches. So n log^2 n instead of n^2.
    """
    order = np.argsort(keys, kind="stable")
    level, n = level[order], keys.size
    start = np.searchsorted(keys[order], wanted, side="left")
    span = int(level.max(initial=0)) + 2
    below, upto = np.zeros(start.size, dtype=np.int64), np.zeros(start.size, dtype=np.int64)
    position = np.arange(n)
    size = 1
    at = start.astype(np.int64)
    while size < 2 * n:
        use = (at & size) > 0
        if use.any():
            use &= at < n
            block = at[use] // size
            table = np.sort((position // size) * span + level)
            first = np.searchsorted(table, block * span, side="left")
            below[use] += np.searchsorted(table, block * span + limit[use], side="left") - first
            upto[use] += np.searchsorted(table, block * span + limit[use] + 1, side="left") - first
            at[use] += size
        size *= 2
    return np.array([below, upto - below, (n - start) - upto])
