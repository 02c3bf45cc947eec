"""Repeat failures: the mean cumulative function and trend against published repairs and brute force."""

from __future__ import annotations

import numpy as np
import pytest
import statsmodels.api as sm
from scipy.stats import chi2

from maintain.core.histories import Histories, histories
from maintain.core.repeats import mean_cumulative, time_between
from maintain.core.trend import trend
from maintain.errors import InvalidRecord, NotEnoughData
from tests.published.reading import EXPECTED, column, numbers


def one_unit(times, end=None, start=0.0) -> Histories:
    ends = [] if end is None else [end]
    times = np.append(times, ends)
    failed = np.arange(times.size) < times.size - len(ends)
    return histories(np.full(times.size, "a"), times, failed, start=np.full(times.size, start))


def test_valve_seat_replacements_give_the_published_mean_and_robust_errors():
    # Nelson & Doganaksoy (1989), as data set valveSeat of R's survival; values by survfit(..., id=).
    expected = EXPECTED["P09a"]
    watched = histories(
        column("valve_seats", "engine"), numbers("valve_seats", "days"), column("valve_seats", "replacement") == "1"
    )
    found = mean_cumulative(watched, at=expected["times"])
    assert (found.n_units, found.failures) == (41, 48)
    assert found.mean == pytest.approx(expected["MCF"], rel=1e-6)
    assert found.se == pytest.approx(expected["se_robust"], rel=1e-6)
    assert np.all((found.lower > 0) & (found.lower < found.mean) & (found.mean < found.upper))


def staggered(seed: int):
    rng = np.random.default_rng(seed)
    start = rng.integers(0, 10, 30).astype(float)
    end = start + rng.integers(1, 20, 30)
    rows = []
    for unit in range(30):
        for time in rng.integers(start[unit] + 1, end[unit] + 1, rng.poisson(2 * rng.gamma(1))):
            rows.append((unit, float(time), True, start[unit]))
        rows.append((unit, end[unit], False, start[unit]))
    return start, end, rows


def test_variance_with_units_joining_late_and_ties_equals_the_sum_over_units():
    start, end, rows = staggered(3)
    unit, time, failed, since = (np.array(part) for part in zip(*rows, strict=True))
    found = mean_cumulative(histories(unit, time, failed, start=since))
    deviation, variance = np.zeros(30), []
    for now in found.times:  # Lawless & Nadeau (1995), eq. 2.5, as it stands
        watched = (start < now) & (now <= end)
        own = np.bincount(unit[failed & (time == now)], minlength=30)
        deviation += own / watched.sum() - watched * own.sum() / watched.sum() ** 2
        variance.append(np.sum(deviation**2))
    assert found.se == pytest.approx(np.sqrt(variance), rel=1e-9)


def test_the_order_of_rows_changes_nothing():
    _, _, rows = staggered(4)
    unit, time, failed, since = (np.array(part) for part in zip(*rows, strict=True))
    mixed = np.random.default_rng(0).permutation(unit.size)
    first = mean_cumulative(histories(unit, time, failed, start=since))
    second = mean_cumulative(histories(unit[mixed], time[mixed], failed[mixed], start=since[mixed]))
    assert first.mean.tolist() == second.mean.tolist()
    assert first.se == pytest.approx(second.se, rel=1e-9)


@pytest.mark.parametrize(
    ("case", "name", "key", "end"),
    [
        ("P04d", "nist_repairs_case1", "system_age_h", 1500.0),  # NIST/SEMATECH e-Handbook 8.4.5.2
        ("P09d", "milhdbk189_1981_appC", "cum_test_h", 300.0),  # MIL-HDBK-189 (1981), appendix C
    ],
)
def test_trend_statistics_are_those_of_the_handbooks(case, name, key, end):
    expected, found = EXPECTED[case], trend(one_unit(numbers(name, key), end))
    assert found.laplace.statistic == pytest.approx(expected["laplace_U"], rel=1e-6)
    assert found.laplace.p == pytest.approx(expected["laplace_p2"], rel=1e-6)
    law = found.power_law
    assert (law.statistic, law.degrees) == (pytest.approx(expected["mil_chi2"], rel=1e-6), expected["mil_df"])
    assert law.p == pytest.approx(2 * (1 - expected["mil_p_lower_tail"]), rel=1e-6)
    assert (law.shape.value, law.shape.lower, law.shape.upper) == pytest.approx(
        (expected["beta_mle"], expected["beta_lo95"], expected["beta_hi95"]), rel=1e-6
    )
    assert (law.rate, law.mtbf) == pytest.approx((expected["lambda_mle"], expected["mtbf_T"]), rel=1e-6)
    assert (law.shape_corrected, law.rate_corrected, law.mtbf_corrected) == pytest.approx(
        (expected["beta_unbiased"], expected["lambda_unbiased"], expected["mtbf_T_unb"]), rel=1e-6
    )
    assert found.reversals is not None
    assert (found.reversals.count, found.reversals.expected) == (expected["reversals"], expected["reversals_expected"])


def test_limits_of_the_time_between_failures_are_those_of_the_handbook():
    law = trend(one_unit(numbers("nist_repairs_case1", "system_age_h"), 1500.0), conf=0.8).power_law
    assert law.mtbf_corrected == pytest.approx(310.234, abs=5e-4)
    assert (law.mtbf_lower, law.mtbf_upper) == pytest.approx((157.7138, 548.5566), abs=5e-5)


def test_a_watch_ended_by_a_failure_loses_one_failure_and_two_degrees():
    times = numbers("nist_repairs_case1", "system_age_h")
    law, logs = trend(one_unit(times)).power_law, np.sum(np.log(times[-1] / times))
    assert law.degrees == 2 * (times.size - 1)
    assert law.shape.value == pytest.approx(times.size / logs)
    assert law.shape_corrected == pytest.approx((times.size - 2) / logs)


def test_pooled_units_that_age_alike_but_differ_in_rate_show_their_common_trend():
    rng = np.random.default_rng(5)
    unit, time, failed = [], [], []
    for ship, rate in enumerate((5, 20, 40)):
        times = 100 * rng.random(rate) ** (1 / 2)  # given how many, power-law times with shape 2
        unit += [ship] * (rate + 1)
        time += [*times, 100.0]
        failed += [True] * rate + [False]
    found = trend(histories(unit, time, failed))
    assert found.verdict == "getting worse"
    assert found.reversals is None
    assert found.power_law.shape.lower < 2 < found.power_law.shape.upper
    assert found.power_law.shape.value == pytest.approx(65 / np.sum(np.log(100 / np.array(time)[np.array(failed)])))


def test_watches_that_began_late_use_the_likelihood_of_times_given_their_number():
    times = numbers("nist_repairs_case1", "system_age_h")
    from_new, late = trend(one_unit(times, 1500.0)).power_law, trend(one_unit(times, 1500.0, start=1e-9)).power_law
    assert late.limits == "likelihood ratio"
    assert late.shape.value == pytest.approx(from_new.shape.value, rel=1e-4)
    assert late.p == pytest.approx(from_new.p, abs=0.01)
    assert late.shape_corrected is None


def test_without_trend_the_exact_interval_covers_95_times_in_100():
    rng = np.random.default_rng(6)
    laws = [trend(one_unit(100 * rng.random(8), 100.0)).power_law.shape for _ in range(600)]
    covered = np.mean([law.lower < 1 < law.upper for law in laws])
    assert 0.93 <= covered <= 0.97


@pytest.mark.parametrize("unit", [1e-100, 1e-9, 1e9, 1e100])
def test_the_unit_of_time_does_not_touch_the_trend(unit):
    times = numbers("nist_repairs_case1", "system_age_h")
    plain, scaled = trend(one_unit(times, 1500.0)), trend(one_unit(times * unit, 1500.0 * unit))
    assert scaled.power_law.shape.value == pytest.approx(plain.power_law.shape.value, rel=1e-9)
    assert scaled.power_law.mtbf_corrected == pytest.approx(plain.power_law.mtbf_corrected * unit, rel=1e-9)
    assert scaled.laplace.statistic == pytest.approx(plain.laplace.statistic, rel=1e-9)
    late = trend(one_unit(times * unit, 1500.0 * unit, start=unit))
    assert late.power_law.shape.value == pytest.approx(trend(one_unit(times, 1500.0, start=1.0)).power_law.shape.value)


def test_a_mean_after_the_last_watch_is_held_level_and_said_so():
    found = mean_cumulative(histories(["a", "b"], [3, 9], [True, False]), at=[20])
    assert "after the last unit's watch" in found.cautions[1]


def test_few_failures_and_failures_that_all_end_a_watch_are_pointed_out():
    late = trend(one_unit([97, 98, 99], 100))
    assert late.power_law.shape.lower is not None and late.power_law.shape.lower > 1
    assert (late.verdict, late.cautions[0][:24]) == ("can't tell yet", "3 failures: too few to c")
    with pytest.raises(NotEnoughData, match="at the end of its watch"):
        trend(one_unit([9, 9, 9], 9))


def test_a_steady_unit_cannot_be_told():
    assert trend(one_unit([10, 20, 30, 40, 50], 55)).verdict == "can't tell yet"


def test_a_unit_that_never_failed_counts_in_the_mean():
    found = mean_cumulative(histories(["a", "a", "b"], [3, 9, 9], [True, False, False]))
    assert found.mean.tolist() == [0.5]
    assert "too few" in found.cautions[0]


@pytest.mark.parametrize(
    ("unit", "time", "failed", "message"),
    [
        (["a", "a"], [9, 5], [True, False], "row 1: failure after the end"),
        (["a", "a"], [5, 9], [False, False], "rows 1, 2: the unit has two ends"),
        (["a", "a"], [np.nan, 9], [True, False], "row 1: time or start is missing"),
        (["a", "a"], [0, 9], [True, False], "row 1: time is not after the start"),
        (["a"], [5, 9], [True, False], "columns of one length"),
    ],
)
def test_rows_that_cannot_be_a_history_are_named(unit, time, failed, message):
    with pytest.raises(InvalidRecord, match=message):
        histories(unit, time, failed)


def test_no_failure_or_one_is_too_few():
    with pytest.raises(NotEnoughData, match="no failure of 1 units in 9 watched"):
        mean_cumulative(histories(["a"], [9], [False]))
    with pytest.raises(NotEnoughData, match="2 are needed"):
        trend(one_unit([3], 9))
    with pytest.raises(NotEnoughData, match="no rows"):
        histories([], [])


def test_alike_units_have_the_handbook_limits_of_the_time_between_failures():
    # NIST/SEMATECH e-Handbook 8.4.5.1: 2 T / chi-square, on 2 r + 2 and 2 r degrees of freedom.
    watched = histories(np.repeat(list("abcd"), 2), [3, 9] * 4, [True, False] * 4)
    found = time_between(watched)
    assert (found.value, found.lower, found.upper) == pytest.approx(
        (9.0, 72 / chi2.ppf(0.975, 10), 72 / chi2.ppf(0.025, 8))
    )


def test_unlike_units_count_their_failures_for_less():
    """Eight failures of one unit and none of three: quasi-Poisson dispersion of statsmodels' Pearson chi-square, 8."""
    unit, time = ["a"] * 9 + ["b", "c", "d"], [1, 2, 3, 4, 5, 6, 7, 8, 9, 9, 9, 9]
    watched = histories(unit, time, [True] * 8 + [False] * 4)
    fitted = sm.GLM([8, 0, 0, 0], np.ones(4), sm.families.Poisson(), offset=np.log([9.0] * 4)).fit(scale="X2")
    found = time_between(watched)
    assert fitted.scale == pytest.approx(8)
    assert found.value == pytest.approx(np.exp(-fitted.params[0]))
    assert (found.lower, found.upper) == pytest.approx((9 / chi2.ppf(0.975, 4), 9 / chi2.ppf(0.025, 2)))


def test_four_failures_do_not_show_how_unlike_units_are():
    # NIST/SEMATECH e-Handbook 8.4.5.1, on all four failures.
    watched = histories(["a"] * 5 + ["b", "c", "d"], [1, 2, 3, 4, 9, 9, 9, 9], [True] * 4 + [False] * 4)
    found = time_between(watched)
    assert (found.lower, found.upper) == pytest.approx((72 / chi2.ppf(0.975, 10), 72 / chi2.ppf(0.025, 8)))
