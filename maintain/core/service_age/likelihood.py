"""The likelihood of service age, for many parameters at once; its slope at one point is in slope.py."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from maintain.core.lives import Floats
from maintain.core.service_age.ages import Ages, Index, Kinds
from maintain.core.service_age.earlier import SERVED, SHARE
from maintain.core.service_age.prior import Layout

PARTS_AT_ONCE = 50_000
_CELLS_AT_ONCE = 100_000  # parameters x parts worked on together: about what a processor keeps at hand


def log_likelihood(theta: Floats, ages: Ages, layout: Layout, by_part: bool = False) -> Floats:
    """
    Log chance of what was seen.

    With service age psi = use @ worth and H = ratio * (psi / scale)^shape, a part adds H(entry) - H(alive), and if it
    was found failed log(1 - exp(H(alive) - H(end))). Of a part that had served nobody knows how long before first sight
    every length of service counts (earlier.SERVED), as far as a part would have lasted so long.

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
    for start in range(0, ages.n, PARTS_AT_ONCE):
        rows = slice(start, start + PARTS_AT_ONCE)
        some = ages.take(rows)
        wide = max(1, _CELLS_AT_ONCE // some.n)
        for top in range(0, points, wide):
            these = slice(top, top + wide)
            each = _by_part(theta[these], some, layout)
            if by_part:
                found[these, rows] = each
            else:
                found[these] += each.sum(axis=1)
    return found


def _by_part(theta: Floats, ages: Ages, layout: Layout) -> Floats:
    with np.errstate(divide="ignore", over="ignore", invalid="ignore"):  # what cannot be is nan here, and -inf below
        if not ages.strangers.size:
            found = _of_known(_Laws.at(theta, ages.kinds, layout), ages)
        else:
            found = np.empty((theta.shape[0], ages.n))
            for rows, of in ((ages.acquainted, _of_known), (ages.strangers, _of_strange)):
                some = ages.take(rows)
                found[:, rows] = of(_Laws.at(theta, some.kinds, layout), some)
    return np.where(np.isnan(found), -np.inf, found)


@dataclass(frozen=True)
class _Laws:
    """The law of every part (column) at every point (row): H = exp(shape * log(use @ worth) + level)."""

    shape: Floats
    level: Floats
    worth: Floats
    longest: Floats

    @classmethod
    def at(cls, theta: Floats, kinds: Kinds, layout: Layout) -> _Laws:
        # worked out once for parts that do not differ
        alike, group = np.unique(np.stack([kinds.family, kinds.zone, kinds.method]), axis=1, return_inverse=True)
        family, zone, method = alike
        shape = np.exp(theta[:, 1:2] + padded(theta[:, layout.family_shape])[:, family])
        level = padded(theta[:, layout.zone])[:, zone] + padded(theta[:, layout.method])[:, method]
        level -= shape * (theta[:, :1] + padded(theta[:, layout.family])[:, family])
        worth = np.concatenate([np.ones((theta.shape[0], 1)), np.exp(theta[:, layout.worth])], axis=1)
        longest = np.exp(theta[:, layout.longest, None])
        return cls(shape[:, group.ravel()], level[:, group.ravel()], worth, longest)

    def age(self, use: Floats) -> Floats:
        """Service age of parts with a use on every clock."""
        found: Floats = self.worth @ use.T
        return found

    def hazard(self, age: Floats, rows: Index | slice = slice(None)) -> Floats:
        """Cumulative hazard of the parts in `rows` at a service age."""
        found = np.log(age)
        found *= self.shape[:, rows]
        found += self.level[:, rows]
        return np.asarray(np.exp(found, out=found))


def _of_known(laws: _Laws, ages: Ages) -> Floats:
    old, failed = np.flatnonzero(ages.entry.any(axis=1)), np.flatnonzero(ages.failed)
    alive = laws.hazard(laws.age(ages.alive))
    found = -alive
    found[:, old] += laws.hazard(laws.age(ages.entry[old]), old)
    end = laws.hazard(laws.age(ages.end[failed]), failed)
    found[:, failed] += np.log(-np.expm1(alive[:, failed] - end))
    return found


def _of_strange(laws: _Laws, ages: Ages) -> Floats:
    """Whatever they had served, and given that they lasted until they were first seen."""
    failed = np.flatnonzero(ages.failed)
    most, seen, end = laws.longest * laws.age(ages.paces), laws.age(ages.alive), laws.age(ages.end[failed])
    # taken out of both sums, as the smallest hazards of all: no sum can vanish
    young, young_seen = (laws.hazard(SERVED[0] * most + more) for more in (0.0, seen))
    lasted, lived = np.zeros_like(most), np.zeros_like(most)
    for served, share in zip(SERVED.tolist(), SHARE.tolist(), strict=True):
        before = served * most
        alive = laws.hazard(before + seen)
        chance = np.exp(young_seen - alive)
        chance[:, failed] *= -np.expm1(alive[:, failed] - laws.hazard(before[:, failed] + end, failed))
        lived += share * chance
        lasted += share * np.exp(young - laws.hazard(before))
    found: Floats = np.log(lived) - young_seen - np.log(lasted) + young
    return found


def padded(columns: Floats) -> Floats:
    """Add a column of zeros at the end, where NO_EFFECT (-1) finds it."""
    return np.concatenate([columns, np.zeros((columns.shape[0], 1))], axis=1)
