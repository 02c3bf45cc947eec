"""What a few failures say about how parts wear: the Weibull posterior of a category, on a grid, its groups pooled."""

from __future__ import annotations

from dataclasses import dataclass
from math import erf, log, pi, sqrt
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from maintain.core.lives import Floats, Lives
from maintain.core.shape import STEADY_FROM, STEADY_TO
from maintain.core.weibull_grid import weibull_log_likelihood
from maintain.errors import InvalidRecord, NotEnoughData

Verdict = Literal["wear-out", "early failures", "steady", "can't tell yet"]

SHAPE_RANGE = (0.2, 10.0)  # beyond these no part we know of wears; keeps one odd life from running away
BETWEEN_NODES = np.array([0.0, 0.25, 0.5, 1.0, 1.5, 2.0, 3.0])  # in units of Prior.between_sd
_NEGLIGIBLE = 1e-6  # share of the peak below which a node is left off the grid
_TINY = 1e-300


@dataclass(frozen=True)
class Prior:
    """
    What is believed of a category before its lives are seen; docs/posterior.md says why.

    Attributes
    ----------
    shape : float
        Middle of the Weibull shape; its log is normal with standard deviation `log_shape_sd`, kept in SHAPE_RANGE.
        A `log_shape_sd` of 0 takes the shape as known.
    scale : float or None
        Middle of the category's Weibull scale, in units of the clock; its log is normal with `log_scale_sd`.
        None: the scale at which, with the middle shape, the use seen would bring half a failure more than it did.
    between_sd : float
        How far groups of one category differ: the standard deviation of their log scales is half-normal with this
        scale, on BETWEEN_NODES. 0 makes all groups alike.
    """

    shape: float = 1.3
    log_shape_sd: float = 0.5
    scale: float | None = None
    log_scale_sd: float = 2.0
    between_sd: float = 0.6


@dataclass(frozen=True)
class Draws:
    """
    Joint draws from a posterior; scales in units of the clock.

    Attributes
    ----------
    shape : array, shape = (n_draws,) if common to all groups, else (n_draws, n_groups)
    scale : array, shape = (n_draws, n_groups)
    """

    shape: Floats
    scale: Floats

    @property
    def size(self) -> int:
        """Draws."""
        return int(self.scale.shape[0])

    @property
    def shapes(self) -> Floats:
        """Shape, in one column for all groups or in a column for each."""
        return self.shape[:, None] if self.shape.ndim == 1 else self.shape

    def take(self, groups: NDArray[np.intp]) -> Draws:
        """Return the laws of some groups."""
        return Draws(self.shape if self.shape.ndim == 1 else self.shape[:, groups], self.scale[:, groups])

    def life(self, share: float) -> Floats:
        """Use by which `share` of new parts have failed; shape = (n_draws, n_groups)."""
        return np.asarray(self.scale * (-np.log1p(-share)) ** (1 / self.shapes))


@dataclass(frozen=True)
class CategoryPosterior:
    """
    Posterior of one category: a shape common to all, a scale for each group.

    Attributes
    ----------
    log_shape : array, shape = (n_shapes,)
    log_scale : array, shape = (n_scales,)
        Nodes of the grid, evenly spaced.
    between : array, shape = (n_between,)
        Nodes of the standard deviation of log scale between groups.
    hyper : array, shape = (n_between, n_shapes, n_scales)
        Probability of (between, log shape, middle of the log scales).
    groups : array, shape = (n_groups, n_shapes, n_scales)
        Probability of (log shape, log scale) for each group; a group without lives has the pooled one.
    log_likelihood : array, shape = (n_groups, n_shapes, n_scales)
    log_evidence : float
        Log of the chance of these lives before they were seen. Two clocks may be compared by it only on the same
        events and only if every failure is interval-censored: exact times give densities per unit of a clock,
        which cannot be compared between clocks.
    n, failures : array of int, shape = (n_groups,)
    """

    log_shape: Floats
    log_scale: Floats
    between: Floats
    hyper: Floats
    groups: Floats
    log_likelihood: Floats
    log_evidence: float
    n: NDArray[np.intp]
    failures: NDArray[np.intp]

    def shape_interval(self, level: float = 0.8) -> tuple[float, float]:
        """Equal-tailed interval of the shape that holds it with probability `level`."""
        low, high = self.shape_quantiles([(1 - level) / 2, (1 + level) / 2]).tolist()
        return low, high

    def shape_quantiles(self, chances: ArrayLike) -> Floats:
        """Quantiles of the shape; shape = (n_chances,)."""
        wanted = np.asarray(chances, dtype=np.float64)
        return np.exp(_quantiles(self.log_shape, self.hyper.sum(axis=(0, 2)), wanted))

    def life_quantiles(self, group: int, share: float, chances: ArrayLike) -> Floats:
        """Quantiles of the use by which `share` of a group's new parts have failed; shape = (n_chances,)."""
        log_life = self.log_scale + log(-np.log1p(-share)) * np.exp(-self.log_shape)[:, None]
        order = np.argsort(log_life, axis=None, kind="stable")
        mass = self.groups[group].ravel()[order]
        wanted = np.asarray(chances, dtype=np.float64)
        return np.exp(np.interp(wanted, np.cumsum(mass) - mass / 2, log_life.ravel()[order]))

    def chance_shape_above(self, shape: float) -> float:
        """Probability that the shape exceeds `shape`; above 1 the hazard rises with age."""
        mass = self.hyper.sum(axis=(0, 2))
        if mass.size == 1:
            return float(self.log_shape[0] > log(shape))
        edges = _edges(self.log_shape)
        return float(1 - np.interp(log(shape), edges, np.concatenate([[0.0], np.cumsum(mass)])))

    @property
    def verdict(self) -> Verdict:
        """How the hazard goes with age, in words; nine chances in ten are asked for before saying which way."""
        if not self.failures.any():
            return "can't tell yet"  # use without failures bounds the rate; it is no evidence of how it goes with age
        rising = self.chance_shape_above(1.0)
        if rising >= 0.9:
            return "wear-out"
        if rising <= 0.1:
            return "early failures"
        close_to_one = self.chance_shape_above(STEADY_FROM) - self.chance_shape_above(STEADY_TO)
        return "steady" if close_to_one >= 0.9 else "can't tell yet"

    def scale_quantiles(self, chances: ArrayLike) -> Floats:
        """
        Quantiles of each group's scale.

        Returns
        -------
        array, shape = (n_groups, n_chances)
            In units of the clock.
        """
        wanted = np.asarray(chances, dtype=np.float64)
        return np.exp(np.stack([_quantiles(self.log_scale, mass, wanted) for mass in self.groups.sum(axis=1)]))

    def sample(self, rng: np.random.Generator, size: int) -> Draws:
        """
        Draw shapes and scales together: first what the category has in common, then each group given that.

        Groups without lives are drawn from what the category has in common, so they are the least certain.
        """
        pick = rng.choice(self.hyper.size, size=size, p=self.hyper.ravel() / self.hyper.sum())
        between, shape, middle = np.unravel_index(pick, self.hyper.shape)
        prior_rows = _kernels(self.log_scale, self.between)[between, middle]
        relative = _relative(self.log_likelihood)
        scale = np.empty((size, self.groups.shape[0]))
        for g in range(scale.shape[1]):
            reached = np.cumsum(relative[g][shape] * prior_rows, axis=1)
            target = rng.random(size) * reached[:, -1]
            node = np.minimum((reached <= target[:, None]).sum(axis=1), self.log_scale.size - 1)
            # alike groups share the category's own scale, whatever each alone would say
            scale[:, g] = self.log_scale[np.where(self.between[between] == 0, middle, node)]
        return Draws(np.exp(self.log_shape[shape]), np.exp(scale))


def between_shares() -> Floats:
    """Prior probability of each of BETWEEN_NODES: half-normal density times the width of the node's cell."""
    share = np.exp(-0.5 * BETWEEN_NODES**2) * np.diff(_edges(BETWEEN_NODES).clip(min=0))
    return np.asarray(share / share.sum())


def category_posterior(lives: Lives, group: ArrayLike, n_groups: int, prior: Prior | None = None) -> CategoryPosterior:
    """
    Posterior of a category whose groups share a shape and differ in scale.

    Model: log scale of group g is normal about the category's middle with standard deviation `between`; log shape is
    common. Each group's scale is integrated out on the grid, so nothing is sampled and the same lives always give
    the same answer. The grid is moved and refined until its ends carry no mass.

    Parameters
    ----------
    lives : Lives
        May be empty if `prior.scale` is given.
    group : array-like of int, shape = (lives.n,)
        0 .. n_groups - 1; groups without lives are allowed.
    prior : Prior, optional

    Raises
    ------
    InvalidRecord
        If `group` does not fit the lives.
    NotEnoughData
        If there are no lives and the prior names no scale.

    References
    ----------
    Gelman et al. (2013), Bayesian Data Analysis, 3rd ed., chapter 5 (hierarchical models) and section 3.7 (grids);
    Meeker and Escobar (1998), Statistical Methods for Reliability Data, chapter 14.

    Examples
    --------
    >>> from maintain.core.lives import lives_from_times
    >>> servos = lives_from_times([30, 44, 51, 60, 60, 60, 60], [1, 1, 1, 0, 0, 0, 0])
    >>> found = category_posterior(servos, [0, 0, 0, 0, 0, 1, 1], n_groups=3)
    >>> [round(x, 1) for x in found.shape_interval(0.8)]
    [0.9, 2.7]
    >>> found.verdict
    "can't tell yet"
    """
    belief = prior or Prior()
    member = np.asarray(group, dtype=np.intp)
    if member.shape != (lives.n,) or (lives.n and not 0 <= member.min() <= member.max() < n_groups):
        raise InvalidRecord(f"{lives.n} lives need as many groups, numbered from 0 to {n_groups - 1}")
    failures = np.bincount(member[lives.failed], minlength=n_groups)
    following: _Grid | None = _Grid.first(belief, _middle(lives, belief))
    passes = 0
    while following is not None and passes < 8:  # two or three are usual
        grid, passes = following, passes + 1
        like = weibull_log_likelihood(lives, member, n_groups, grid.log_shape, grid.log_scale)
        hyper, groups, log_evidence = _solve(like, grid)
        following = grid.following(hyper, groups, int(failures.max(initial=0)))
    return CategoryPosterior(
        grid.log_shape,
        grid.log_scale,
        grid.between,
        hyper,
        groups,
        like,
        log_evidence,
        np.bincount(member, minlength=n_groups),
        failures,
    )


def _middle(lives: Lives, prior: Prior) -> float:
    if prior.scale is not None:
        return log(prior.scale)
    if lives.n == 0:
        raise NotEnoughData(
            "no lives, and no guess of how long such parts last", hint="log some parts, or give a guess"
        )
    # anchored at what the use seen could have brought, so that parts that merely do not fail are no surprise to the
    # prior and say next to nothing of the shape
    seen = np.where(lives.failed, lives.lower / 2 + lives.upper / 2, lives.lower)
    longest = float(seen.max())
    use = ((seen / longest) ** prior.shape - (lives.entry / longest).clip(max=seen / longest) ** prior.shape).sum()
    return log(longest) + log(max(use, 1e-12) / (lives.failures + 0.5)) / prior.shape


@dataclass(frozen=True)
class _Grid:
    prior: Prior
    middle: float
    log_shape: Floats
    log_scale: Floats

    @classmethod
    def first(cls, prior: Prior, middle: float) -> _Grid:
        """Coarse, over all that the prior allows."""
        known = prior.log_shape_sd == 0
        shapes = np.array([log(prior.shape)]) if known else np.linspace(log(SHAPE_RANGE[0]), log(SHAPE_RANGE[1]), 27)
        reach = 5.5 * sqrt(prior.log_scale_sd**2 + 2 * prior.between_sd**2)
        count = int(np.clip(2 * int(reach / 0.25) + 1, 61, 601))
        return cls(prior, middle, shapes, middle + np.linspace(-reach, reach, count))

    @property
    def between(self) -> Floats:
        return BETWEEN_NODES * self.prior.between_sd if self.prior.between_sd > 0 else np.zeros(1)

    def log_prior(self) -> Floats:
        """Log probability of each cell of (between, log shape, middle); cells outside the grid are not counted."""
        between = between_shares() if self.prior.between_sd > 0 else np.ones(1)
        scales = _log_normal_cells(self.log_scale, self.middle, self.prior.log_scale_sd)
        shapes = np.zeros(1)
        if self.prior.log_shape_sd > 0:
            low, high = (
                0.5 * (1 + erf((log(end / self.prior.shape)) / (self.prior.log_shape_sd * sqrt(2))))
                for end in SHAPE_RANGE
            )
            shapes = _log_normal_cells(self.log_shape, log(self.prior.shape), self.prior.log_shape_sd) - log(high - low)
        log_share: Floats = np.log(between)[:, None, None]
        return log_share + shapes[:, None] + scales

    def following(self, hyper: Floats, groups: Floats, most_failures: int) -> _Grid | None:
        """Return a better placed or finer grid, or None if this one will do."""
        shape_mass = hyper.sum(axis=(0, 2))
        scale_mass = np.vstack([hyper.sum(axis=(0, 1))[None], groups.sum(axis=1)])
        scale_mass = (scale_mass / scale_mass.max(axis=1, keepdims=True)).max(axis=0)
        mean = shape_mass @ self.log_shape
        shape_sd = sqrt(shape_mass @ (self.log_shape - mean) ** 2)
        # a sum over even nodes is all but exact for a bell curve while the step stays below its standard deviation,
        # and for a given shape that of a log scale is 1 / (shape * sqrt(failures))
        fine = min(0.12, 0.7 / (float(np.exp(mean + shape_sd)) * sqrt(max(most_failures, 1))))
        ends = log(SHAPE_RANGE[0]), log(SHAPE_RANGE[1])
        shapes = _better_axis(self.log_shape, shape_mass, 0.7 * shape_sd, ends, (41, 41))
        scales = _better_axis(self.log_scale, scale_mass, fine, (-np.inf, np.inf), (61, 801))
        if shapes is None and scales is None:
            return None
        return _Grid(
            self.prior,
            self.middle,
            self.log_shape if shapes is None else shapes,
            self.log_scale if scales is None else scales,
        )


def _better_axis(
    nodes: Floats, mass: Floats, step: float, bounds: tuple[float, float], counts: tuple[int, int]
) -> Floats | None:
    if nodes.size == 1:
        return None
    now = nodes[1] - nodes[0]
    kept = np.flatnonzero(mass > _NEGLIGIBLE * mass.max())
    margin = 0.3 * (nodes[-1] - nodes[0])
    low = nodes[kept[0] - 1] if kept[0] > 0 else max(bounds[0], nodes[0] - margin)
    high = nodes[kept[-1] + 1] if kept[-1] < nodes.size - 1 else min(bounds[1], nodes[-1] + margin)
    count = int(np.clip(np.ceil((high - low) / step) + 1 if step > 0 else counts[1], *counts))
    wide_enough = low >= nodes[0] and high <= nodes[-1]
    if wide_enough and (now <= 1.05 * step or (high - low) / (count - 1) > 0.9 * now):
        return None
    return np.linspace(low, high, count)


def _solve(like: Floats, grid: _Grid) -> tuple[Floats, Floats, float]:
    """Probabilities of the common part and of each group, and the log evidence."""
    relative = _relative(like)
    kernels = _kernels(grid.log_scale, grid.between)
    log_post = grid.log_prior() + like.max(axis=2, keepdims=True).sum(axis=0)
    for between, kernel in enumerate(kernels):
        log_post[between] += np.log(_spread(relative, kernel)).sum(axis=0)
    top = float(log_post.max())
    weight = np.exp(log_post - top)
    total = float(weight.sum())
    groups = np.zeros(like.shape)
    for between, kernel in enumerate(kernels):
        if weight[between].max() > 1e-14:
            # what all other groups say of the middle, carried to this group, times what this group says itself
            groups += relative * ((weight[between] / _spread(relative, kernel)) @ kernel)
    return weight / total, groups / groups.sum(axis=(1, 2), keepdims=True), top + log(total)


def _relative(like: Floats) -> Floats:
    relative: Floats = np.exp(like - like.max(axis=2, keepdims=True))
    return relative


def _spread(relative: Floats, kernel: Floats) -> Floats:
    """Integrate each group's own scale out: its likelihood as a function of the category's middle."""
    return np.maximum(relative @ kernel.T, _TINY)


def _kernels(log_scale: Floats, between: Floats) -> Floats:
    """Chance of each group log scale (last axis) given the middle (second axis), for each `between` (first)."""
    apart = log_scale[:, None] - log_scale[None, :]
    found = np.empty((between.size, *apart.shape))
    for b, sd in enumerate(between):
        found[b] = np.exp(-0.5 * (apart / sd) ** 2) if sd > 0 else np.eye(log_scale.size)
    found /= found.sum(axis=2, keepdims=True)
    return found


def _log_normal_cells(nodes: Floats, mean: float, sd: float) -> Floats:
    log_mass: Floats = log((nodes[1] - nodes[0]) / (sd * sqrt(2 * pi))) - 0.5 * ((nodes - mean) / sd) ** 2
    return log_mass


def _edges(nodes: Floats) -> Floats:
    if nodes.size == 1:
        return np.array([nodes[0] - 0.5, nodes[0] + 0.5])
    inner = (nodes[1:] + nodes[:-1]) / 2
    return np.concatenate([[2 * nodes[0] - inner[0]], inner, [2 * nodes[-1] - inner[-1]]])


def _quantiles(nodes: Floats, mass: Floats, chances: Floats) -> Floats:
    if nodes.size == 1:
        return np.full(chances.shape, nodes[0])
    reached = np.concatenate([[0.0], np.cumsum(mass)])
    return np.interp(chances, reached / reached[-1], _edges(nodes))
