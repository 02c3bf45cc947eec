"""The posterior of a category's service age: what a sinking costs, and how long each group lasts."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from maintain.core.lives import Floats
from maintain.core.service_age.ages import Ages
from maintain.core.service_age.draws import Bell, ServiceDraws, resampled
from maintain.core.service_age.likelihood import log_likelihood
from maintain.core.service_age.peak import Belief, Peak, Problem, peak
from maintain.core.service_age.prior import BETWEEN_NODES, Layout, Prior, between_shares

_WEIGHED = 10_000  # lives; with more than that the bell is as good as exact
_SLIGHT = 0.002  # a node that gets less of the weight is not drawn from
_TRIED = 1.5  # points drawn from bells for each draw wanted
_MANY = 20_000  # lives, from which on the way up is found on a sample of them


@dataclass(frozen=True)
class ServiceAge:
    """
    Posterior of a category's service age.

    Attributes
    ----------
    layout : Layout
    prior : Prior
    between : array, shape = (n_nodes,)
        Standard deviations between families looked at.
    weights : array, shape = (n_nodes,)
        Probability of each, by Laplace's approximation.
    peaks : tuple of Peak
        One for each.
    ages : Ages
    """

    layout: Layout
    prior: Prior
    between: Floats
    weights: Floats
    peaks: tuple[Peak, ...]
    ages: Ages

    @property
    def best(self) -> Peak:
        """The likeliest peak."""
        return self.peaks[int(np.argmax(self.weights))]

    def sample(self, rng: np.random.Generator, size: int) -> ServiceDraws:
        """
        Draw from the posterior, whatever the spread between families.

        Points are drawn from bells that cover it, weighed by posterior over bells, and `size` of them drawn by their
        weights. With very many lives the bells are as good as exact and are drawn from as they are.
        """
        exact = self.ages.n > _WEIGHED
        nodes = np.flatnonzero(self.weights > _SLIGHT)
        reached = np.cumsum(self.weights[nodes]) / self.weights[nodes].sum() * size * (1.0 if exact else _TRIED)
        counts = np.diff(np.round(reached).astype(int), prepend=0).tolist()
        if exact:
            drawn = [Bell.around(self.peaks[k]).draw(rng, n, False) for k, n in zip(nodes, counts, strict=True)]
            return ServiceDraws(rng.permutation(np.concatenate(drawn)), self.layout)
        bells = [Bell.around(self.peaks[k], self._height(k)) for k in nodes.tolist()]
        theta = np.concatenate([bell.draw(rng, n) for bell, n in zip(bells, counts, strict=True)])
        each = np.stack([bell.log_density(theta) for bell in bells])
        log_bells = np.logaddexp.reduce(each + np.log(counts)[:, None], axis=0)
        log_posterior = log_likelihood(theta, self.ages, self.layout) + self._log_prior(theta)
        return ServiceDraws(theta[resampled(rng, log_posterior - log_bells, size)], self.layout)

    def _height(self, node: int) -> Callable[[Floats], Floats]:
        """Log posterior density at points, for one spread between families."""
        belief = self._belief(node)
        return lambda theta: log_likelihood(theta, self.ages, self.layout) + belief.log_density(theta)

    def _log_prior(self, theta: Floats) -> Floats:
        """Log density of what was believed, whatever the spread between families."""
        each = [self._belief(k).log_density(theta) + np.log(share) for k, share in enumerate(self._node_shares)]
        found: Floats = np.logaddexp.reduce(each, axis=0)
        return found

    @property
    def _node_shares(self) -> list[float]:
        """Prior probability of each spread."""
        return between_shares().tolist() if self.between.size > 1 else [1.0]

    def _belief(self, node: int) -> Belief:
        prior = self.prior
        return Belief(prior.mean(self.layout), prior.sd(self.layout, float(self.between[node])))


def service_age(ages: Ages, layout: Layout, prior: Prior | None = None) -> ServiceAge:
    """
    Learn a category's service age.

    Parameters
    ----------
    ages : Ages
        On as many clocks as the layout has; kinds numbered as the layout has room for.
    layout : Layout
    prior : Prior, optional

    Raises
    ------
    InvalidRecord
        If the ages cannot be.

    Examples
    --------
    >>> from maintain.core.service_age.ages import Kinds
    >>> seen = np.array([[400.0, 3], [380, 0], [500, 4], [700, 1], [120, 2], [650, 0]])
    >>> failed = np.array([True, False, True, False, True, False])
    >>> alive = np.where(failed[:, None], seen - [5, 1], seen)
    >>> found = service_age(Ages(np.zeros((6, 2)), alive, seen, failed, Kinds.alike(6)), Layout(2), Prior(worth=(20,)))
    >>> drawn = found.sample(np.random.default_rng(1), 4000)
    >>> bool(5 < np.median(drawn.worth[:, 1]) < 500)
    True
    """
    belief = prior or Prior()
    ages.checked()
    mean = belief.mean(layout)
    alone = layout.families == 0
    between = np.array([belief.between_sd]) if alone else BETWEEN_NODES * belief.between_sd
    peaks: list[Peak] = []
    start = _near(ages, layout, Belief(mean, belief.sd(layout, belief.between_sd)))
    for sd in between.tolist():
        problem = Problem(ages, layout, Belief(mean, belief.sd(layout, sd)))
        peaks.append(peak(problem, peaks[-1].theta if peaks else start))
    log_weight = np.array([each.log_evidence for each in peaks])
    if not alone:
        log_weight += np.log(between_shares())
    weights: NDArray[np.float64] = np.exp(log_weight - log_weight.max())
    return ServiceAge(layout, belief, between, weights / weights.sum(), tuple(peaks), ages)


def _near(ages: Ages, layout: Layout, belief: Belief) -> Floats | None:
    """A start close to the mode of many lives, from an even sample of them."""
    if ages.n <= _MANY:
        return None
    return peak(Problem(ages.take(slice(None, None, 2 * ages.n // _MANY)), layout, belief)).theta
