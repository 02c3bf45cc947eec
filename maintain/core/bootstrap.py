"""Fits of a law to lives drawn again and again, all at once: Newton's method over whole batches of draws.

A draw only changes how often each life counts: the logs of all times are taken once, and each draw is a row of weights.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from maintain.core.clustered_curve import FEWEST_CLUSTERS
from maintain.core.estimate import Estimate, check_share
from maintain.core.fit import Fit
from maintain.core.likelihood import LEAST_GAIN, MOST_GAIN, LogLives, hazard_gain, log_lives
from maintain.core.lives import Floats, Lives
from maintain.core.models import LEAST_Z, Derivatives, Model, model_named
from maintain.core.search import FLAT, LEFT_TO_GAIN, LONGEST_STEP
from maintain.errors import InvalidRecord

Counts = NDArray[np.int64]

MOST_STEPS, MOST_HALVINGS = 50, 30
BATCH = 2**16  # weights held at once: they stay in the processor's cache
LEAST_SETTLED = 0.9  # limits are given if as large a share of the draws settles the law


@dataclass(frozen=True)
class Refits:
    """
    A law fitted to draws of the lives.

    Attributes
    ----------
    model : str
    theta : array, shape = (draws, 2)
        mu and log sigma of log T = mu + sigma * Z of each draw; nan where its lives settle no law.
    clusters : int or None
        How many clusters were drawn whole; None: lives were drawn one by one.
    """

    model: str
    theta: Floats
    clusters: int | None

    @property
    def draws(self) -> int:
        """How many draws were made."""
        return int(self.theta.shape[0])

    @property
    def settled(self) -> int:
        """How many of them settle the law."""
        return int(np.isfinite(self.theta[:, 0]).sum())

    def quantile(self, share: float, conf: float) -> Estimate:
        """Return percentile limits of the time by which a share has failed; no value."""
        lean = float(model_named(self.model).quantile(np.array(check_share(share, "share"))))
        return self._limits(self.theta[:, 0] + np.exp(self.theta[:, 1]) * lean, conf)

    def mean(self, conf: float) -> Estimate:
        """Return percentile limits of the mean life; no value."""
        law = model_named(self.model)
        log_means = [law.log_mean(sigma)[0] for sigma in np.exp(self.theta[:, 1]).tolist()]
        return self._limits(self.theta[:, 0] + np.array(log_means), conf)

    def shape(self, conf: float) -> Estimate:
        """Return percentile limits of the shape (of sigma, for the lognormal); no value."""
        return self._limits(self.theta[:, 1] if self.model == "lognormal" else -self.theta[:, 1], conf)

    def _limits(self, logs: Floats, conf: float) -> Estimate:
        tail = (1 - check_share(conf, "confidence")) / 2
        known = logs[~np.isnan(logs)]
        if known.size < LEAST_SETTLED * self.draws:
            return Estimate(None, None, None)
        low, high = np.exp(np.minimum(np.quantile(known, [tail, 1 - tail], method="nearest"), 700.0)).tolist()
        return Estimate(None, low, high)


def refits(
    lives: Lives, fitted: Fit, rng: np.random.Generator, draws: int, clusters: NDArray[np.intp] | None = None
) -> Refits:
    """
    Draw lives with replacement, and fit the law of `fitted` to each draw.

    Parameters
    ----------
    lives : Lives
        Those it was fitted to.
    fitted : Fit
        Where each search begins.
    rng : Generator
    draws : int
    clusters : array of int, shape = (n,), optional
        From 0; lives of one number are drawn together, if there are at least FEWEST_CLUSTERS.

    Raises
    ------
    InvalidRecord
        If there are no draws to make.

    References
    ----------
    Efron and Tibshirani (1993), An Introduction to the Bootstrap, chapters 6 and 13; clusters drawn whole: Davison and
    Hinkley (1997), Bootstrap Methods and their Application, section 3.8.
    """
    if draws < 1:
        raise InvalidRecord(f"{draws} draws say nothing", hint="ask for some hundreds")
    law, data, rows = model_named(fitted.model), log_lives(lives), _Rows.of(lives)
    start = fitted.theta - np.array([data.unit, 0.0])
    n_clusters = 0 if clusters is None else int(np.unique(clusters).size)
    whole = clusters if n_clusters >= FEWEST_CLUSTERS else None
    found = []
    for size in _sizes(draws, lives.n):
        weights = drawn_weights(rng, lives.n, size, whole)
        found.append(_Batch(law, data, rows, weights.astype(np.float64)).climb(start))
    theta = np.concatenate(found) + np.array([data.unit, 0.0])
    return Refits(law.name, theta, None if whole is None else n_clusters)


def drawn_weights(rng: np.random.Generator, n: int, draws: int, clusters: NDArray[np.intp] | None = None) -> Counts:
    """
    Return how often each life is drawn.

    Parameters
    ----------
    rng : Generator
    n, draws : int
    clusters : array of int, shape = (n,), optional
        Lives of one number come together, as often as their cluster is drawn.

    Returns
    -------
    array of int, shape = (draws, n)
    """
    owner = np.arange(n) if clusters is None else np.unique(clusters, return_inverse=True)[1]
    units = int(owner.max()) + 1
    picked = rng.integers(units, size=(draws, units)) + units * np.arange(draws)[:, None]
    counts = np.bincount(picked.ravel(), minlength=draws * units).reshape(draws, units)
    found: Counts = counts[:, owner]
    return found


def _sizes(draws: int, n: int) -> Iterator[int]:
    at_once = max(BATCH // max(n, 1), 1)
    for done in range(0, draws, at_once):
        yield min(at_once, draws - done)


@dataclass(frozen=True)
class _Rows:
    """The rows of the lives that stand in each column of their logs."""

    exact: NDArray[np.intp]
    worked: NDArray[np.intp]
    entered: NDArray[np.intp]
    between: NDArray[np.intp]

    @classmethod
    def of(cls, lives: Lives) -> _Rows:
        exact = lives.failed & (lives.lower == lives.upper)
        worked = np.maximum(lives.lower, lives.entry) > 0
        return cls(*(np.flatnonzero(each) for each in (exact, worked, lives.entry > 0, lives.failed & ~exact)))


@dataclass(frozen=True)
class _Values:
    """Log-likelihoods with their derivatives by mu and log sigma; one row for each draw."""

    value: Floats
    gradient: Floats
    hessian: Floats

    def usable(self) -> NDArray[np.bool_]:
        return np.isfinite(self.value) & np.isfinite(self.hessian).all(axis=(1, 2))


class _Batch:
    """Draws that are fitted together."""

    def __init__(self, law: Model, data: LogLives, rows: _Rows, weights: Floats) -> None:
        self.law, self.data = law, data
        self.exact, self.worked = weights[:, rows.exact], weights[:, rows.worked]
        self.entered, self.between = weights[:, rows.entered], weights[:, rows.between]
        self.size = weights.shape[0]

    def climb(self, start: Floats) -> Floats:
        """Return the best (mu, log sigma) of each draw; nan where there is none."""
        with np.errstate(over="ignore", invalid="ignore", divide="ignore"):
            point = np.tile(start, (self.size, 1))
            here = self.values(point, np.arange(self.size))
            best = np.full(point.shape, np.nan)
            rows = np.arange(self.size)  # the draws still climbing; `point` and `here` speak of them
            for _ in range(MOST_STEPS):
                step, gain, peak = _uphill(here, self.law.free)
                there = gain < LEFT_TO_GAIN
                best[rows[there & peak]] = point[there & peak]
                going = ~there & np.isfinite(gain)
                if not going.any():
                    break
                rows, point, step = rows[going], point[going], step[going]
                point, here, stuck = self._rise(point, _picked(here, going), step, rows)
                # Rounding leaves nothing more to gain: the top, if it is one.
                _, _, peak = _uphill(here, self.law.free)
                best[rows[stuck & peak]] = point[stuck & peak]
                rows, point, here = rows[~stuck], point[~stuck], _picked(here, ~stuck)
        return best

    def _rise(
        self, point: Floats, here: _Values, step: Floats, rows: NDArray[np.intp]
    ) -> tuple[Floats, _Values, NDArray[np.bool_]]:
        """Take each step, halved until it does not go down."""
        moved, value, gradient, hessian = point.copy(), here.value.copy(), here.gradient.copy(), here.hessian.copy()
        left = np.arange(rows.size)
        for halvings in range(MOST_HALVINGS):
            tried = point[left] + step[left] * 0.5**halvings
            found = self.values(tried, rows[left])
            good = found.usable() & (found.value >= here.value[left])
            at = left[good]
            moved[at], value[at] = tried[good], found.value[good]
            gradient[at], hessian[at] = found.gradient[good], found.hessian[good]
            left = left[~good]
            if not left.size:
                break
        stuck = np.zeros(rows.size, dtype=bool)
        stuck[left] = True
        return moved, _Values(value, gradient, hessian), stuck

    def values(self, theta: Floats, rows: NDArray[np.intp]) -> _Values:
        """Return log-likelihoods at a point of its own for each of `rows`."""
        every = rows.size == self.size
        weights = {
            name: getattr(self, name) if every else getattr(self, name)[rows]
            for name in ("exact", "worked", "entered", "between")
        }
        mu, log_sigma = theta[:, :1], theta[:, 1:]
        sigma = np.exp(log_sigma)
        total = _Sums(sigma[:, 0])
        for name, sign in (("worked", -1.0), ("entered", 1.0)):
            z = _standard(getattr(self.data, name), mu, sigma)
            total.add(self.law.cumulative_hazard(z), z, sign * weights[name])
        if self.data.exact.size:
            z = _standard(self.data.exact, mu, sigma)
            total.add(self.law.log_hazard(z), z, weights["exact"])
            count = weights["exact"].sum(axis=1)
            total.value -= weights["exact"] @ self.data.exact + count * (log_sigma[:, 0] + self.data.unit)
            total.gradient[:, 1] -= count
        if self.data.until.size:
            low, high = (_standard(each, mu, sigma) for each in (self.data.after, self.data.until))
            total.add_intervals(self.law, low, high, weights["between"])
        return _Values(total.value, total.gradient, total.hessian)


class _Sums:
    """As the sums of maintain.core.likelihood, with a weight for each life in each draw."""

    def __init__(self, sigma: Floats) -> None:
        self.sigma = sigma
        self.value = np.zeros(sigma.size)
        self.gradient = np.zeros((sigma.size, 2))
        self.hessian = np.zeros((sigma.size, 2, 2))

    def add(self, terms: Derivatives, z: Floats, weight: Floats) -> None:
        value, first, second = terms
        slope = weight * first
        bend = slope if second is first else weight * second
        lean, cross = _dot(slope, z), (_dot(bend, z) + slope.sum(axis=1)) / self.sigma
        self.value += _dot(weight, value)
        self.gradient[:, 0] -= slope.sum(axis=1) / self.sigma
        self.gradient[:, 1] -= lean
        self.hessian[:, 0, 0] += bend.sum(axis=1) / self.sigma**2
        self.hessian[:, 0, 1] += cross
        self.hessian[:, 1, 0] += cross
        self.hessian[:, 1, 1] += np.einsum("rn,rn,rn->r", bend, z, z) + lean

    def add_intervals(self, model: Model, low: Floats, high: Floats, weight: Floats) -> None:
        gain, first, second = hazard_gain(model, low, high, self.sigma[:, None])
        gain = np.clip(gain, LEAST_GAIN, MOST_GAIN)
        pull = 1 / np.expm1(gain)
        self.value += _dot(weight, np.log(-np.expm1(-gain)))
        self.gradient += np.einsum("irn,rn->ri", first, weight * pull)
        self.hessian -= np.einsum("irn,jrn,rn->rij", first, first, weight * pull * (1 + pull))
        self.hessian += np.einsum("ijrn,rn->rij", second, weight * pull)


def _uphill(here: _Values, free: int) -> tuple[Floats, Floats, NDArray[np.bool_]]:
    """Return Newton's steps with every curvature taken as downward, what each would gain, and whether it is a peak."""
    step, gain = np.zeros_like(here.gradient), np.full(here.value.shape, np.nan)
    peak = np.zeros(here.value.shape, dtype=bool)
    usable = here.usable()
    gradient = here.gradient[usable, :free]
    curvature, axes = np.linalg.eigh(here.hessian[usable, :free, :free])
    steepest = np.abs(curvature).max(axis=1, keepdims=True, initial=0.0)
    bend = np.maximum(np.abs(curvature), 1e-12 * np.maximum(steepest, 1e-12))
    onward = np.einsum("rij,rj->ri", axes, np.einsum("rji,rj->ri", axes, gradient) / bend)
    onward *= np.minimum(1.0, LONGEST_STEP / np.maximum(np.abs(onward).max(axis=1, keepdims=True, initial=0.0), 1e-300))
    step[usable, :free], gain[usable] = onward, _dot(onward, gradient)
    peak[usable] = curvature[:, -1] < -FLAT
    return step, gain, peak


def _picked(values: _Values, rows: NDArray[np.bool_]) -> _Values:
    return _Values(values.value[rows], values.gradient[rows], values.hessian[rows])


def _standard(logs: Floats, mu: Floats, sigma: Floats) -> Floats:
    z: Floats = (logs - mu) / sigma
    return np.maximum(z, LEAST_Z, out=z)


def _dot(one: Floats, other: Floats) -> Floats:
    return np.asarray(np.einsum("rn,rn->r", one, other))
