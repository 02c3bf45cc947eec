"""Differences of mean lives with clusters, against scipy's t tests, lifelines' weighted curves and simulation."""

from __future__ import annotations

import numpy as np
import pytest
from lifelines import KaplanMeierFitter
from lifelines.utils import restricted_mean_survival_time
from scipy.stats import ttest_ind, ttest_rel

from maintain.core.lives import lives_from_times
from maintain.core.mean_difference import mean_difference, mean_life


def gap_of(lives, group, ship, tau):
    """Mean life of group 1 less that of group 0, lives of a ship together."""
    means = [mean_life(lives, np.flatnonzero(group == one), tau, 0.95) for one in (0, 1)]
    return mean_difference(*means, {"ship": ship}, 0.95)


def club(seed: int, *, ships: int, parts: int, shape: float, mixed: bool = False):
    """Parts of ships with luck of their own, half of them seen from an age on; no difference between the groups."""
    rng = np.random.default_rng(seed)
    ship = np.repeat(np.arange(ships), parts)
    life = rng.weibull(1.5, ship.size) / rng.gamma(shape, 1 / shape, ships)[ship] ** (1 / 1.5)
    entry = np.where(rng.random(ship.size) < 0.5, rng.uniform(0, 0.3, ship.size), 0)
    watched = rng.uniform(0.5, 3, ship.size)
    seen = np.minimum(life, watched) > entry
    group = rng.integers(0, 2, ship.size) if mixed else ship % 2
    lives = lives_from_times(np.minimum(life, watched)[seen], (life <= watched)[seen], entry[seen])
    return lives, group[seen], ship[seen]


def test_ships_of_one_group_each_are_compared_as_by_students_t_of_their_means():
    rng = np.random.default_rng(1)
    ship = np.repeat(np.arange(12), 5)
    time = rng.weibull(1.5, 60) * rng.uniform(0.5, 2, 12)[ship]
    means = np.array([time[ship == one].mean() for one in range(12)])
    expected = ttest_ind(means[1::2], means[::2])
    found = gap_of(lives_from_times(time), ship % 2, ship, time.max())
    assert found.by == "ship"
    assert found.df == pytest.approx(expected.df)
    assert found.p == pytest.approx(expected.pvalue)
    limits = expected.confidence_interval(0.95)
    assert (found.estimate.lower, found.estimate.upper) == pytest.approx((limits.low, limits.high))


def test_ships_that_hold_both_groups_are_compared_as_by_the_paired_t():
    rng = np.random.default_rng(2)
    ship, group = np.repeat(np.arange(10), 6), np.tile([0, 0, 0, 1, 1, 1], 10)
    time = rng.weibull(1.5, 60) * np.where(group, 1.0, rng.uniform(0.3, 3, 10)[ship])
    means = np.array([[time[(ship == one) & (group == kind)].mean() for kind in (0, 1)] for one in range(10)])
    expected = ttest_rel(means[:, 1], means[:, 0])
    found = gap_of(lives_from_times(time), group, ship, time.max())
    assert (found.by, found.df) == ("ship", pytest.approx(9))
    assert found.p == pytest.approx(expected.pvalue)


def test_a_pull_is_what_a_little_more_weight_does_to_lifelines_curve_with_delayed_entry():
    lives, group, _ = club(3, ships=8, parts=5, shape=2.0)
    rows = np.flatnonzero(group == 0)
    ours = mean_life(lives, rows, 0.9, 0.95)
    own, little = lives.take(rows), 1e-4

    def mean(weights):
        exit_ = np.where(own.failed, own.upper, own.lower)
        curve = KaplanMeierFitter().fit(exit_, own.failed, entry=own.entry, weights=weights)
        return restricted_mean_survival_time(curve, t=0.9)

    whole = mean(np.full(rows.size, 10000))
    assert ours.estimate.value == pytest.approx(whole, rel=1e-6)
    changes = [(mean(np.where(np.arange(rows.size) == one, 10001, 10000)) - whole) / little for one in range(rows.size)]
    assert ours.pull == pytest.approx(np.array(changes), abs=2e-5)


def test_lives_as_their_own_clusters_have_greenwoods_error():
    rng = np.random.default_rng(4)
    time, failed = rng.exponential(1, 50), rng.random(50) < 0.7
    found = mean_life(lives_from_times(time, failed), np.arange(50), 1.0, 0.95)
    assert np.sum(found.pull**2) == pytest.approx(found.estimate.se**2)
    assert found.pull.sum() == pytest.approx(0, abs=1e-12)


def test_leaving_out_each_ship_in_turn_gives_nearly_the_same_error():
    lives, group, ship = club(5, ships=16, parts=10, shape=2.0)
    found = gap_of(lives, group, ship, 1.0)

    def gap(rows):
        means = [mean_life(lives, np.flatnonzero(rows & (group == one)), 1.0, 0.95) for one in (0, 1)]
        return means[1].estimate.value - means[0].estimate.value

    gaps = np.array([gap(ship != one) for one in range(16)])
    # Tukey's jackknife within each of two groups of eight ships.
    jackknife = np.sqrt(7 / 8 * sum(np.sum((part - part.mean()) ** 2) for part in (gaps[::2], gaps[1::2])))
    assert found.estimate.se == pytest.approx(jackknife, rel=0.03)


def test_a_group_of_one_ship_only_cannot_be_told_from_her():
    lives, _, ship = club(6, ships=6, parts=6, shape=2.0)
    found = gap_of(lives, (ship == 0).astype(int), ship, 0.8)
    assert (found.by, found.p, found.estimate.lower) == ("ship", None, None)
    assert found.estimate.value is not None


def coverage(draws: int, **how) -> tuple[float, float]:
    held, held_alone = [], []
    for seed in range(draws):
        lives, group, ship = club(seed, **how)
        means = [mean_life(lives, np.flatnonzero(group == one), 1.0, 0.95) for one in (0, 1)]
        if None in means:
            continue
        for ways, into in (({"ship": ship}, held), ({}, held_alone)):
            limits = mean_difference(*means, ways, 0.95).estimate
            into.append(limits.lower <= 0 <= limits.upper)
    return float(np.mean(held)), float(np.mean(held_alone))


def test_intervals_hold_for_ships_of_unequal_luck_where_those_of_lives_alone_do_not():
    together, alone = coverage(150, ships=16, parts=10, shape=2.0)
    assert together > 0.9
    assert alone < 0.85


@pytest.mark.slow
@pytest.mark.parametrize("mixed", [False, True])
@pytest.mark.parametrize(("ships", "parts", "shape"), [(6, 8, 2.0), (10, 5, 2.0), (16, 30, 1.0), (40, 5, 1.0)])
def test_intervals_hold_in_clubs_of_many_makes(ships, parts, shape, mixed):
    together, _ = coverage(1500, ships=ships, parts=parts, shape=shape, mixed=mixed)
    assert 0.935 < together < 0.985
