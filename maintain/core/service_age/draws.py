"""Draws from a posterior of service age: from bells that cover it, weighed to be exact."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from maintain.core.lives import Floats
from maintain.core.posterior import Draws
from maintain.core.service_age.ages import Index
from maintain.core.service_age.peak import Peak
from maintain.core.service_age.prior import Layout

_TAIL = 12.0  # degrees of freedom: tails heavier than the posterior's, so that no weight runs away


@dataclass(frozen=True)
class ServiceDraws:
    """
    Joint draws from the posterior of a category.

    Attributes
    ----------
    theta : array, shape = (n_draws, n_parameters)
    layout : Layout
    """

    theta: Floats
    layout: Layout

    @property
    def shape(self) -> Floats:
        """Weibull shape, shape = (n_draws,)."""
        return np.exp(self.theta[:, 1])

    @property
    def worth(self) -> Floats:
        """What a unit of each clock costs in days, shape = (n_draws, n_clocks); the first is 1."""
        ones = np.ones((self.theta.shape[0], 1))
        return np.concatenate([ones, np.exp(self.theta[:, self.layout.worth])], axis=1)

    def groups(self, family: Index, zone: Index, method: Index) -> Draws:
        """Weibull shape, and scale of each group of a family, zone and method: hazard ratios made into scales."""
        nothing = np.zeros((self.theta.shape[0], 1))
        own, of_zone, of_method = (
            np.concatenate([self.theta[:, block], nothing], axis=1)[:, kind]
            for block, kind in ((self.layout.family, family), (self.layout.zone, zone), (self.layout.method, method))
        )
        log_scale = self.theta[:, :1] + own - (of_zone + of_method) / self.shape[:, None]
        return Draws(self.shape, np.exp(log_scale))


@dataclass(frozen=True)
class Bell:
    """
    A Student's t about a peak.

    Attributes
    ----------
    peak : Peak
    root : array, shape = (n_free, n_free)
        A root of its covariance.
    """

    peak: Peak
    root: Floats

    @classmethod
    def around(cls, peak: Peak) -> Bell:
        """Return the bell that fits a peak at its top."""
        return cls(peak, np.linalg.inv(np.linalg.cholesky(peak.curvature)).T)

    def draw(self, rng: np.random.Generator, size: int, tailed: bool = True) -> Floats:
        """Draw points, shape = (size, n_parameters)."""
        off = rng.standard_normal((size, self.root.shape[0]))
        if tailed:
            off *= np.sqrt(_TAIL / rng.chisquare(_TAIL, size=(size, 1)))
        found = np.tile(self.peak.theta, (size, 1))
        found[:, self.peak.free] += off @ self.root.T
        return found

    def log_density(self, theta: Floats) -> Floats:
        """Log density of points, up to a constant that all bells of one layout share."""
        off = (theta - self.peak.theta)[:, self.peak.free] @ np.linalg.inv(self.root).T
        found: Floats = -0.5 * (_TAIL + off.shape[1]) * np.log1p((off**2).sum(axis=1) / _TAIL)
        return np.asarray(found - np.linalg.slogdet(self.root)[1])


def resampled(rng: np.random.Generator, log_weight: Floats, size: int) -> NDArray[np.intp]:
    """
    Draw rows by their weights, the largest of which are cut off.

    References
    ----------
    Ionides (2008), Truncated importance sampling, Journal of Computational and Graphical Statistics 17, 295-311.
    """
    weight = np.exp(log_weight - log_weight.max())
    weight = np.minimum(weight, weight.mean() * np.sqrt(weight.size))
    reached = np.cumsum(weight)
    even = (np.arange(size) + rng.random()) / size * reached[-1]
    return rng.permutation(np.minimum(np.searchsorted(reached, even, side="right"), weight.size - 1))
