"""Limits by cluster: Greenwood's where every life is alone, else a jackknife by brute force, and by simulation."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import norm, t

from maintain.core.clustered_curve import FEWEST_CLUSTERS, clustered_curve
from maintain.core.curve import survival_curve
from maintain.core.lives import lives_from_times
from maintain.errors import InvalidRecord
from tests.core.published_lives import freireich
from tests.coverage_study.clubs import parts, share_working

RNG = np.random.default_rng(4)
SHIP = np.repeat(np.arange(8), 5)
ENTRY = RNG.uniform(0, 3, SHIP.size).round()
LIFE = ENTRY + 1 + (RNG.weibull(1.5, SHIP.size) * 8 * RNG.gamma(2, 0.5, 8)[SHIP]).round()
LIVES = lives_from_times(LIFE, RNG.random(SHIP.size) < 0.7, ENTRY)


def widening(clusters: int) -> float:
    return float(np.sqrt(clusters / (clusters - 1)) * t.ppf(0.975, clusters - 1) / norm.ppf(0.975))


def test_with_every_life_its_own_cluster_it_is_greenwood():
    # Greenwood (1926) through survival_curve, which reproduces R's survfit on these lives.
    lives = freireich("6MP")
    found, greenwood = clustered_curve(lives, np.arange(lives.n)), survival_curve(lives)
    between = np.sum(np.cumsum(found.pull, axis=1) ** 2, axis=0) / widening(lives.n) ** 2
    assert greenwood.survival**2 * between == pytest.approx(greenwood.variance, rel=1e-9)
    assert found.survival.tolist() == greenwood.survival.tolist()


def weighted(weights: np.ndarray, tau: float) -> np.ndarray:
    """The curve and the area under it where lives weigh `weights`, straight from the definition."""
    times, share, shares, area, last = np.unique(LIFE[LIVES.failed]), 1.0, [], 0.0, 0.0
    for time in times:
        risk = weights[(time > ENTRY) & (time <= LIFE)].sum()
        area += share * (min(time, tau) - last)
        last = min(time, tau)
        share *= 1 - weights[LIVES.failed & (time == LIFE)].sum() / risk
        shares.append(share)
    return np.array([*np.log(shares[:-1]), area + share * (tau - last)])


def test_it_is_the_jackknife_by_ship_with_late_entry():
    tau, step = 7.0, 1e-5
    slopes = [
        (weighted(1 + step * (s == SHIP), tau) - weighted(1 - step * (s == SHIP), tau)) / (2 * step) for s in range(8)
    ]
    variance = np.sum(np.array(slopes) ** 2, axis=0) * widening(8) ** 2
    found, alone = clustered_curve(LIVES, SHIP), survival_curve(LIVES)
    greenwood = alone.variance[:-1] / alone.survival[:-1] ** 2
    assert found.variance[:-1] / found.survival[:-1] ** 2 == pytest.approx(
        np.maximum(variance[:-1], greenwood), rel=1e-4
    )
    assert (variance[:-1] > greenwood).any()
    se = max(np.sqrt(variance[-1]), alone.restricted_mean(tau).se)
    assert found.restricted_mean(tau).se == pytest.approx(se, rel=1e-4)


def test_ships_that_fail_as_one_widen_the_limits():
    ship = np.repeat(np.arange(10), 6)
    lives = lives_from_times(np.where(ship % 2 == 0, 3, 9) + 0.01 * np.arange(60) % 6)
    found, alone = (each.survival_at([5]) for each in (clustered_curve(lives, ship), survival_curve(lives)))
    assert found.survival == alone.survival
    assert found.upper - found.lower > 2 * (alone.upper - alone.lower)


def test_limits_by_ship_hold_where_those_that_ignore_ships_do_not():
    rng, held = np.random.default_rng(8), np.zeros(2)
    truth, clubs = share_working(400, 0.5), 400
    for _ in range(clubs):
        club = parts(rng, 16, 10, luck=0.5)
        for place, curve in enumerate((clustered_curve(club.lives, club.ship), survival_curve(club.lives))):
            point = curve.survival_at([400])
            held[place] += point.lower[0] <= truth <= point.upper[0]
    assert held[0] / clubs > 0.91
    assert held[1] / clubs < 0.88


def test_few_clusters_are_refused():
    with pytest.raises(InvalidRecord, match="4 clusters are too few"):
        clustered_curve(lives_from_times(np.arange(1, 9)), np.arange(8) % (FEWEST_CLUSTERS - 1))
