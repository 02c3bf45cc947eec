"""Life curves whose limits allow for lives that share their luck: parts of one ship sink together."""

from __future__ import annotations

from dataclasses import dataclass, fields

import numpy as np
from numpy.typing import ArrayLike

from maintain.core.at_risk import Codes, codes_of, observed
from maintain.core.curve import SurvivalCurve, hazard_limits, log_log_limits, survival_curve
from maintain.core.estimate import two_sided_z
from maintain.core.lives import Floats, Lives
from maintain.errors import InvalidRecord

FEWEST_CLUSTERS = 5  # the spread of fewer says more about chance than about the clusters (common practice, no source)
MOST_CELLS = 20_000_000  # clusters times failure times that are held at once


@dataclass(frozen=True)
class ClusteredCurve(SurvivalCurve):
    """
    A life curve with the infinitesimal jackknife's variances, whole clusters at a time.

    Attributes
    ----------
    pull : array, shape = (clusters, k)
        What each cluster adds to the step that -ln(survival) takes at each failure time as its weight grows, widened
        for few clusters.
    """

    pull: Floats

    def _mean_spread(self, beyond: Floats) -> float:
        return max(float(np.sum((self.pull[:, : beyond.size] @ beyond) ** 2)), super()._mean_spread(beyond))


def clustered_curve(lives: Lives, cluster: ArrayLike, conf: float = 0.95) -> ClusteredCurve:
    """
    Estimate the share of parts still working, with limits that hold where lives of one cluster fail together.

    The curve is that of `survival_curve`; only variances differ: each is the greater of Greenwood's and that between
    clusters, since few clusters that happen to agree make nobody surer. That between G clusters is the infinitesimal
    jackknife's (with every life its own cluster and no delayed entry it is Greenwood's), times G / (G - 1) and the
    square of Student's over the normal quantile, with G - 1 degrees of freedom: 5 to 40 clusters were too narrow
    without.

    Parameters
    ----------
    lives : Lives
        Exact or right-censored lives, with or without delayed entry.
    cluster : array-like, shape = (n,)
        Lives with the same label share their luck.
    conf : float
        Confidence of the two-sided intervals.

    Raises
    ------
    NotEnoughData, InvalidRecord
        As `survival_curve`; also if there are fewer than FEWEST_CLUSTERS clusters, or too many to hold at once.

    References
    ----------
    Infinitesimal jackknife by cluster: Lin and Wei (1989), J. Am. Stat. Assoc. 84, 1074-1078; for life curves
    Ying and Wei (1994), J. Multivariate Analysis 50, 17-29.
    """
    names, code = codes_of(cluster, lives.n, "the cluster")
    plain, size = survival_curve(lives, conf), len(names)
    if size < FEWEST_CLUSTERS:
        raise InvalidRecord(
            f"{size} clusters are too few to make limits from", hint=f"it takes {FEWEST_CLUSTERS} or more"
        )
    if size * plain.time.size > MOST_CELLS:
        raise InvalidRecord(
            f"{size} clusters and {plain.time.size} times of failure are too many for limits by cluster",
            hint="leave the cluster out, or ask about fewer lives",
        )
    z, risk, died = two_sided_z(conf), plain.at_risk, plain.events
    surprise = _surprise(lives, code, size, plain) * _widening(size, conf)
    pull = np.where(risk > died, surprise / np.maximum(risk - died, 1), 0.0)
    alone = np.cumsum(np.where(risk > died, died / (risk * np.maximum(risk - died, 1.0)), 0.0))
    log_variance = np.maximum(np.sum(np.cumsum(pull, axis=1) ** 2, axis=0), alone)
    lower, upper = log_log_limits(plain.survival, np.sqrt(log_variance), z)
    hazard_alone = np.cumsum(died / risk.astype(np.float64) ** 2)
    hazard_se = np.sqrt(np.maximum(np.sum(np.cumsum(surprise / risk, axis=1) ** 2, axis=0), hazard_alone))
    hazard_lower, hazard_upper = hazard_limits(plain.hazard, hazard_se, z)
    changed = {
        "variance": plain.survival**2 * log_variance,
        "lower": lower,
        "upper": upper,
        "hazard_lower": hazard_lower,
        "hazard_upper": hazard_upper,
    }
    same = {each.name: getattr(plain, each.name) for each in fields(plain)}
    return ClusteredCurve(**{**same, **changed}, pull=pull)


def _surprise(lives: Lives, code: Codes, size: int, curve: SurvivalCurve) -> Floats:
    """Return, by cluster and failure time, its failures less its share of all by those it had at risk."""
    seen, times = observed(lives), curve.time.size
    enters, leaves = (np.searchsorted(curve.time, each, side="right") for each in (seen.entry, seen.exit))
    failed = np.zeros((size, times))
    np.add.at(failed, (code[seen.failed], leaves[seen.failed] - 1), 1.0)
    change = np.zeros((size, times + 1))
    np.add.at(change, (code, enters), 1.0)
    np.add.at(change, (code, leaves), -1.0)
    found: Floats = failed - np.cumsum(change, axis=1)[:, :-1] * (curve.events / curve.at_risk)
    return found


def _widening(clusters: int, conf: float) -> float:
    """Return what standard errors between few clusters must be multiplied by."""
    from scipy.special import stdtrit

    student = float(stdtrit(clusters - 1, (1 + conf) / 2))
    return float(np.sqrt(clusters / (clusters - 1))) * student / two_sided_z(conf)
