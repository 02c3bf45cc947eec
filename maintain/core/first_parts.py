"""Is a trend of a young fleet anything but its first parts growing old?

Where positions were filled together and most still hold their first part, failures come faster because parts wear,
whatever the mending is worth: the age of a position and the calendar run side by side.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from maintain.core.lives import Bools, Floats

TOGETHER = 0.1  # of the longest watch; common practice, no source


@dataclass(frozen=True)
class FirstParts:
    """
    How far the age of positions and the calendar can be told apart.

    Attributes
    ----------
    n : int
        Positions watched.
    untouched : int
        Those never mended or renewed.
    together : int
        The most that began within a tenth of the longest watch of each other; 0 where it is not known when they began.
    within : float
        The time within which these began.
    """

    n: int
    untouched: int
    together: int
    within: float

    @property
    def mostly_untouched(self) -> bool:
        """True if more than half were never mended: no trend through repairs can be seen apart from wear."""
        return 2 * self.untouched > self.n

    @property
    def mostly_together(self) -> bool:
        """True if more than half of several began together: what the years brought can't be told from their age."""
        return self.n > 1 and 2 * self.together > self.n


def first_parts(untouched: Bools, length: Floats, begun: Floats | None = None) -> FirstParts:
    """
    Count the positions that were never mended, and those that began together.

    Parameters
    ----------
    untouched : array of bool, shape = (n,)
        True if it was never mended or renewed.
    length : array, shape = (n,)
        How long each was watched.
    begun : array, shape = (n,), optional
        When each watch began, on one calendar and in the unit of `length`.

    Examples
    --------
    >>> found = first_parts(np.array([True, True, False]), np.full(3, 900.0), np.array([0.0, 30.0, 400.0]))
    >>> found.mostly_untouched, found.together, found.within
    (True, 2, 30.0)
    """
    together, within = 0, 0.0
    if begun is not None and begun.size:
        order = np.sort(begun)
        last = np.searchsorted(order, order + TOGETHER * float(length.max()), side="right")
        held = last - np.arange(order.size)
        most = int(np.argmax(held))
        together, within = int(held[most]), float(order[last[most] - 1] - order[most])
    return FirstParts(untouched.size, int(untouched.sum()), together, within)
