"""Which clock explains the failures best: days, sorties, water, or a service age fitted from all of them?"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from maintain.core.lives import Floats
from maintain.core.service_age.ages import Ages, Kinds
from maintain.core.service_age.likelihood import log_likelihood
from maintain.core.service_age.peak import Belief, Problem, peak
from maintain.core.service_age.prior import Layout, Prior

DAYS_LEFT = 0.02  # share of days in the ageing by any other clock: a failure found while that stood still took some
_WIDE = 20.0  # standard deviation of a log about which nothing is believed


@dataclass(frozen=True)
class Candidate:
    """
    One measure of use to be compared.

    Attributes
    ----------
    name : str
    ages : Ages
        The same parts as those of all others.
    layout, prior
        Of its fit.
    """

    name: str
    ages: Ages
    layout: Layout
    prior: Prior


@dataclass(frozen=True)
class Explained:
    """
    How well a clock explains the failures.

    Attributes
    ----------
    name : str
    parameters : int
    log_likelihood : float
        The largest, all parts having one law.
    aic : float
        2 * parameters - 2 * log_likelihood: least is best.
    log_score : float
        Log chance of each ship's lives by what the other ships' lives say, added up: largest is best.
    by_ship : array, shape = (n_ships,)
        The same, ship by ship.
    """

    name: str
    parameters: int
    log_likelihood: float
    aic: float
    log_score: float
    by_ship: Floats


def alone(ages: Ages, place: int) -> Ages:
    """
    Ages on one clock alone, but for a little of days (the first clock).

    Every failure has a chance then, also one found ashore after a winter without a sortie.
    """
    if place == 0:
        return ages.on([0])
    total = (ages.end - ages.entry).sum(axis=0)
    worth = (1 - DAYS_LEFT) * total[0] / total[place]
    entry, alive, end = (
        (DAYS_LEFT * use[:, :1] + worth * use[:, place, None]) for use in (ages.entry, ages.alive, ages.end)
    )
    return Ages(entry, alive, end, ages.failed, ages.kinds)


def explained(candidate: Candidate, ship: NDArray[np.intp]) -> Explained:
    """
    Fit a clock to all parts, and to those of all ships but one.

    Parameters
    ----------
    candidate : Candidate
    ship : array of int, shape = (n,)
        Of each part, numbered from 0.

    References
    ----------
    Akaike (1974), IEEE Transactions on Automatic Control 19, 716-723; Gneiting and Raftery (2007), Strictly proper
    scoring rules, JASA 102, 359-378; Duchesne and Lawless (2000), Lifetime Data Analysis 6, 157-179.
    """
    ages, layout, prior = candidate.ages, candidate.layout, candidate.prior
    alike, plain = replace(ages, kinds=Kinds.alike(ages.n)), Layout(layout.clocks)
    nothing = replace(prior, log_shape_sd=_WIDE, log_scale_sd=_WIDE, log_worth_sd=_WIDE)
    best = peak(Problem(alike, plain, Belief(nothing.mean(plain), nothing.sd(plain, 0.0)))).log_likelihood
    mean, sd = prior.mean(layout), prior.sd(layout, prior.between_sd)
    whole = peak(Problem(ages, layout, Belief(mean, sd)))
    score = []
    for one in range(int(ship.max()) + 1):
        others = peak(Problem(ages.take(ship != one), layout, Belief(mean, sd)), whole.theta)
        score.append(float(log_likelihood(others.theta[None, :], ages.take(ship == one), layout)[0]))
    parameters = 1 + layout.clocks
    return Explained(candidate.name, parameters, best, 2 * parameters - 2 * best, float(np.sum(score)), np.array(score))
