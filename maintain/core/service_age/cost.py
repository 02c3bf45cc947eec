"""What a unit of each clock costs a part in days of life, and whether the failures tell or only the prior."""

from __future__ import annotations

from dataclasses import dataclass
from math import erf, log, sqrt

import numpy as np

from maintain.core.lives import Floats
from maintain.core.service_age.prior import Prior

_LEARNT = 0.75  # an interval that keeps more than this of what it would hold with no failures says next to nothing


@dataclass(frozen=True)
class Cost:
    """
    Days of life that one unit of a clock costs.

    Attributes
    ----------
    clock : str
    value, lower, upper : float
        Median and equal-tailed interval, in days.
    told : bool
        False if the interval is about what was believed beforehand: the failures do not tell.
    """

    clock: str
    value: float
    lower: float
    upper: float
    told: bool


def costs(worth: Floats, clocks: tuple[str, ...], prior: Prior, level: float) -> tuple[Cost, ...]:
    """
    Read the costs off draws.

    Parameters
    ----------
    worth : array, shape = (n_draws, n_clocks)
        The first clock is the measure itself and is left out.
    clocks : tuple of str
        Their names.
    prior : Prior
        What was believed of the clocks but the first.
    level : float
        Of the intervals.
    """
    low, middle, high = np.quantile(worth, [(1 - level) / 2, 0.5, (1 + level) / 2], axis=0)
    found = []
    for place, clock in enumerate(clocks[1:], start=1):
        ends = float(low[place]), float(high[place])
        below, above = (_believed_below(end, prior.worth[place - 1], prior.log_worth_sd) for end in ends)
        found.append(Cost(clock, float(middle[place]), *ends, told=above - below < _LEARNT * level))
    return tuple(found)


def _believed_below(cost: float, middle: float, sd: float) -> float:
    return 0.5 * (1 + erf(log(max(cost, 1e-300) / middle) / (sd * sqrt(2))))
