"""Age, use or water? Clocks that mix them, each weighed by how well it explains the same failures."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from maintain.core.lives import Floats, lives_from_intervals
from maintain.core.posterior import CategoryPosterior, Draws, category_posterior

Use = Mapping[str, Floats]  # use by clock of vocabulary.CLOCKS

MIXED_WITH_DAYS = ("sorties", "immersions")
_SHARES = (0.25, 0.5, 0.75)
_SLIGHT = 0.02  # a clock that gets less of the weight is left out


@dataclass(frozen=True)
class Clock:
    """
    A measure of use put together from plain ones.

    Attributes
    ----------
    share : mapping of str to float
        Share of each plain clock in the ageing of all lives together; they sum to 1.
    worth : mapping of str to float
        What a unit of each plain clock counts for, in days or about that.
    """

    share: Mapping[str, float]
    worth: Mapping[str, float]

    def read(self, use: Use) -> Floats:
        """Use on this clock."""
        total: Floats = np.sum([worth * use[plain] for plain, worth in self.worth.items()], axis=0)
        return total


@dataclass(frozen=True)
class Observed:
    """
    Lives seen on several plain clocks at once.

    Attributes
    ----------
    entry, lower, upper : mapping of str to array, shape = (n,)
        As in Lives, by clock; every life is known on every clock and every failure has an interval.
    """

    entry: Use
    lower: Use
    upper: Use


@dataclass(frozen=True)
class Weighed:
    """
    Posteriors of one category on several clocks.

    Attributes
    ----------
    clocks : tuple of Clock
        Likeliest first.
    weights : array, shape = (n_clocks,)
        Probability of each, given the failures; they sum to 1.
    posteriors : tuple of CategoryPosterior
    """

    clocks: tuple[Clock, ...]
    weights: Floats
    posteriors: tuple[CategoryPosterior, ...]

    @property
    def ageing(self) -> dict[str, float]:
        """Expected share of each plain clock in the ageing of all lives together."""
        names = dict.fromkeys(name for clock in self.clocks for name in clock.share)
        weights = self.weights.tolist()
        pairs = list(zip(self.clocks, weights, strict=True))
        return {name: sum(weight * clock.share.get(name, 0.0) for clock, weight in pairs) for name in names}

    def chance_shape_above(self, shape: float) -> float:
        """Probability that the shape exceeds `shape`, whichever clock is right."""
        chances = np.array([each.chance_shape_above(shape) for each in self.posteriors])
        return float(self.weights @ chances)

    def sample(self, rng: np.random.Generator, size: int) -> list[tuple[Clock, Draws]]:
        """Draw from each clock's posterior, in number as its weight; `size` draws in all."""
        ends = np.round(np.cumsum(self.weights) * size).astype(int)
        counts = np.diff(ends, prepend=0)
        drawn = zip(self.clocks, self.posteriors, counts.tolist(), strict=True)
        return [(clock, posterior.sample(rng, count)) for clock, posterior, count in drawn if count]


def candidate_clocks(total: Mapping[str, float]) -> tuple[Clock, ...]:
    """
    Clocks to be weighed: days alone, and days with sorties, with sinkings, or with both, in several shares.

    Days have a part in all of them: then every failure takes some time on every clock, even one found in spring.

    Parameters
    ----------
    total : mapping of str to float
        Use of all lives together on each plain clock; a share is of the ageing of all lives together, and clocks that
        never moved are left out.

    Examples
    --------
    >>> [clock.share for clock in candidate_clocks({"days": 900.0, "sorties": 90.0})]
    [{'days': 1.0}, {'days': 0.75, 'sorties': 0.25}, {'days': 0.5, 'sorties': 0.5}, {'days': 0.25, 'sorties': 0.75}]
    >>> candidate_clocks({"days": 900.0, "sorties": 90.0})[2].worth
    {'days': 0.5, 'sorties': 5.0}
    """
    moved = {name for name, use in total.items() if use > 0}
    mixed = [{"days": 1 - share, other: share} for other in MIXED_WITH_DAYS for share in _SHARES]
    both = {"days": 0.4, **dict.fromkeys(MIXED_WITH_DAYS, 0.3)}
    shares = [each for each in ({"days": 1.0}, *mixed, both) if moved.issuperset(each)]
    whole = total["days"]  # so that a unit of any of these clocks is worth about a day
    return tuple(Clock(share, {name: part * whole / total[name] for name, part in share.items()}) for share in shares)


def weigh_clocks(observed: Observed, group: NDArray[np.intp], n_groups: int) -> Weighed:
    """
    Fit a category on every candidate clock and weigh them by their evidence, all being equally likely beforehand.

    Evidence is compared on the same lives and on intervals only, so it is a chance of the same events whatever the
    clock, and units cancel.

    Parameters
    ----------
    observed : Observed
    group : array of int, shape = (n,)
    n_groups : int

    Returns
    -------
    Weighed
        Without clocks that get less than 2 % of the weight.

    Raises
    ------
    NotEnoughData
        If there are no lives.

    References
    ----------
    Hoeting et al. (1999), Bayesian model averaging, Statistical Science 14, 382-417; Duchesne and Lawless (2000),
    Alternative time scales and failure time models, Lifetime Data Analysis 6, 157-179.
    """
    total = {name: float(_seen(observed, name).sum()) for name in observed.entry}
    clocks = candidate_clocks(total)
    posteriors = [_posterior(observed, clock, group, n_groups) for clock in clocks]
    evidence = np.array([each.log_evidence for each in posteriors])
    weights = np.exp(evidence - evidence.max())
    weights /= weights.sum()
    order = [int(i) for i in np.argsort(-weights, kind="stable") if weights[i] >= _SLIGHT]
    kept = weights[order]
    return Weighed(tuple(clocks[i] for i in order), kept / kept.sum(), tuple(posteriors[i] for i in order))


def _seen(observed: Observed, name: str) -> Floats:
    upper = observed.upper[name]
    seen: Floats = np.where(np.isfinite(upper), upper, observed.lower[name]) - observed.entry[name]
    return seen


def _posterior(observed: Observed, clock: Clock, group: NDArray[np.intp], n_groups: int) -> CategoryPosterior:
    entry, lower, upper = (clock.read(each) for each in (observed.entry, observed.lower, observed.upper))
    return category_posterior(lives_from_intervals(lower, upper, entry), group, n_groups)
