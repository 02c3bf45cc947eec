"""When to renew a working part: the age at which renewing costs least, and how often to test what fails in silence."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike

from maintain.core.lives import Floats
from maintain.errors import InvalidRecord

Policy = Literal["renew at an age", "never on age", "can't tell yet"]

SURE = 0.9  # chances in favour that are asked for before saying which way
_FARTHEST = 700.0  # log of the cumulative hazard beyond which no age is ever reached
_AGES = 24  # at which the expected cost is looked at before the least is sought
_PARABOLAS = 4  # then laid through the least and its neighbours
_OLDEST = 4.0  # log of an age, in scales, that no part is kept to: beyond it renewing is running to failure


@dataclass(frozen=True)
class Optimum:
    """
    The best ages of Weibull lives, one for each shape and scale.

    Attributes
    ----------
    age : array
        In units of the scale; inf where renewing by age never pays.
    cost_rate, run_to_failure_rate : array
        Cost per unit of use, renewing at that age and renewing only what failed.
    """

    age: Floats
    cost_rate: Floats
    run_to_failure_rate: Floats


def cost_rate(age: ArrayLike, shape: ArrayLike, scale: ArrayLike, cost_renewal: float, cost_failure: float) -> Floats:
    """
    Cost per unit of use in the long run, if a part is renewed at an age or when it fails, whichever comes first.

    Parameters
    ----------
    age : array-like
        More than 0; inf: renewed only when it fails.
    shape, scale : array-like
        Of the Weibull life; all broadcast.
    cost_renewal, cost_failure : float
        Of renewing a part that works, and of one that failed in use (the new part included).

    References
    ----------
    Barlow and Proschan (1965), Mathematical Theory of Reliability, chapter 4 (from memory).

    Examples
    --------
    >>> float(cost_rate(45.0083, 2.5, 100.0, 10.0, 60.0).round(6))
    0.377441
    """
    power, unit = np.asarray(shape, dtype=np.float64), np.asarray(scale, dtype=np.float64)
    log_hazard = power * (np.log(np.asarray(age, dtype=np.float64)) - np.log(unit))
    hazard = np.exp(np.minimum(log_hazard, _FARTHEST))
    fails = -np.expm1(-hazard)
    return np.asarray((cost_renewal + (cost_failure - cost_renewal) * fails) / (unit * _mean_use(hazard, power)))


def best_age(shape: ArrayLike, scale: ArrayLike, cost_renewal: float, cost_failure: float) -> Optimum:
    """
    Find the age at which renewing costs least per unit of use.

    At the best age T: h(T) * (mean use up to T) - F(T) = renewal / (failure - renewal). There is none where the hazard
    does not rise (shape 1 or less) or a failure costs no more than a renewal.

    Parameters
    ----------
    shape, scale : array-like
        Broadcast.
    cost_renewal, cost_failure : float
        As in `cost_rate`.

    Raises
    ------
    InvalidRecord
        If shapes, scales or the cost of a renewal are not above 0.

    References
    ----------
    Barlow and Proschan (1965), Mathematical Theory of Reliability, chapter 4 (from memory).

    Examples
    --------
    >>> found = best_age([2.5, 1.0], 100.0, cost_renewal=10.0, cost_failure=60.0)
    >>> found.age.round(4).tolist(), (1 - found.cost_rate / found.run_to_failure_rate).round(4).tolist()
    ([45.0083, inf], [0.4419, 0.0])
    """
    power, unit = np.broadcast_arrays(np.asarray(shape, dtype=np.float64), np.asarray(scale, dtype=np.float64))
    if not (np.all(power > 0) and np.all(unit > 0) and cost_renewal > 0 and cost_failure >= 0):
        raise InvalidRecord("shapes, scales and the cost of a renewal must be above 0")
    failing = cost_rate(np.inf, power, unit, cost_renewal, cost_failure)
    log_hazard = np.full(power.shape, np.inf)
    rises = power > 1
    if cost_failure > cost_renewal and rises.any():
        log_hazard[rises] = _solve(power[rises], cost_renewal / (cost_failure - cost_renewal))
    log_hazard[log_hazard >= _FARTHEST] = np.inf
    age = np.exp(np.log(unit) + log_hazard / power)
    rate = np.where(
        np.isinf(age), failing, cost_rate(np.where(np.isinf(age), unit, age), power, unit, cost_renewal, cost_failure)
    )
    return Optimum(age, rate, failing)


def _solve(shape: Floats, wanted: float) -> Floats:
    """Log of the cumulative hazard at the best age, by Newton's steps kept between two ends that close in."""
    low, high = np.full(shape.shape, -_FARTHEST), np.full(shape.shape, _FARTHEST)
    # while few have failed the condition is (shape - 1) * hazard = wanted
    here = np.clip(np.log(wanted) - np.log(shape - 1), -_FARTHEST, _FARTHEST)
    left = np.arange(shape.size)
    for _ in range(80):
        power, at = shape[left], here[left]
        rising = power * np.exp(at * (1 - 1 / power)) * _mean_use(np.exp(at), power)
        excess = rising + np.expm1(-np.exp(at)) - wanted
        low[left], high[left] = np.where(excess < 0, at, low[left]), np.where(excess < 0, high[left], at)
        step = excess / np.maximum((1 - 1 / power) * rising, 1e-300)
        moving = np.abs(step) >= 1e-13
        left, at, step = left[moving], at[moving], step[moving]
        if not left.size:
            break
        inside = (at - step > low[left]) & (at - step < high[left])
        here[left] = np.where(inside, at - step, (low[left] + high[left]) / 2)
    return np.asarray(here)


def _mean_use(hazard: Floats, shape: Floats) -> Floats:
    """Mean use until failure or renewal, in units of the scale, if parts are renewed at this cumulative hazard."""
    from scipy.special import gamma, gammainc

    return np.asarray(gamma(1 + 1 / shape) * gammainc(1 / shape, hazard))


@dataclass(frozen=True)
class Advice:
    """
    What a posterior says of renewing by age; intervals are equal-tailed, over its draws.

    Attributes
    ----------
    policy : str
        "renew at an age" or "never on age" if the chances are at least SURE that it is the cheaper way.
    age : float
        The one age with the least expected cost; inf if no age costs less than running to failure.
    age_interval : tuple of float
        Of the best age, if shape and scale were known; ends may be inf.
    cost_rate, run_to_failure_rate : float
        Expected, per unit of use.
    saving : float
        Expected saving per unit of use at `age`; 0 if that is inf.
    saving_interval : tuple of float
    worthwhile : float
        Chance that renewing at `age` is cheaper than running to failure.
    rising : float
        Chance that the hazard rises with age.
    """

    policy: Policy
    age: float
    age_interval: tuple[float, float]
    cost_rate: float
    run_to_failure_rate: float
    saving: float
    saving_interval: tuple[float, float]
    worthwhile: float
    rising: float


def advise(shape: Floats, scale: Floats, cost_renewal: float, cost_failure: float, level: float = 0.8) -> Advice:
    """
    Advise on renewing by age from draws of a posterior.

    One age must be chosen whatever the truth, so it is that with the least expected cost over the draws, not the best
    age of a mean life; what it saves is then told draw by draw.

    Parameters
    ----------
    shape, scale : array, shape = (n_draws,)
    cost_renewal, cost_failure : float
        As in `cost_rate`.
    level : float
        Of the intervals.

    References
    ----------
    Barlow and Proschan (1965), chapter 4, for each draw; Berger (1985), Statistical Decision Theory and Bayesian
    Analysis, section 1.3, on expected cost over what is not known (both from memory).
    """
    each = best_age(shape, scale, cost_renewal, cost_failure)
    failing = float(each.run_to_failure_rate.mean())
    age = _cheapest(shape, scale, each.age, cost_renewal, cost_failure)
    at_age = each.run_to_failure_rate if np.isinf(age) else cost_rate(age, shape, scale, cost_renewal, cost_failure)
    saved = each.run_to_failure_rate - at_age
    tails = [(1 - level) / 2, (1 + level) / 2]
    low, high = np.quantile(each.age, tails, method="inverted_cdf").tolist()
    rising, worthwhile = float(np.mean(shape > 1)), float(np.mean(saved > 0))
    return Advice(
        policy=_policy(cost_failure > cost_renewal, rising, worthwhile),
        age=age,
        age_interval=(low, high),
        cost_rate=float(at_age.mean()),
        run_to_failure_rate=failing,
        saving=float(saved.mean()),
        saving_interval=tuple(np.quantile(saved, tails).tolist()),
        worthwhile=worthwhile,
        rising=rising,
    )


def _policy(failing_costs_more: bool, rising: float, worthwhile: float) -> Policy:
    if not failing_costs_more or rising <= 1 - SURE:
        return "never on age"
    return "renew at an age" if worthwhile >= SURE else "can't tell yet"


def _cheapest(shape: Floats, scale: Floats, best: Floats, cost_renewal: float, cost_failure: float) -> float:
    """The age with the least expected cost over all draws, inf if none is cheaper than running to failure."""

    def expected(log_age: float) -> float:
        return float(cost_rate(np.exp(log_age), shape, scale, cost_renewal, cost_failure).mean())

    finite = np.log(best[np.isfinite(best)])
    if not finite.size:
        return np.inf
    oldest = max(float(np.log(scale).mean()) + _OLDEST, float(finite.min()))
    ages = np.linspace(float(finite.min()), min(float(finite.max()), oldest), _AGES)  # it lies between the draws' own
    costs = [expected(age) for age in ages.tolist()]
    age, cost = _lowest(expected, float(ages[int(np.argmin(costs))]), float(ages[1] - ages[0]))
    never = float(cost_rate(np.inf, shape, scale, cost_renewal, cost_failure).mean())
    return float(np.exp(age)) if cost < never else np.inf


def _lowest(of: Callable[[float], float], here: float, step: float) -> tuple[float, float]:
    """Where a function is least near a point, and how low, from parabolas through three points ever closer."""
    least = of(here)
    for _ in range(_PARABOLAS if step > 0 else 0):
        below, above = of(here - step), of(here + step)
        bend = below - 2 * least + above
        if bend <= 0:
            break
        new = here + step * float(np.clip((below - above) / (2 * bend), -1, 1))
        cost = of(new)
        if cost < least:
            here, least = new, cost
        step /= 8
    return here, least


def failure_finding_interval(failure_rate: ArrayLike, demand_rate: float, tolerated_rate: float) -> Floats:
    """
    Longest interval between tests of a function that fails in silence, for as many calls in vain as are tolerated.

    Tested every T it is dead for a share 1 - (1 - exp(-x)) / x of the time, x = failure_rate * T; this share is found
    dead of all calls. For small shares T is nearly 2 * tolerated / (failure_rate * demand_rate).

    Parameters
    ----------
    failure_rate : array-like
        Of the hidden function, per unit of time; steady.
    demand_rate, tolerated_rate : float
        Calls on it, and calls on it in vain that are put up with, per unit of time.

    Returns
    -------
    array
        inf where even an untested one would do: calls are no oftener than is tolerated.

    References
    ----------
    Moubray (1997), Reliability-centred Maintenance, 2nd ed., chapter 8, for the closed form of small shares; the exact
    share: Barlow and Proschan (1965), section 4.5 (both from memory).

    Examples
    --------
    >>> float(failure_finding_interval(0.001, demand_rate=0.1, tolerated_rate=0.001).round(2))  # closed form: 20
    20.13
    """
    rate = np.asarray(failure_rate, dtype=np.float64)
    if not (np.all(rate >= 0) and demand_rate >= 0 and tolerated_rate > 0):
        raise InvalidRecord("rates must not be negative, and something must be tolerated")
    if tolerated_rate >= demand_rate:
        return np.full(rate.shape, np.inf)
    share = tolerated_rate / demand_rate
    x = 2 * share
    for _ in range(200):  # from below: the share dead rises and bends down, so Newton's steps never overshoot
        step = (share - 1 - np.expm1(-x) / x) / ((-np.expm1(-x) / x - np.exp(-x)) / x)
        x += step
        if abs(step) < 1e-12 * x:
            break
    with np.errstate(divide="ignore"):
        return np.asarray(x / rate)
