"""Draws from a stated truth, held against closed forms and scipy."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats

from maintain.core.simulate import ServiceAge, Sorties, Waters, Weibull, look_ahead, sail, water_reaching


def test_failure_ages_of_new_parts_follow_the_weibull_law() -> None:
    ages = Weibull(1.7, 400.0).failure_ages(np.random.default_rng(3), np.zeros(4000))
    assert stats.kstest(ages, stats.weibull_min(1.7, scale=400.0).cdf).pvalue > 0.01


def test_failure_ages_of_used_parts_follow_the_law_of_survivors() -> None:
    law = stats.weibull_min(2.2, scale=400.0)
    ages = Weibull(2.2, 400.0).failure_ages(np.random.default_rng(4), np.full(4000, 300.0))
    assert stats.kstest(ages, lambda t: 1.0 - law.sf(t) / law.sf(300.0)).pvalue > 0.01


def test_a_hazard_ratio_is_the_same_as_a_shorter_scale() -> None:
    ages = Weibull(2.0, 400.0).failure_ages(np.random.default_rng(5), np.zeros(4000), 4.0)
    assert stats.kstest(ages, stats.weibull_min(2.0, scale=200.0).cdf).pvalue > 0.01


def test_hazard_gained_is_scipys_cumulative_hazard() -> None:
    law = stats.weibull_min(1.4, scale=250.0)
    gained = Weibull(1.4, 250.0).hazard_gained([10.0, 90.0], [80.0, 400.0], 0.6)
    assert gained == pytest.approx(0.6 * (law.logsf([10.0, 90.0]) - law.logsf([80.0, 400.0])))


def test_steady_failures_with_renewal_are_a_poisson_process() -> None:
    seen = look_ahead(np.random.default_rng(6), Weibull(1.0, 100.0), 55.0, np.full(20_000, 150.0), ratio=0.8)
    expected = 20_000 * stats.poisson(1.2).pmf(np.arange(5))
    observed = np.bincount(np.minimum(seen.failures, 5), minlength=6)
    assert stats.chisquare(observed, [*expected, 20_000 - expected.sum()]).pvalue > 0.01
    assert seen.fails == pytest.approx(stats.poisson(1.2).sf(0))


def test_wetness_comes_as_often_as_stated() -> None:
    chances = (0.40, 0.25, 0.15, 0.12, 0.06, 0.02)
    trips = sail(np.random.default_rng(7), Waters(chances, box_lets_in=(0.1, 0.5)), (30_000,))
    observed = np.bincount(trips.wetness, minlength=6)
    assert stats.chisquare(observed, 30_000 * np.array(chances)).pvalue > 0.01
    assert trips.box_wet[trips.wetness >= 4].mean() == pytest.approx(0.5, abs=0.03)
    assert not trips.box_wet[trips.wetness < 3].any()


def test_minutes_afloat_are_normal() -> None:
    trips = sail(np.random.default_rng(8), Waters((1.0, 0, 0, 0, 0, 0), 25.0, 5.0), (5000,))
    assert stats.kstest(trips.minutes, stats.norm(25.0, 5.0).cdf).pvalue > 0.01


@pytest.mark.parametrize(
    ("zone", "wet", "under"),
    [
        ("external", [0, 1, 1, 1, 1, 1], [0, 0, 0, 1, 1, 1]),
        ("bilge", [0, 1, 1, 1, 1, 1], [0, 0, 0, 1, 1, 1]),
        ("dry deck", [0, 0, 1, 1, 1, 1], [0, 0, 0, 1, 1, 1]),
        ("sealed box", [0, 0, 0, 0, 1, 0], [0, 0, 0, 0, 1, 0]),
        ("ashore", [0, 0, 0, 0, 0, 0], [0, 0, 0, 0, 0, 0]),
    ],
)
def test_water_reaches_each_zone_from_its_own_wetness_on(zone: str, wet: list[int], under: list[int]) -> None:
    codes = np.arange(6, dtype=np.int8)
    found = water_reaching(zone, Sorties(np.full(6, 20.0), codes, codes == 4))
    assert [each.astype(int).tolist() for each in found] == [wet, under]


def test_service_age_adds_up_its_clocks() -> None:
    gained = ServiceAge(0.1, 2.0, 60.0).gained([10, 0], [50, 100], [1, 0], [0, 2])
    assert gained.tolist() == [17.0, 130.0]
