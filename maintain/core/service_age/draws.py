"""Draws from a posterior of service age: from bells that cover it, weighed to be exact."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from maintain.core.lives import Floats
from maintain.core.posterior import Draws
from maintain.core.service_age.ages import Index
from maintain.core.service_age.likelihood import padded
from maintain.core.service_age.peak import Peak
from maintain.core.service_age.prior import Layout

_LOOKED = np.array([1.0, 2.0, 3.0])  # how far down the slopes of a peak, in its standard deviations
_WIDEST = (0.7, 3.0)  # so many times as wide, at the least and the most, as it is at the top
_TAIL = 10.0  # degrees of freedom: tails heavier than the posterior's, so that no weight runs away


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
        """Weibull shape of the category, shape = (n_draws,)."""
        return np.exp(self.theta[:, 1])

    @property
    def longest(self) -> Floats:
        """Days that parts may have served before first sight, shape = (n_draws,)."""
        return np.exp(self.theta[:, self.layout.longest])

    @property
    def worth(self) -> Floats:
        """What a unit of each clock costs in days, shape = (n_draws, n_clocks); the first is 1."""
        ones = np.ones((self.theta.shape[0], 1))
        return np.concatenate([ones, np.exp(self.theta[:, self.layout.worth])], axis=1)

    def groups(self, family: Index, zone: Index, method: Index) -> Draws:
        """Weibull shape and scale of each group of a family, zone and method: hazard ratios made into scales."""
        at = self.layout
        own, of_zone, of_method, bent = (
            padded(self.theta[:, block])[:, kind]
            for block, kind in ((at.family, family), (at.zone, zone), (at.method, method), (at.family_shape, family))
        )
        shape = np.exp(self.theta[:, 1:2] + bent) if at.families else self.shape[:, None]
        log_scale = self.theta[:, :1] + own - (of_zone + of_method) / shape
        return Draws(shape if at.families else self.shape, np.exp(log_scale))


@dataclass(frozen=True)
class Bell:
    """
    A Student's t about a peak, along each of its axes as wide to either side as the peak is there.

    Attributes
    ----------
    peak : Peak
    root : array, shape = (n_free, n_free)
        A root of its covariance: its axes are the columns.
    above, below : array, shape = (n_free,)
        How many times as wide it is to either side of each axis.

    References
    ----------
    Geweke (1989), Bayesian inference in econometric models using Monte Carlo integration, Econometrica 57, 1317-1339.
    """

    peak: Peak
    root: Floats
    above: Floats
    below: Floats

    @classmethod
    def around(cls, peak: Peak, height: Callable[[Floats], Floats] | None = None) -> Bell:
        """Return the bell that fits a peak at its top and, if its height elsewhere is known, on its slopes."""
        values, vectors = np.linalg.eigh(peak.curvature)
        root = vectors / np.sqrt(values)
        alike = np.ones(values.size)
        if height is None:
            return cls(peak, root, alike, alike)
        tried = np.tile(peak.theta, (2, _LOOKED.size, values.size, 1))
        step = _LOOKED[:, None, None] * root.T
        tried[0][..., peak.free] += step
        tried[1][..., peak.free] -= step
        fallen = peak.height - height(tried.reshape(-1, peak.theta.size)).reshape(tried.shape[:-1])
        wide = _LOOKED[:, None] / np.sqrt(2 * np.maximum(fallen, 1e-6))
        above, below = np.clip(wide.max(axis=1), *_WIDEST)
        return cls(peak, root, above, below)

    def draw(self, rng: np.random.Generator, size: int, tailed: bool = True) -> Floats:
        """Draw points, shape = (size, n_parameters)."""
        off = rng.standard_normal((size, self.root.shape[0]))
        off *= np.where(off > 0, self.above, self.below)
        if tailed:
            off *= np.sqrt(_TAIL / rng.chisquare(_TAIL, size=(size, 1)))
        found = np.tile(self.peak.theta, (size, 1))
        found[:, self.peak.free] += off @ self.root.T
        return found

    def log_density(self, theta: Floats) -> Floats:
        """Log density of points, up to a constant that all bells of one layout share."""
        off = (theta - self.peak.theta)[:, self.peak.free] @ np.linalg.inv(self.root).T
        wide = np.where(off > 0, self.above, self.below)
        off /= wide
        found: Floats = -0.5 * (_TAIL + off.shape[1]) * np.log1p((off**2).sum(axis=1) / _TAIL)
        return np.asarray(found - np.log(wide).sum(axis=1) - np.linalg.slogdet(self.root)[1])


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
