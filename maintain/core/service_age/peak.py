"""The mode of a posterior of service age, by Newton's method, and the bell around it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from maintain.core.lives import Bools, Floats
from maintain.core.service_age.ages import Ages
from maintain.core.service_age.likelihood import Slope, log_likelihood, slope
from maintain.core.service_age.prior import Layout

_LEAST_CURVATURE = 1e-8
# A bell is at most twice as wide as the belief: where two clocks go together, the top may be the saddle between two.
_LEAST_SURE = 0.25
_LONGEST_STEP = 3.0
_STEPS, _HALVINGS = 100, 30
_ENOUGH = 1e-7  # a step that lifts the log posterior by less is the last


@dataclass(frozen=True)
class Belief:
    """
    Independent normal beliefs of the parameters.

    Attributes
    ----------
    mean, sd : array, shape = (n_parameters,)
        A spread of 0 is knowledge: the parameter stays at its mean.
    """

    mean: Floats
    sd: Floats

    @property
    def free(self) -> Bools:
        """Tell which parameters are not known."""
        return np.asarray(self.sd > 0)

    def log_density(self, theta: Floats) -> Floats:
        """Log density of points (last axis: parameters), over the free ones."""
        free = self.free
        off = (theta[..., free] - self.mean[free]) / self.sd[free]
        found: Floats = -0.5 * (off**2).sum(axis=-1) - np.log(self.sd[free] * np.sqrt(2 * np.pi)).sum()
        return found

    def knowing(self, place: int, value: float) -> Belief:
        """Return the same with one parameter known."""
        mean, sd = self.mean.copy(), self.sd.copy()
        mean[place], sd[place] = value, 0.0
        return Belief(mean, sd)


@dataclass(frozen=True)
class Problem:
    """What was seen, how the parameters are laid out, and what was believed of them."""

    ages: Ages
    layout: Layout
    belief: Belief

    def height(self, theta: Floats) -> float:
        """Log posterior density at one point, up to a constant."""
        return float(log_likelihood(theta[None, :], self.ages, self.layout)[0] + self.belief.log_density(theta))


@dataclass(frozen=True)
class Peak:
    """
    A mode and the bell around it.

    Attributes
    ----------
    theta : array, shape = (n_parameters,)
    free : array of bool, shape = (n_parameters,)
        False for parameters that are taken as known.
    curvature : array, shape = (n_free, n_free)
        Of the log posterior at the mode, downwards: the inverse of the bell's covariance.
    height : float
        Log posterior density at the mode: log prior density of the free parameters plus log likelihood.
    log_likelihood : float
        At the mode.
    """

    theta: Floats
    free: Bools
    curvature: Floats
    height: float
    log_likelihood: float

    @property
    def log_evidence(self) -> float:
        """Laplace's approximation to the log chance of what was seen."""
        return float(
            self.height + 0.5 * self.free.sum() * np.log(2 * np.pi) - 0.5 * np.linalg.slogdet(self.curvature)[1]
        )


def peak(problem: Problem, start: Floats | None = None) -> Peak:
    """
    Find the mode.

    Newton's method with the exact curvature; where the posterior does not bend down it is taken to bend by as much as
    it bends up, and a step that does not lead up is halved, so it climbs from anywhere.

    Parameters
    ----------
    problem : Problem
    start : array, shape = (n_parameters,), optional
        Default: the middle of the prior.

    References
    ----------
    Nocedal and Wright (2006), Numerical Optimization, 2nd ed., section 3.4; Tierney and Kadane (1986), JASA 81, 82-86.
    """
    belief = problem.belief
    theta = belief.mean.copy() if start is None else np.where(belief.free, start, belief.mean)
    height = problem.height(theta)
    for _ in range(_STEPS):
        now = slope(theta, problem.ages, problem.layout)
        gradient, bend = _bent(now, theta, belief)
        values, vectors = np.linalg.eigh(bend)
        step = vectors @ ((vectors.T @ gradient) / np.maximum(np.abs(values), _LEAST_CURVATURE))
        rise = float(step @ gradient)
        step *= min(1.0, _LONGEST_STEP / max(float(np.abs(step).max()), 1e-300))
        theta, height, climbing = _climb(problem, theta, step, height)
        if rise < _ENOUGH or not climbing:  # Newton's steps square the error: the one just made was the last needed
            break
    least = _LEAST_SURE * float((belief.sd[belief.free] ** -2.0).min())
    bend = (vectors * np.maximum(values, least)) @ vectors.T
    return Peak(theta, belief.free, bend, height, height - float(belief.log_density(theta)))


def _bent(now: Slope, theta: Floats, belief: Belief) -> tuple[Floats, Floats]:
    """Gradient of the log posterior and its curvature downwards, for the free parameters."""
    free, tight = belief.free, belief.sd[belief.free] ** -2.0
    return now.gradient[free] - (theta - belief.mean)[free] * tight, np.diag(tight) - now.hessian[np.ix_(free, free)]


def _climb(problem: Problem, theta: Floats, step: Floats, height: float) -> tuple[Floats, float, bool]:
    for halving in range(_HALVINGS):
        tried = theta.copy()
        tried[problem.belief.free] += step * 0.5**halving
        climbed = problem.height(tried)
        if climbed > height:
            return tried, climbed, True
    return theta, height, False
