"""Limits drawn again and again, against Greenwood's where times are exact, and by hand."""

from __future__ import annotations

import numpy as np
import pytest

from maintain.core.curve import survival_curve
from maintain.core.interval_limits import Asked, Resampling, interval_limits
from maintain.core.lives import lives_from_intervals, lives_from_times
from maintain.core.turnbull import interval_curve

INF = np.inf


def drawing(draws: int = 200, clusters: np.ndarray | None = None) -> Resampling:
    return Resampling(np.random.default_rng(5), clusters, draws)


def test_exact_times_have_about_the_limits_of_greenwood():
    rng = np.random.default_rng(3)
    life, seen = rng.weibull(1.5, 300) * 100, rng.uniform(20, 200, 300)
    lives = lives_from_times(np.minimum(life, seen), life <= seen)
    times = [40, 80, 120]
    found, greenwood = interval_limits(lives, Asked(np.array(times), 150), drawing(400)), survival_curve(lives)
    points, mean = greenwood.survival_at(times), greenwood.restricted_mean(150)
    for name in ("value", "lower", "upper"):
        known = points.survival if name == "value" else getattr(points, name)
        assert [getattr(each, name) for each in found.survival] == pytest.approx(known, abs=0.02)
        assert getattr(found.restricted_mean, name) == pytest.approx(getattr(mean, name), rel=0.03)
    assert found.median.value == greenwood.median.value
    assert found.median.lower == pytest.approx(greenwood.median.lower, rel=0.1)


def test_the_restricted_mean_spreads_failures_evenly_within_their_intervals():
    curve = interval_curve(lives_from_intervals([0, 4, 10], [4, 8, INF]))
    # A third each at 2 and 6 on average, a third beyond 10.
    assert curve.restricted_mean(10) == pytest.approx((2 + 6 + 10) / 3)
    # Up to 6 the second third gives 4 and then half of the two that remain on average: 6 - (6 - 4)^2 / (2 * 4).
    assert curve.restricted_mean(6) == pytest.approx((2 + 5.5 + 6) / 3)


def test_lives_of_one_ship_are_drawn_together():
    clusters = np.repeat(np.arange(10), 4)
    rows = drawing(clusters=clusters).rows(40)
    ships, counts = np.unique(clusters[rows], return_counts=True)
    assert rows.size == 40
    assert (counts % 4 == 0).all()
    assert ships.size < 10


def test_limits_are_wider_where_ships_fail_as_one():
    ship = np.repeat(np.arange(8), 10)
    early = np.repeat(np.arange(8) % 2 == 0, 10)
    lives = lives_from_intervals(np.where(early, 1, 9), np.where(early, 3, 12))
    together = interval_limits(lives, Asked(np.array([5.0]), 9), drawing(clusters=ship)).survival[0]
    alone = interval_limits(lives, Asked(np.array([5.0]), 9), drawing()).survival[0]
    assert together.upper - together.lower > 2 * (alone.upper - alone.lower)


def test_without_drawing_there_are_no_limits():
    found = interval_limits(lives_from_intervals([0, 4], [4, INF]), Asked(np.array([2.0, 4.0]), 4), drawing(0))
    assert [(each.value, each.lower, each.upper) for each in found.survival] == [(None, None, None), (0.5, None, None)]
