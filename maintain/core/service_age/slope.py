"""Gradient and curvature of the likelihood of service age at one point, in closed form."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from maintain.core.lives import Floats
from maintain.core.service_age.ages import Ages, Index, Kinds
from maintain.core.service_age.earlier import SERVED, SHARE
from maintain.core.service_age.likelihood import PARTS_AT_ONCE
from maintain.core.service_age.prior import Layout


@dataclass(frozen=True)
class Slope:
    """
    A log likelihood at one point.

    Attributes
    ----------
    value : float
    gradient : array, shape = (n_parameters,)
    hessian : array, shape = (n_parameters, n_parameters)
    """

    value: float
    gradient: Floats
    hessian: Floats

    def __add__(self, other: Slope) -> Slope:
        """Of both."""
        return Slope(self.value + other.value, self.gradient + other.gradient, self.hessian + other.hessian)


def slope(theta: Floats, ages: Ages, layout: Layout) -> Slope:
    """
    Log likelihood with its gradient and Hessian, in closed form.

    Parameters
    ----------
    theta : array, shape = (n_parameters,)
    ages : Ages
    layout : Layout
    """
    found = Slope(0.0, np.zeros(layout.size), np.zeros((layout.size, layout.size)))
    with np.errstate(over="ignore", invalid="ignore", divide="ignore"):
        for start in range(0, ages.n, PARTS_AT_ONCE):
            found += _slope(theta, ages.take(slice(start, start + PARTS_AT_ONCE)), layout)
    return found if np.isfinite(found.value) else replace(found, value=-np.inf)


def _slope(theta: Floats, ages: Ages, layout: Layout) -> Slope:
    every, before = _every_length(ages)
    each = _Sum.at(theta, every, before, layout)
    value, known = each.value, ages.acquainted.size
    weight, total, spread = np.ones(value.size), float(value[:known].sum()), np.zeros((layout.size, layout.size))
    if known < ages.n:
        gradients = each.gradients
        lived, there = np.split(np.arange(known, value.size).reshape(-1, SERVED.size), 2)
        # what was seen, whatever they had served, given that they lasted until they were first seen
        for rows, sign in ((lived, 1.0), (there, -1.0)):
            log_chance = value[rows] + np.log(SHARE)
            of_all = np.logaddexp.reduce(log_chance, axis=1)
            weight[rows] = share = sign * np.exp(log_chance - of_all[:, None])
            total += sign * float(of_all.sum())
            spread += sign * _spread(gradients[rows], sign * share)
    return Slope(total, each.gradient(weight), each.hessian(weight) + spread)


def _every_length(ages: Ages) -> tuple[Ages, Floats]:
    """
    Take parts whose use is known, then the others with every length of service: to the end, and to first sight only.

    Returns
    -------
    Ages
    array, shape = (n, n_clocks)
        Use before first sight in a unit of the longest service.
    """
    known, strange = ages.acquainted, np.repeat(ages.strangers, SERVED.size)
    rows = np.concatenate([known, strange, strange])
    first = np.arange(rows.size) >= known.size + strange.size
    every = ages.take(rows)
    alive, end = (np.where(first[:, None], 0.0, use) for use in (every.alive, every.end))
    before = every.paces * np.concatenate([np.zeros(known.size), np.tile(SERVED, 2 * ages.strangers.size)])[:, None]
    entry = np.where(np.arange(rows.size)[:, None] < known.size, every.entry, 0.0)
    return Ages(entry, alive, end, every.failed & ~first, every.kinds), before


def _spread(gradients: Floats, share: Floats) -> Floats:
    """Sum over parts of the spread of gradients, shape = (n, n_lengths, n_parameters), by their shares."""
    weighted = gradients * share[:, :, None]
    mean, size = weighted.sum(axis=1), gradients.shape[2]
    found: Floats = gradients.reshape(-1, size).T @ weighted.reshape(-1, size) - mean.T @ mean
    return found


@dataclass(frozen=True)
class _Sum:
    """The terms of parts that had served so long before first sight, at one point."""

    entry: _End
    alive: _End
    end: _End
    failed: Index
    step: Floats
    old: Index

    @classmethod
    def at(cls, theta: Floats, ages: Ages, before: Floats, layout: Layout) -> _Sum:
        """`before`: use before first sight in a unit of the longest service."""
        old, failed = np.flatnonzero(ages.entry.any(axis=1)), np.flatnonzero(ages.failed)
        law = _Law(theta, layout)
        entry, alive, end = (
            law.end(use[rows], before[rows], ages.kinds.take(rows))
            for use, rows in ((ages.entry, old), (ages.alive, np.arange(ages.n)), (ages.end, failed))
        )
        return cls(entry, alive, end, failed, end.hazard - alive.hazard[failed], old)

    @property
    def value(self) -> Floats:
        """Log chance of each part."""
        found = -self.alive.hazard
        found[self.old] += self.entry.hazard
        found[self.failed] += np.log(-np.expm1(-self.step))
        return found

    @property
    def gradients(self) -> Floats:
        """Gradient of each part, shape = (n, n_parameters)."""
        found = -self.alive.hazard[:, None] * self.alive.change
        found[self.old] += self.entry.hazard[:, None] * self.entry.change
        found[self.failed] += self._moved / np.expm1(self.step)[:, None]
        return found

    @property
    def _moved(self) -> Floats:
        alive = self.alive
        moved: Floats = self.end.hazard[:, None] * self.end.change
        return moved - alive.hazard[self.failed, None] * alive.change[self.failed]

    def gradient(self, weight: Floats) -> Floats:
        """Sum of weight * gradient."""
        chance = weight[self.failed] / np.expm1(self.step)
        entry = self.entry.first(weight[self.old])
        return entry - self.alive.first(self._dying(weight)) + self.end.first(chance)

    def hessian(self, weight: Floats) -> Floats:
        """Sum of weight * second derivatives."""
        chance = 1 / np.expm1(self.step)
        mine, moved = weight[self.failed], self._moved
        found = self.entry.second(weight[self.old]) - self.alive.second(self._dying(weight))
        found += self.end.second(mine * chance)
        found -= moved.T @ (moved * (mine * (chance + chance**2))[:, None])
        return found

    def _dying(self, weight: Floats) -> Floats:
        """Weights of H(alive): a failure begins there too."""
        found = weight.astype(np.float64)
        found[self.failed] += weight[self.failed] / np.expm1(self.step)
        return found


@dataclass(frozen=True)
class _Law:
    """Parameters at one point."""

    theta: Floats
    layout: Layout

    def end(self, use: Floats, before: Floats, kinds: Kinds) -> _End:
        """Look at one end of parts, at a use besides that before first sight."""
        theta, at = self.theta, self.layout
        shape = np.exp(theta[1] + self._of(at.family_shape, kinds.family))
        ratio = self._of(at.zone, kinds.zone) + self._of(at.method, kinds.method)
        worth = np.concatenate([[1.0], np.exp(theta[at.worth])])
        earlier = np.exp(theta[at.longest]) * before * worth
        each = use * worth + earlier
        age = each.sum(axis=1)
        old = age > 0
        age = np.where(old, age, 1.0)
        above = np.log(age) - theta[0] - self._of(at.family, kinds.family)
        hazard = np.where(old, np.exp(shape * above + ratio), 0.0)
        change = np.zeros((age.size, at.size))
        change[:, 0] = -shape
        change[:, 1] = shape * above
        change[:, at.worth] = each[:, 1:] * (shape / age)[:, None]
        change[:, at.longest] = earlier.sum(axis=1) * shape / age
        for block, kind, by in (
            (at.zone, kinds.zone, np.ones(age.size)),
            (at.method, kinds.method, np.ones(age.size)),
            (at.family, kinds.family, change[:, 0]),
            (at.family_shape, kinds.family, change[:, 1]),
        ):
            known = np.flatnonzero(kind >= 0)
            change[known, block.start + kind[known]] = by[known]
        both = earlier[:, 1:] * (shape / age)[:, None]
        return _End(hazard, change, shape, both, kinds.family, at)

    def _of(self, block: slice, kind: Index) -> Floats:
        found: Floats = np.append(self.theta[block], 0.0)[kind]
        return found


@dataclass(frozen=True)
class _End:
    """
    Cumulative hazard H at one end of parts, how log H changes with the parameters, and what bends it.

    Attributes
    ----------
    hazard, shape : array, shape = (n,)
    change : array, shape = (n, n_parameters)
    both : array, shape = (n, n_clocks - 1)
        By how much log H changes with the longest service through each clock but the first.
    family : array of int, shape = (n,)
    layout : Layout
    """

    hazard: Floats
    change: Floats
    shape: Floats
    both: Floats
    family: Index
    layout: Layout

    def first(self, weight: Floats) -> Floats:
        """Sum of weight * derivatives of H."""
        found: Floats = (weight * self.hazard) @ self.change
        return found

    def second(self, weight: Floats) -> Floats:
        """Sum of weight * second derivatives of H."""
        at, part = self.layout, weight * self.hazard
        found: Floats = self.change.T @ (self.change * part[:, None])
        found += self._bent_by_shape(part)
        # the worths, and the longest service, bend one another
        ageing = np.r_[np.arange(*at.worth.indices(at.size)), at.longest]
        change = self.change[:, ageing]
        bent = np.diag(part @ change) - change.T @ (change * (part / self.shape)[:, None])
        bent[:-1, -1] += part @ self.both
        bent[-1, :-1] += part @ self.both
        found[np.ix_(ageing, ageing)] += bent
        return found

    def _bent_by_shape(self, part: Floats) -> Floats:
        """Log shapes, the category's and the family's about it, bend whatever the shape multiplies."""
        at = self.layout
        sums = np.zeros((at.families + 1, at.size))  # by family, and of all in the last row
        for name in range(at.families):
            mine = np.flatnonzero(self.family == name)
            sums[name] = part[mine] @ self.change[mine]
        sums[-1] = part @ self.change
        sums[:, at.zone] = sums[:, at.method] = 0.0
        found = np.zeros((at.size, at.size))
        shapes = np.r_[np.arange(*at.family_shape.indices(at.size)), 1]
        bent = sums[:, shapes]
        sums[:, shapes] = 0.0
        found[shapes] += sums
        found[:, shapes] += sums.T
        found[np.ix_(shapes, shapes)] += bent
        return found
