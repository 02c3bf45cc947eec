"""The mode of a posterior of service age, by Newton's method, and the bell around it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from maintain.core.lives import Bools, Floats
from maintain.core.service_age.ages import Ages
from maintain.core.service_age.prior import Layout
from maintain.core.service_age.slope import slope

_LEAST_CURVATURE = 1e-8
# A bell is at most twice as wide as the belief: where two clocks go together, the top may be the saddle between two.
_LEAST_SURE = 0.25
_LONGEST_STEP = 3.0
_STEPS, _HALVINGS = 100, 30
_ENOUGH = 1e-6  # a step that lifts the log posterior by less is the last


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

    @property
    def tight(self) -> Floats:
        """Curvature of the log density of the free parameters."""
        return np.asarray(self.sd[self.free] ** -2.0)

    def log_density(self, theta: Floats) -> Floats:
        """Log density of points (last axis: parameters), over the free ones."""
        free = self.free
        off = (theta[..., free] - self.mean[free]) / self.sd[free]
        found: Floats = -0.5 * (off**2).sum(axis=-1) - np.log(self.sd[free] * np.sqrt(2 * np.pi)).sum()
        return found


@dataclass(frozen=True)
class Problem:
    """What was seen, how the parameters are laid out, and what was believed of them."""

    ages: Ages
    layout: Layout
    belief: Belief

    def hill(self, theta: Floats) -> Hill:
        """Look at the log posterior density at one point."""
        now, free, tight = slope(theta, self.ages, self.layout), self.belief.free, self.belief.tight
        gradient = now.gradient[free] - (theta - self.belief.mean)[free] * tight
        bend = np.diag(tight) - now.hessian[np.ix_(free, free)]
        return Hill(theta, now.value + float(self.belief.log_density(theta)), gradient, bend)


@dataclass(frozen=True)
class Hill:
    """
    A log posterior density at one point, up to a constant, as the free parameters change.

    Attributes
    ----------
    theta : array, shape = (n_parameters,)
    height : float
    gradient : array, shape = (n_free,)
    bend : array, shape = (n_free, n_free)
        Its curvature downwards.
    """

    theta: Floats
    height: float
    gradient: Floats
    bend: Floats


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
    now = problem.hill(belief.mean.copy() if start is None else np.where(belief.free, start, belief.mean))
    for _ in range(_STEPS):
        values, vectors = np.linalg.eigh(now.bend)
        step = vectors @ ((vectors.T @ now.gradient) / np.maximum(np.abs(values), _LEAST_CURVATURE))
        rise = float(step @ now.gradient) / 2
        if rise < _ENOUGH:
            break
        step *= min(1.0, _LONGEST_STEP / max(float(np.abs(step).max()), 1e-300))
        above = _climbed(problem, now, step)
        if above is None:
            break
        now = above
    # the last step squares an error that is small already
    theta = _moved(now.theta, belief, step)
    least = _LEAST_SURE * float(belief.tight.min())
    bend = (vectors * np.maximum(values, least)) @ vectors.T
    height = now.height + rise
    return Peak(theta, belief.free, bend, height, height - float(belief.log_density(theta)))


def _climbed(problem: Problem, now: Hill, step: Floats) -> Hill | None:
    """Higher up along a step; None if it leads nowhere up."""
    for halving in range(_HALVINGS):
        there = problem.hill(_moved(now.theta, problem.belief, step * 0.5**halving))
        if there.height > now.height:
            return there
    return None


def _moved(theta: Floats, belief: Belief, step: Floats) -> Floats:
    found = theta.copy()
    found[belief.free] += step
    return found
