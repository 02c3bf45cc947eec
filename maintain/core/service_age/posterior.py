"""The posterior of a category's service age: what a sinking costs, and how long each group lasts."""

from __future__ import annotations

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
_COVERED = 0.04  # share of the draws, at least, that every bell gets
_MANY = 20_000  # lives, from which on the way up is found on a sample of them
_FADED = 1.5  # how far below its mode a worth is as good as nothing, on the log scale


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
        Draw from the posterior.

        Twice as many points are drawn from bells that cover it, weighed by posterior over bells, and `size` of them
        drawn by their weights. With very many lives the bells are as good as exact and are drawn from as they are.
        """
        nodes = np.flatnonzero(self.weights > _SLIGHT)
        share = self.weights[nodes] / self.weights[nodes].sum()
        if self.ages.n > _WEIGHED:
            counts = np.diff(np.round(np.cumsum(share) * size).astype(int), prepend=0).tolist()
            drawn = [Bell.around(self.peaks[k]).draw(rng, n, False) for k, n in zip(nodes, counts, strict=True)]
            return ServiceDraws(rng.permutation(np.concatenate(drawn)), self.layout)
        portions = [
            self._weighed(rng, int(k), max(2 * size * part, 50.0)) for k, part in zip(nodes, share, strict=True)
        ]
        theta, log_weight = (np.concatenate(each) for each in zip(*portions, strict=True))
        return ServiceDraws(theta[resampled(rng, log_weight, size)], self.layout)

    def _weighed(self, rng: np.random.Generator, node: int, size: float) -> tuple[Floats, Floats]:
        """Points for one node, and the log of how many draws each stands for."""
        belief = self._belief(node)
        bells = self._bells(node, belief)
        share = np.array([bell.peak.log_evidence for bell in bells])
        share = np.maximum(np.exp(share - share.max()), _COVERED)
        counts = np.ceil(share / share.sum() * size).astype(int)
        theta = np.concatenate([bell.draw(rng, n) for bell, n in zip(bells, counts.tolist(), strict=True)])
        each = np.stack([bell.log_density(theta) for bell in bells])
        log_bells = np.logaddexp.reduce(each + np.log(counts)[:, None], axis=0)
        log_posterior = log_likelihood(theta, self.ages, self.layout) + belief.log_density(theta)
        known = np.log(between_shares()[node]) if self.between.size > 1 else 0.0
        return theta, log_posterior + known - log_bells

    def _belief(self, node: int) -> Belief:
        prior = self.prior
        return Belief(prior.mean(self.layout), prior.sd(self.layout, float(self.between[node])))

    def _bells(self, node: int, belief: Belief) -> list[Bell]:
        """
        The bell at the mode, and one for each worth that may as well be nothing.

        Where a worth fades the posterior is as wide as the prior and nothing else moves with it any more, which no bell
        at the mode can follow.
        """
        top = self.peaks[node]
        bells = [Bell.around(top)]
        for place in range(*self.layout.worth.indices(self.layout.size)):
            value = min(float(belief.mean[place]), float(top.theta[place]) - _FADED)
            held = peak(Problem(self.ages, self.layout, belief.knowing(place, value)), top.theta)
            at = int(np.flatnonzero(np.flatnonzero(top.free) == place)[0])
            bend = np.insert(np.insert(held.curvature, at, 0.0, axis=0), at, 0.0, axis=1)
            bend[at, at] = belief.sd[place] ** -2.0
            height = held.height - 0.5 * np.log(2 * np.pi) - np.log(belief.sd[place])
            bells.append(Bell.around(Peak(held.theta, top.free, bend, height, held.log_likelihood)))
        return bells


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
