"""The likelihood of service age: its value for many parameters at once, its gradient and its curvature for one."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from maintain.core.lives import Floats
from maintain.core.service_age.ages import Ages, Index
from maintain.core.service_age.earlier import DAYS, LOG_SHARE
from maintain.core.service_age.prior import Layout

_CELLS_AT_ONCE = 1_000_000  # parameters x parts worked on together
_PARTS_AT_ONCE = 50_000


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


def log_likelihood(theta: Floats, ages: Ages, layout: Layout, by_part: bool = False) -> Floats:
    """
    Log chance of what was seen.

    With service age psi = use @ worth and H = ratio * (psi / scale)^shape, a part adds H(entry) - H(alive), and if it
    was found failed log(1 - exp(H(alive) - H(end))). Of a part that had served nobody knows how long before first sight
    every length of service counts (earlier.DAYS), as far as a part would have lasted so long.

    Parameters
    ----------
    theta : array, shape = (n_points, n_parameters)
        Laid out as Layout says.
    ages : Ages
    layout : Layout
    by_part : bool
        True: not summed over the parts.

    Returns
    -------
    array, shape = (n_points,) or (n_points, n_parts)

    References
    ----------
    Oakes (1995), Multiple time scales in survival analysis, Lifetime Data Analysis 1, 7-18; Duchesne and Lawless
    (2000), Alternative time scales and failure time models, Lifetime Data Analysis 6, 157-179; Prentice and Gloeckler
    (1978), Regression analysis of grouped survival data, Biometrics 34, 57-67; Cox (1962), Renewal Theory, chapter 5,
    on what is left of the lives of parts found in use.
    """
    points = theta.shape[0]
    found = np.zeros((points, ages.n) if by_part else points)
    wide = max(1, _CELLS_AT_ONCE // max(ages.n, 1))
    for top in range(0, points, wide):
        some = slice(top, top + wide)
        for start in range(0, ages.n, _PARTS_AT_ONCE):
            rows = slice(start, start + _PARTS_AT_ONCE)
            each = _by_part(theta[some], ages.take(rows), layout)
            if by_part:
                found[some, rows] = each
            else:
                found[some] += each.sum(axis=1)
    return found


def _by_part(theta: Floats, ages: Ages, layout: Layout) -> Floats:
    found, strangers = _of_known(theta, ages, layout), ages.strangers
    if strangers.size:
        lived, there = (_of_known(theta, each, layout) for each in ages.take(strangers).if_served(DAYS))
        with np.errstate(invalid="ignore"):  # what cannot be is nan here, and -inf below
            found[:, strangers] = _mixed(lived) - _mixed(there)
    return np.where(np.isnan(found), -np.inf, found)


def _mixed(log_chance: Floats) -> Floats:
    """Log chance of each part whatever it had served, from those of each length of service, side by side."""
    each = log_chance.reshape(*log_chance.shape[:-1], -1, DAYS.size) + LOG_SHARE
    found: Floats = np.logaddexp.reduce(each, axis=-1)
    return found


def _of_known(theta: Floats, ages: Ages, layout: Layout) -> Floats:
    shape = np.exp(theta[:, 1])[:, None]
    worth = np.concatenate([np.ones((theta.shape[0], 1)), np.exp(theta[:, layout.worth])], axis=1)
    level = -shape * log_scale(theta, ages.kinds.family, layout) + log_ratio(theta, ages, layout)
    old, failed = np.flatnonzero(ages.entry.any(axis=1)), np.flatnonzero(ages.failed)
    with np.errstate(divide="ignore", over="ignore", invalid="ignore"):
        alive = np.exp(shape * np.log(worth @ ages.alive.T) + level)
        found = -alive
        found[:, old] += np.exp(shape * np.log(worth @ ages.entry[old].T) + level[:, old])
        step = np.exp(shape * np.log(worth @ ages.end[failed].T) + level[:, failed]) - alive[:, failed]
        found[:, failed] += np.log(-np.expm1(-step))
    return found


def log_scale(theta: Floats, family: Index, layout: Layout) -> Floats:
    """Log scale of families (NO_EFFECT: the category's own) at each point, shape = (n_points, n)."""
    found: Floats = theta[:, :1] + _padded(theta[:, layout.family])[:, family]
    return found


def log_ratio(theta: Floats, ages: Ages, layout: Layout) -> Floats:
    """Log hazard ratio of each part's zone and method at each point, shape = (n_points, n)."""
    zone, method = _padded(theta[:, layout.zone]), _padded(theta[:, layout.method])
    found: Floats = zone[:, ages.kinds.zone] + method[:, ages.kinds.method]
    return found


def _padded(columns: Floats) -> Floats:
    """Add a column of zeros at the end, where NO_EFFECT (-1) finds it."""
    return np.concatenate([columns, np.zeros((columns.shape[0], 1))], axis=1)


def slope(theta: Floats, ages: Ages, layout: Layout) -> Slope:
    """
    Log likelihood with its gradient and Hessian, in closed form.

    Parameters
    ----------
    theta : array, shape = (n_parameters,)
    """
    value, gradient = 0.0, np.zeros(layout.size)
    hessian = np.zeros((layout.size, layout.size))
    for start in range(0, ages.n, _PARTS_AT_ONCE):
        some = ages.take(slice(start, start + _PARTS_AT_ONCE))
        part = _slope(theta, some, layout)
        value, gradient, hessian = value + part.value, gradient + part.gradient, hessian + part.hessian
    return Slope(value, gradient, hessian)


def _slope(theta: Floats, ages: Ages, layout: Layout) -> Slope:
    strangers = ages.strangers
    known = np.ones(ages.n, dtype=np.bool_)
    known[strangers] = False
    with np.errstate(over="ignore", invalid="ignore", divide="ignore"):
        of_known = _Sum.at(theta, ages.take(known) if strangers.size else ages, layout)
        value, gradient, hessian = float(of_known.value.sum()), of_known.gradient(1.0), of_known.hessian(1.0)
        if strangers.size:
            for sign, each in zip((1, -1), ages.take(strangers).if_served(DAYS), strict=True):
                part = _mixture(_Sum.at(theta, each, layout))
                value, gradient = value + sign * part.value, gradient + sign * part.gradient
                hessian = hessian + sign * part.hessian
    return Slope(value if np.isfinite(value) else -np.inf, gradient, hessian)


def _mixture(each: _Sum) -> Slope:
    """Log chance of parts whatever they had served, from that of each length of service."""
    total = _mixed(each.value)
    weight = np.exp(each.value.reshape(-1, DAYS.size) + LOG_SHARE - total[:, None])
    by_part = each.gradients.reshape(*weight.shape, -1)
    mean = (weight[:, :, None] * by_part).sum(axis=1)
    spread = np.einsum("nk,nkp,nkq->pq", weight, by_part, by_part) - mean.T @ mean
    return Slope(float(total.sum()), mean.sum(axis=0), each.hessian(weight.ravel()) + spread)


@dataclass(frozen=True)
class _Sum:
    """The terms of parts whose use is known, at one point."""

    entry: _End
    alive: _End
    end: _End
    failed: Index
    step: Floats
    layout: Layout
    old: Index

    @classmethod
    def at(cls, theta: Floats, ages: Ages, layout: Layout) -> _Sum:
        old, failed = np.flatnonzero(ages.entry.any(axis=1)), np.flatnonzero(ages.failed)
        entry = _End.at(theta, ages.entry, ages, layout, old)
        alive = _End.at(theta, ages.alive, ages, layout, np.arange(ages.n))
        end = _End.at(theta, ages.end, ages, layout, failed)
        return cls(entry, alive, end, failed, end.hazard - alive.hazard[failed], layout, old)

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

    def gradient(self, weight: Floats | float) -> Floats:
        """Sum of weight * gradient."""
        weight = np.broadcast_to(weight, self.alive.hazard.shape)
        chance = weight[self.failed] / np.expm1(self.step)
        entry = self.entry.first(weight[self.old])
        return entry - self.alive.first(self._dying(weight)) + self.end.first(chance)

    def hessian(self, weight: Floats | float) -> Floats:
        """Sum of weight * second derivatives."""
        weight = np.broadcast_to(weight, self.alive.hazard.shape)
        chance = 1 / np.expm1(self.step)
        mine, moved = weight[self.failed], self._moved
        found = self.entry.second(weight[self.old], self.layout) - self.alive.second(self._dying(weight), self.layout)
        found += self.end.second(mine * chance, self.layout)
        found -= moved.T @ (moved * (mine * (chance + chance**2))[:, None])
        return found

    def _dying(self, weight: Floats) -> Floats:
        """Weights of H(alive): a failure begins there too."""
        found = weight.astype(np.float64)
        found[self.failed] += weight[self.failed] / np.expm1(self.step)
        return found


@dataclass(frozen=True)
class _End:
    """Cumulative hazard H at one end of the parts, how log H changes with the parameters, and what bends it."""

    hazard: Floats  # shape = (n,)
    change: Floats  # shape = (n, n_parameters)
    shape: float

    @classmethod
    def at(cls, theta: Floats, use: Floats, ages: Ages, layout: Layout, rows: Index) -> _End:
        kinds = ages.kinds.take(rows)
        shape = float(np.exp(theta[1]))
        worth = np.concatenate([[1.0], np.exp(theta[layout.worth])])
        age = use[rows] @ worth
        log_age = np.log(np.where(age > 0, age, 1.0))
        one = theta[None, :]
        above = log_age - log_scale(one, kinds.family, layout)[0]
        ratio = log_ratio(one, ages.take(rows), layout)[0]
        hazard = np.where(age > 0, np.exp(shape * above + ratio), 0.0)
        change = np.zeros((rows.size, layout.size))
        change[:, 0] = -shape
        change[:, 1] = shape * above
        change[:, layout.worth] = shape * use[rows, 1:] * worth[1:] / np.where(age > 0, age, 1.0)[:, None]
        for block, kind, by in (
            (layout.zone, kinds.zone, 1.0),
            (layout.method, kinds.method, 1.0),
            (layout.family, kinds.family, -shape),
        ):
            known = np.flatnonzero(kind >= 0)
            change[known, block.start + kind[known]] = by
        return cls(hazard, change, shape)

    def first(self, weight: Floats | float) -> Floats:
        found: Floats = (weight * self.hazard) @ self.change
        return found

    def second(self, weight: Floats | float, layout: Layout) -> Floats:
        """Sum of weight * second derivatives of H."""
        part = weight * self.hazard
        found: Floats = self.change.T @ (self.change * part[:, None])
        total = part @ self.change
        # d2 log H: the log shape bends whatever the shape multiplies, and the worths bend one another
        for row in (0, *range(*layout.worth.indices(layout.size)), *range(*layout.family.indices(layout.size))):
            found[1, row] += total[row]
            found[row, 1] += total[row]
        found[1, 1] += total[1]
        worth = self.change[:, layout.worth]
        found[layout.worth, layout.worth] += np.diag(total[layout.worth])
        found[layout.worth, layout.worth] -= worth.T @ (worth * part[:, None]) / self.shape
        return found
