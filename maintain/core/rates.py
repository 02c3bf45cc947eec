"""Failures that come at a steady rate: parts whose earlier use is unknown, ball hits, damage done by other failures."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from maintain.core.lives import Floats
from maintain.core.posterior import BETWEEN_NODES, between_shares
from maintain.errors import InvalidRecord

JEFFREYS_FAILURES = 0.5  # Jeffreys' prior for a Poisson rate: half a failure in no exposure
BETWEEN_CV = 0.6  # groups of one category differ as much in rate as docs/posterior.md lets them differ in life
MEAN_LOG_SD = 2.0
_ALIKE = 1e6  # a prior worth this many failures: groups with one common rate


@dataclass(frozen=True)
class Rates:
    """
    Posteriors of failures per unit of exposure, one for each group: mixtures of gammas.

    Attributes
    ----------
    weight : array, shape = (n_nodes,)
        Probability of each node of what the groups have in common; a single node where they have nothing.
    failures, exposure : array, shape = (n_nodes, n_groups)
        Shape and rate of the gammas: failures and exposure seen, with the prior's share.
    """

    weight: Floats
    failures: Floats
    exposure: Floats

    @property
    def mean(self) -> Floats:
        """Expected failures per unit of exposure."""
        return self.weight @ (self.failures / self.exposure)

    def interval(self, level: float = 0.8) -> tuple[Floats, Floats]:
        """Equal-tailed interval of each rate that holds it with probability `level`."""
        return self._quantile((1 - level) / 2), self._quantile((1 + level) / 2)

    def draw(self, rng: np.random.Generator, size: int) -> Floats:
        """Draw rates together; shape = (size, n_groups)."""
        node = rng.choice(self.weight.size, size=size, p=self.weight)
        return rng.gamma(self.failures[node], 1 / self.exposure[node])

    def draw_counts(self, rng: np.random.Generator, exposure: ArrayLike, size: int) -> NDArray[np.int64]:
        """Draw the failures in a further `exposure` of each group, the rate's own uncertainty included."""
        return rng.poisson(self.draw(rng, size) * np.asarray(exposure, dtype=np.float64))

    def count_chances(self, exposure: ArrayLike, most: int) -> Floats:
        """
        Chance of 0, 1, ... `most` failures in a further `exposure` of each group.

        A Poisson count whose rate is gamma is negative binomial: wider than a Poisson at the mean rate, so that a
        holding set by it allows for what the record does not tell.

        Returns
        -------
        array, shape = (n_groups, most + 1)

        Examples
        --------
        >>> steady_rates([4], [1000.0]).count_chances([250.0], most=2).round(6).tolist()
        [[0.366357, 0.329722, 0.181347]]
        """
        from scipy.stats import nbinom

        share = self.exposure / (self.exposure + np.asarray(exposure, dtype=np.float64))
        chances = np.asarray(nbinom.pmf(np.arange(most + 1), self.failures[:, :, None], share[:, :, None]))
        mixed: Floats = np.tensordot(self.weight, chances, axes=1)
        return mixed

    def _quantile(self, chance: float) -> Floats:
        from scipy.stats import gamma

        ends = np.asarray(gamma.ppf(chance, self.failures, scale=1 / self.exposure))
        low, high = ends.min(axis=0), ends.max(axis=0)
        for _ in range(50):  # halving, on the log scale, what lies between the nodes' own quantiles
            middle = np.sqrt(low * high)
            below = self.weight @ np.asarray(gamma.cdf(middle, self.failures, scale=1 / self.exposure)) < chance
            low, high = np.where(below, middle, low), np.where(below, high, middle)
        return np.asarray(np.sqrt(low * high))


def steady_rates(failures: ArrayLike, exposure: ArrayLike) -> Rates:
    """
    Rates of groups that have nothing to say about each other, by Jeffreys' prior.

    Parameters
    ----------
    failures : array-like, shape = (n_groups,)
    exposure : array-like, shape = (n_groups,)
        Total use seen, in units of the clock; more than 0.

    Raises
    ------
    InvalidRecord
        If a count or an exposure is negative or missing, or an exposure is 0.

    References
    ----------
    Gelman et al. (2013), Bayesian Data Analysis, 3rd ed., section 2.6.
    """
    count, seen = _checked(failures, exposure)
    if np.any(seen == 0):
        raise InvalidRecord("a rate needs some exposure", hint="pool it with groups that have been used")
    return Rates(np.ones(1), (count + JEFFREYS_FAILURES)[None], seen[None])


def pooled_rates(failures: ArrayLike, exposure: ArrayLike) -> Rates:
    """
    Rates of groups of one category, each leaning on the others as far as they are alike.

    Rates of groups are gamma about a common mean; the mean and the spread are averaged over a grid by what all counts
    say of them, so that an interval allows for not knowing them (plugging in the likeliest would make it too short).

    Parameters
    ----------
    failures, exposure : array-like, shape = (n_groups,)
        As `steady_rates`, but groups without exposure are allowed if any has some.

    Raises
    ------
    InvalidRecord
        As `steady_rates`, if no group has any exposure.

    References
    ----------
    Gelman et al. (2013), Bayesian Data Analysis, 3rd ed., sections 2.6 and 5.3.
    """
    from scipy.stats import nbinom

    count, seen = _checked(failures, exposure)
    if seen.sum() == 0:
        raise InvalidRecord("rates need exposure in some group")
    middle = np.log((count.sum() + JEFFREYS_FAILURES) / seen.sum())
    reach = 6 * min(MEAN_LOG_SD, np.sqrt(1 / (count.sum() + JEFFREYS_FAILURES) + 1 / count.size))
    log_mean = middle + np.linspace(-reach, reach, 41)
    cv = np.maximum(BETWEEN_NODES * BETWEEN_CV, _ALIKE**-0.5)
    strength, mean = (axis.ravel()[:, None] for axis in np.meshgrid(cv**-2, np.exp(log_mean), indexing="ij"))
    log_weight = np.asarray(nbinom.logpmf(count, strength, strength / (strength + mean * seen))).sum(axis=1)
    log_weight -= 0.5 * ((np.log(mean[:, 0]) - middle) / MEAN_LOG_SD) ** 2
    log_weight += np.repeat(np.log(between_shares()), log_mean.size)
    weight = np.exp(log_weight - log_weight.max())
    kept = weight > 1e-9
    strength, mean = strength[kept], mean[kept]
    return Rates(weight[kept] / weight[kept].sum(), strength + count, strength / mean + seen)


def _checked(failures: ArrayLike, exposure: ArrayLike) -> tuple[Floats, Floats]:
    count, seen = np.asarray(failures, dtype=np.float64), np.asarray(exposure, dtype=np.float64)
    if count.shape != seen.shape or count.ndim != 1 or not np.all((count >= 0) & (seen >= 0) & np.isfinite(seen)):
        raise InvalidRecord("failures and exposure need columns of one length, none negative or missing")
    if np.any((count > 0) & (seen == 0)):
        raise InvalidRecord("failures without exposure have no rate")
    return count, seen
