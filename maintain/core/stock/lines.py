"""How much is worth its money, how much would go stale, and the demand of another stretch of time."""

from __future__ import annotations

import numpy as np

from maintain.core.stock.demand import Demand, poisson_demand
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
    >>> newsvendor(poisson_demand(4.0), short=30, over=10)
    5
    """
    if not (short >= 0 and over >= 0 and short + over > 0):
        raise InvalidRecord("what a missing and a left piece cost cannot be negative, nor both nothing")
    within = np.cumsum(demand.chances) + 1e-12
    return min(int(np.searchsorted(within, short / (short + over))), demand.chances.size - 1)


def mismatch_cost(demand: Demand, holding: int, *, short: float, over: float) -> float:
    """Expected cost of pieces missing and left over."""
    missing = demand.expected_shortages(holding)
    return short * missing + over * (holding - demand.mean + missing)


def paced(demand: Demand, factor: float) -> Demand:
    """
    The same demand over another stretch of time: `factor` times as much is to be expected.

    What is not known and what comes in lumps is taken to scale the whole rate (gamma distributed), what is chance alone
    is Poisson: the count is negative binomial with the mean m f and the variance m f + (v - m) f².

    Parameters
    ----------
    demand : Demand
        With mean m and variance v; if v <= m the count is Poisson.
    factor : float
        f, not negative.

    Raises
    ------
    InvalidRecord
        If the factor is negative or missing.
    """
    from scipy.stats import nbinom

    if not (factor >= 0 and np.isfinite(factor)):
        raise InvalidRecord(f"time cannot go on by a factor of {factor}")
    mean, extra = demand.mean * factor, (demand.variance - demand.mean) * factor**2
    if extra <= 1e-9 * max(mean, 1e-9):
        return poisson_demand(mean)
    size = mean**2 / extra
    most = int(mean + 12 * np.sqrt(mean + extra) + 21)
    chances = np.asarray(nbinom.pmf(np.arange(most), size, size / (size + mean)))
    return Demand(chances / chances.sum())


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
    >>> shelf_cap(poisson_demand(5.0))
    5
    """
    reached = 1 - np.cumsum(demand.chances) + 1e-12  # chance of more than 0, 1, ... calls
    return max(1, int(np.sum(reached >= _EVEN)))
