"""One likelihood for all lives: exact, right-censored, known to an interval, and truncated on the left.

With cumulative hazard H and hazard h, a life that entered at E contributes
H(E) - H(t) + log h(t) if it failed at t, H(E) - H(L) if it was last seen working at L, and
H(E) - H(L) + log(1 - exp(-(H(U) - H(L)))) if it failed in (L, U]. All derivatives are written out.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from maintain.core.lives import Floats, Lives
from maintain.core.models import LEAST_Z, Derivatives, Model

LEAST_GAIN, MOST_GAIN = 1e-120, 690.0  # of the cumulative hazard over an interval: its square must stay a float
_AT_ONCE = 2**13  # lives worked on together: they stay in the cache, and no sum is worth waking other processors for


@dataclass(frozen=True)
class Value:
    """A log-likelihood with its gradient and Hessian by the free ones of (mu, log sigma)."""

    value: float
    gradient: Floats
    hessian: Floats


@dataclass(frozen=True)
class LogLives:
    """
    Lives as the likelihood wants them: logs of times in units of exp(`unit`), so that no unit is too large or small.

    Attributes
    ----------
    unit : float
    exact : array
        Exact failures.
    worked : array
        The last time each life was known to work (the failure itself if exact); those that are 0 are left out.
    entered : array
        Entries above 0.
    after, until : array
        Ends of failure intervals; `after` may be -inf.
    """

    unit: float
    exact: Floats
    worked: Floats
    entered: Floats
    after: Floats
    until: Floats

    def thinned(self, step: int) -> LogLives:
        """Return every so manieth of each: where a climb with very many lives may begin."""
        return LogLives(
            self.unit, *(getattr(self, name)[::step] for name in ("exact", "worked", "entered", "after", "until"))
        )


def log_lives(lives: Lives) -> LogLives:
    """Take logs of `lives` about their middle."""
    failed = lives.failed
    exact = failed & (lives.lower == lives.upper)
    between = failed & ~exact
    worked = np.maximum(lives.lower, lives.entry)
    unit = float(np.mean(np.log(np.where(failed, lives.upper, lives.lower))))

    def logs(times: Floats) -> Floats:
        return np.log(times[times > 0]) - unit

    with np.errstate(divide="ignore"):
        after = np.log(worked[between]) - unit
    return LogLives(unit, logs(lives.lower[exact]), logs(worked), logs(lives.entry), after, logs(lives.upper[between]))


def weibull_mu(data: LogLives, sigma: float) -> float:
    """Return the mu of the Weibull that fits best with this sigma, intervals taken at their ends: a place to start."""
    exits = np.concatenate((data.worked, data.until[~np.isfinite(data.after)])) / sigma
    top = float(exits.max())
    use = float(np.exp(exits - top).sum() - np.exp(data.entered / sigma - top).sum())
    return sigma * (top + float(np.log(max(use, 1e-6) / (data.exact.size + data.until.size))))


def log_likelihood(model: Model, data: LogLives, theta: Floats) -> Value:
    """
    Return the log-likelihood of a model, in the lives' own unit of time.

    Parameters
    ----------
    model : Model
    data : LogLives
    theta : array, shape = (2,)
        mu (in the unit of `data`) and log sigma.
    """
    mu, log_sigma = float(theta[0]), float(theta[1])
    sigma = float(np.exp(log_sigma))
    total = _Sum(sigma)
    for logs, sign in ((data.worked, -1.0), (data.entered, 1.0)):
        for z in _standard(logs, mu, sigma):
            total.add(model.cumulative_hazard(z), z, sign)
    for z in _standard(data.exact, mu, sigma):
        total.add(model.log_hazard(z), z, 1.0)
    total.value -= float(data.exact.sum()) + data.exact.size * (log_sigma + data.unit)
    total.gradient[1] -= data.exact.size
    for low, high in zip(_standard(data.after, mu, sigma), _standard(data.until, mu, sigma), strict=True):
        total.add_intervals(model, low, high)
    free = model.free
    return Value(total.value, total.gradient[:free], total.hessian[:free, :free])


class _Sum:
    """Sums of terms in z = (log t - mu) / sigma, turned into derivatives by mu and log sigma."""

    def __init__(self, sigma: float) -> None:
        self.sigma = sigma
        self.value = 0.0
        self.gradient = np.zeros(2)
        self.hessian = np.zeros((2, 2))

    def add(self, terms: Derivatives, z: Floats, sign: float) -> None:
        value, first, second = terms
        slope, lean = float(first.sum()), float(first @ z)
        bend = second * z
        cross = (float(bend.sum()) + slope) / self.sigma
        self.value += sign * float(value.sum())
        self.gradient += sign * np.array([-slope / self.sigma, -lean])
        self.hessian += sign * np.array([[float(second.sum()) / self.sigma**2, cross], [cross, float(bend @ z) + lean]])

    def add_intervals(self, model: Model, low: Floats, high: Floats) -> None:
        """Add log(1 - exp(-gain)), gain the cumulative hazard between z = low and z = high, row by row."""
        gain, by_theta, by_theta_twice = hazard_gain(model, low, high, self.sigma)
        gain = np.clip(gain, LEAST_GAIN, MOST_GAIN)
        pull = 1 / np.expm1(gain)
        self.value += float(np.sum(np.log(-np.expm1(-gain))))
        self.gradient += by_theta @ pull
        self.hessian -= (by_theta * (pull * (1 + pull))) @ by_theta.T
        self.hessian += by_theta_twice @ pull


def hazard_gain(
    model: Model, low: Floats, high: Floats, sigma: float | Floats
) -> tuple[Floats, Floats, NDArray[np.float64]]:
    """
    Return the cumulative hazard gained between two z, with its derivatives by mu and log sigma.

    Parameters
    ----------
    model : Model
    low, high : array, shape = (n,)
    sigma : float or array, broadcast against them

    Returns
    -------
    gain, shape = (n,); first derivatives, shape = (2, n); second derivatives, shape = (2, 2, n)
    """
    (value_low, first_low, second_low) = model.cumulative_hazard(low)
    (value, first, second) = model.cumulative_hazard(high)
    slope, lean = first - first_low, first * high - first_low * low
    cross = (second * high - second_low * low + slope) / sigma
    bend = second * high**2 - second_low * low**2 + lean
    by_theta = np.array([-slope / sigma, -lean])
    return value - value_low, by_theta, np.array([[(second - second_low) / sigma**2, cross], [cross, bend]])


def _standard(logs: Floats, mu: float, sigma: float) -> Iterator[Floats]:
    for start in range(0, logs.size, _AT_ONCE):
        z = logs[start : start + _AT_ONCE] - mu
        z /= sigma
        yield np.maximum(z, LEAST_Z, out=z)
