"""Bounds from no failure, or few, against published tables and scipy."""

from __future__ import annotations

import pytest

from maintain.core.bounds import (
    exponential_bound,
    failure_share_bound,
    failure_share_limits,
    known_shape_bound,
    mean_life_bound,
    mean_life_limits,
    total_use,
    trials_to_show,
)
from maintain.core.lives import Lives, lives_from_intervals, lives_from_times
from maintain.errors import InvalidRecord, NotEnoughData
from tests.core.published_lives import diesel_fans
from tests.published.reading import EXPECTED

SMALL = EXPECTED["P10"]


@pytest.mark.parametrize("conf", ["0.5", "0.6", "0.9", "0.95", "0.99"])
def test_no_failure_in_1000_hours_bounds_the_mean_life(conf):
    # NIST/SEMATECH e-Handbook, 8.4.5.1: T / -ln(1 - conf).
    lives = lives_from_times([400, 600], [False, False])
    assert exponential_bound(lives, float(conf)) == pytest.approx(SMALL["mttf_lower_zero_fail_T1000"][conf], rel=1e-6)


def test_two_failures_in_800_hours_give_the_limits_of_the_nist_handbook():
    found = mean_life_limits(800, 2, 0.9)
    assert (found.lower, found.upper) == pytest.approx((127.0690, 2251.229), rel=1e-6)


def test_four_failures_in_1000_hours():
    found = mean_life_limits(1000, 4, 0.9)
    assert (found.value, found.lower, found.upper) == pytest.approx((250, *SMALL["mttf_two_sided_90_r4_T1000"]))
    assert mean_life_bound(1000, 4, 0.9) == pytest.approx(SMALL["mttf_one_sided_lower90_r4_T1000"])


def test_diesel_fans_have_the_published_exact_limits():
    lives, expected = diesel_fans(), EXPECTED["P03a"]["exponential"]
    found = mean_life_limits(total_use(lives), lives.failures)
    assert total_use(lives) == expected["total_time"]
    assert found.lower == pytest.approx(expected["theta_lo_chi2_timecens"], rel=1e-6)
    assert found.upper == pytest.approx(expected["theta_hi_chi2_timecens"], rel=1e-6)


def test_without_failure_there_is_no_estimate_and_no_upper_limit():
    found = mean_life_limits(1000, 0)
    assert (found.value, found.upper) == (None, None)
    assert found.lower == pytest.approx(mean_life_bound(1000, 0, 0.975))


@pytest.mark.parametrize("trials", ["10", "30", "100", "300"])
def test_the_rule_of_three_is_close_to_the_exact_bound(trials):
    exact = failure_share_bound(0, int(trials))
    assert exact == pytest.approx(SMALL["rule_of_three"][trials]["exact"], rel=1e-6)
    assert exact < 3 / int(trials)


@pytest.mark.parametrize("conf", ["0.5", "0.9", "0.95"])
def test_ten_trials_without_failure_bound_the_reliability(conf):
    bound = 1 - failure_share_bound(0, 10, float(conf))
    assert bound == pytest.approx(SMALL["reliability_lower_zero_fail_n10"][conf], rel=1e-6)


def test_two_of_twenty_give_the_limits_of_clopper_and_pearson():
    found = failure_share_limits(2, 20)
    assert (found.lower, found.upper) == pytest.approx(SMALL["clopper_2_of_20"], rel=1e-6)
    assert (failure_share_limits(0, 5).lower, failure_share_limits(5, 5).upper) == (0, 1)
    assert failure_share_bound(5, 5) == 1


@pytest.mark.parametrize("key", [*SMALL["success_run"], *SMALL["with_failures"]])
def test_trials_needed_are_those_of_the_tables(key):
    reliability, conf, *allowed = (float(part[1:]) for part in key.split("_"))
    expected = {**SMALL["success_run"], **SMALL["with_failures"]}[key]
    assert trials_to_show(reliability, conf, int(allowed[0]) if allowed else 0) == expected


def test_an_assumed_shape_gives_the_published_bound():
    # Nelson (1985), J. Quality Technology 17(3) (from memory); values recomputed with scipy and R.
    expected, lives = SMALL["weibayes_10x50_beta2"], lives_from_times([50] * 10, [False] * 10)
    bound = known_shape_bound(lives, 2.0)
    assert bound.scale == pytest.approx(expected["eta_lo95"], rel=1e-6)
    assert known_shape_bound(lives, 2.0, 0.9).scale == pytest.approx(expected["eta_lo90"], rel=1e-6)
    assert known_shape_bound(lives, 2.0, 0.5).scale == pytest.approx(expected["eta_lo50"], rel=1e-6)
    assert bound.survival_at(25) == pytest.approx(expected["R_at_25_lo95"], rel=1e-6)
    assert bound.quantile(0.1) == pytest.approx(expected["B10_lo95"], rel=1e-6)


def test_use_before_observation_and_after_the_last_known_good_does_not_count():
    assert total_use(lives_from_times([50, 70], [False, True], [20, 0])) == 100
    assert total_use(lives_from_intervals([10, 5], [20, 8], [0, 6])) == 10
    late, fresh = lives_from_times([50], [False], [30]), lives_from_times([50], [False])
    assert known_shape_bound(late, 2).scale == pytest.approx(known_shape_bound(fresh, 2).scale * 0.8)


def test_bad_questions_are_refused():
    with pytest.raises(NotEnoughData, match="bounds nothing"):
        mean_life_bound(0)
    with pytest.raises(NotEnoughData, match="bounds nothing"):
        exponential_bound(lives_from_intervals([0], [5]))
    with pytest.raises(NotEnoughData, match="no lives"):
        known_shape_bound(Lives(*(lives_from_times([1]).take([False]).lower for _ in range(3))), 2)
    with pytest.raises(InvalidRecord, match="shape must be positive"):
        known_shape_bound(lives_from_times([1]), 0)
    with pytest.raises(InvalidRecord, match="failures must not be negative"):
        mean_life_bound(10, -1)
    with pytest.raises(InvalidRecord, match="no count of trials"):
        failure_share_limits(3, 2)
    with pytest.raises(InvalidRecord, match="reliability"):
        trials_to_show(1.0)
