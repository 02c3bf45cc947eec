"""One part, several rows: spells of watching that follow one another."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from maintain.core.at_risk import codes_of, refuse_overlaps
from maintain.core.lives import Lives

Places = NDArray[np.intp]


def joined(lives: Lives, part: ArrayLike, alike: NDArray[np.intp]) -> tuple[Lives, Places]:
    """
    Join spells of one part that follow one another without a gap.

    Parameters
    ----------
    lives : Lives
        One row a spell.
    part : array-like, shape = (n,)
        Label of each row's part.
    alike : array of int, shape = (n,)
        Only rows of one number are joined: what is told of them is the same.

    Returns
    -------
    Lives
        From where the first spell of each began to how the last of it ended, in order of first rows.
    array of int
        The row of that last spell.

    Raises
    ------
    InvalidRecord
        If spells of one part overlap, or go on after it failed; names the rows (from 1).

    Examples
    --------
    >>> from maintain.core.lives import lives_from_times
    >>> whole, last = joined(lives_from_times([5, 9, 7], [False, True, True], [0, 5, 0]), list("aab"), np.zeros(3, int))
    >>> whole.lower.tolist(), last.tolist()
    ([9.0, 7.0], [1, 2])
    """
    refuse_overlaps(lives, part)
    code = codes_of(part, lives.n, "part")[1]
    order = np.lexsort((lives.lower, lives.entry, code))
    one, kind, ended = code[order], alike[order], ~lives.failed[order]
    follows = (one[1:] == one[:-1]) & (kind[1:] == kind[:-1]) & ended[:-1]
    follows &= lives.entry[order][1:] == lives.lower[order][:-1]
    starts = np.flatnonzero(np.append(True, ~follows))
    first, last = order[starts], order[np.append(starts[1:], lives.n) - 1]
    rank = np.argsort(np.minimum.reduceat(order, starts), kind="stable")
    first, last = first[rank], last[rank]
    return Lives(lives.entry[first], lives.lower[last], lives.upper[last]), last
