"""How much is worth its money, and how much would go stale."""

from __future__ import annotations

import numpy as np

from maintain.core.stock.demand import Demand
from maintain.errors import InvalidRecord

_EVEN = 0.5


def newsvendor(demand: Demand, *, short: float, over: float) -> int:
    """
    Holding at which being one short and having one left over cost the same on average.

    Parameters
    ----------
    demand : Demand
    short, over : float
        What one piece missing and one left over cost; neither negative, not both 0.

    Raises
    ------
    InvalidRecord
        If a cost is negative, or both are 0.

    References
    ----------
    Arrow, Harris and Marschak (1951), Econometrica 19, 250-272.

    Examples
    --------
    >>> from maintain.core.stock.demand import demand_from_counts
    >>> newsvendor(demand_from_counts([3, 4, 5, 9]), short=30, over=10)  # three times in four
    5
    """
    if not (short >= 0 and over >= 0 and short + over > 0):
        raise InvalidRecord("what a missing and a left piece cost cannot be negative, nor both nothing")
    within = np.cumsum(demand.chances) + 1e-12
    return min(int(np.searchsorted(within, short / (short + over))), demand.chances.size - 1)


def shelf_cap(demand: Demand) -> int:
    """
    Most pieces worth having: the last of them is rather used than stale.

    Parameters
    ----------
    demand : Demand
        Over the shelf life.

    Returns
    -------
    int
        At least 1: a family nobody calls for can still be wanted once.

    Examples
    --------
    >>> from maintain.core.stock.demand import demand_from_counts
    >>> shelf_cap(demand_from_counts([4, 5, 5, 6]))
    5
    """
    reached = 1 - np.cumsum(demand.chances) + 1e-12  # chance of more than 0, 1, ... calls
    return max(1, int(np.sum(reached >= _EVEN)))
