"""By how much mean lives of two groups differ, lives of one ship or sinking taken to fail together."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from maintain.core.at_risk import Codes
from maintain.core.curve import SurvivalCurve, survival_curve
from maintain.core.estimate import Estimate, check_share, two_sided_z
from maintain.core.lives import Floats, Lives
from maintain.core.midpoints import at_middle
from maintain.errors import NotEnoughData


@dataclass(frozen=True)
class MeanLife:
    """
    The mean life of a group up to a limit, and how much each life pulls it.

    Attributes
    ----------
    estimate : Estimate
    rows : array of int, shape = (n_group,)
        Places of the group's lives in the sample.
    pull : array, shape = (n_group,)
        Change of the mean for a small change of the life's weight; they add up to 0.
    """

    estimate: Estimate
    rows: Codes
    pull: Floats


@dataclass(frozen=True)
class MeanDifference:
    """
    The mean life of one group less that of another.

    Attributes
    ----------
    estimate : Estimate
        Without limits where nothing failed before the limit of the means, or a group's lives are all of one cluster.
    p : float or None
        Of no difference.
    by : str or None
        What lives share, of all ways the one that leaves the difference least sure; None: nothing.
    df : float or None
        Degrees of freedom of Student's t; None: normal.
    """

    estimate: Estimate
    p: float | None
    by: str | None
    df: float | None


def mean_life(lives: Lives, rows: Codes, tau: float, conf: float) -> MeanLife | None:
    """
    Return the mean life of some lives up to a limit.

    Parameters
    ----------
    lives : Lives
        A failure known only to an interval counts at the middle of it.
    rows : array of int
        Places of those that are meant.
    tau : float
    conf : float

    Returns
    -------
    MeanLife, or None where the curve does not reach that far or means nothing before.

    References
    ----------
    Klein and Moeschberger (2003), Survival Analysis, 2nd ed., section 4.5; pulls: Reid (1981), Ann. Statist. 9,
    78-92, the influence function of the Kaplan-Meier curve.
    """
    own = at_middle(lives.take(rows))
    curve = survival_curve(own, conf)
    if curve.emptied_at is not None and curve.emptied_at <= tau:
        return None
    try:
        return MeanLife(curve.restricted_mean(tau), rows, _pull(own, curve, tau))
    except NotEnoughData:
        return None


def mean_difference(a: MeanLife, b: MeanLife, clusters: Mapping[str, NDArray[np.intp]], conf: float) -> MeanDifference:
    """
    Return the mean life of b less that of a.

    Parameters
    ----------
    a, b : MeanLife
        Of the same sample, up to the same limit.
    clusters : mapping of name to array of int, shape = (n,)
        Ways in which the lives of the sample hang together, each numbered from 0; the widest interval of all, and of
        lives on their own, is given.
    conf : float

    Notes
    -----
    The pulls are added up within clusters, across both groups, each group's divided by the root of one less the
    cluster's share of its lives: exact for means of equal clusters. Degrees of freedom count the clusters by their
    weight.

    References
    ----------
    Bell and McCaffrey (2002), Survey Methodology 28, 169-181; Carter, Schnepel and Steigerwald (2017), Rev. Econ.
    Stat. 99, 698-709 (clusters that count).
    """
    from scipy.special import stdtr, stdtrit

    assert a.estimate.value is not None
    assert b.estimate.value is not None
    gap, level = b.estimate.value - a.estimate.value, (1 + check_share(conf, "confidence")) / 2
    widest, reach = _alone(gap, a, b, conf), 0.0
    if widest.estimate.se is None:
        return widest
    reach = two_sided_z(conf) * widest.estimate.se
    for by, code in clusters.items():
        se, df = _together(a, b, code)
        if df < 1:
            return MeanDifference(Estimate(gap, None, None), None, by, None)
        half = float(stdtrit(df, level)) * se
        if half > reach:
            reach = half
            p = float(2 * stdtr(df, -abs(gap) / se))
            widest = MeanDifference(Estimate(gap, gap - half, gap + half, se), p, by, df)
    return widest


def _alone(gap: float, a: MeanLife, b: MeanLife, conf: float) -> MeanDifference:
    """Judge the difference with lives taken on their own."""
    from scipy.special import ndtr

    se = math.hypot(a.estimate.se or 0.0, b.estimate.se or 0.0)
    if se == 0:  # no failure before the limit in either group: nothing to judge the gap by
        return MeanDifference(Estimate(gap, None, None), None, None, None)
    half = two_sided_z(conf) * se
    return MeanDifference(Estimate(gap, gap - half, gap + half, se), float(2 * ndtr(-abs(gap) / se)), None, None)


def _together(a: MeanLife, b: MeanLife, code: NDArray[np.intp]) -> tuple[float, float]:
    """Return the standard error with clusters taken whole, and its degrees of freedom (0: it can't be judged)."""
    size = int(code.max()) + 1
    shares = [np.bincount(code[each.rows], minlength=size) / each.rows.size for each in (a, b)]
    if max(share.max() for share in shares) == 1:
        return 0.0, 0.0
    sums = [np.bincount(code[each.rows], each.pull, size) for each in (a, b)]
    first, second = (total / np.sqrt(1 - share) for total, share in zip(sums, shares, strict=True))
    weight = shares[0] ** 2 + shares[1] ** 2
    counted = float(weight.sum() ** 2 / np.sum(weight**2))
    apart = not np.any((shares[0] > 0) & (shares[1] > 0))
    return float(np.sqrt(np.sum((second - first) ** 2))), counted - (2 if apart else 1)


def _pull(own: Lives, curve: SurvivalCurve, tau: float) -> Floats:
    """Return how much each life pulls the area under the curve up to tau."""
    until = int(np.searchsorted(curve.time, tau, side="right"))
    times, risk, died = curve.time[:until], curve.at_risk[:until].astype(np.float64), curve.events[:until]
    steps = np.diff(np.concatenate((times, [tau])))
    beyond = np.cumsum((steps * curve.survival[:until])[::-1])[::-1]
    cost = np.where(risk > died, beyond / np.maximum(risk - died, 1.0), 0.0)
    paid = np.concatenate(([0.0], np.cumsum(cost * died / risk)))
    until_exit, until_entry = (
        np.searchsorted(times, bound, side="right") for bound in (np.where(own.failed, own.upper, own.lower), own.entry)
    )
    pull: Floats = paid[until_exit] - paid[until_entry]
    failed = own.failed & (own.upper <= tau)
    pull[failed] -= cost[np.searchsorted(times, own.upper[failed])]
    return pull
