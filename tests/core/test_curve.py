"""Kaplan-Meier and Nelson-Aalen against published data, R's survfit and lifelines, and by their own laws."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from maintain.core.curve import condition_on, survival_curve
from maintain.core.lives import Lives, lives_from_intervals, lives_from_times
from maintain.errors import InvalidRecord, NotEnoughData
from tests.core.given_lives import any_lives
from tests.core.published_lives import channing, diesel_fans, freireich, nist_hours
from tests.published.reading import EXPECTED


@pytest.mark.parametrize("group", ["6MP", "placebo"])
def test_remission_times_give_the_curve_of_r_survfit(group):
    expected, curve = EXPECTED["P01"][group], survival_curve(freireich(group))
    found = curve.survival_at(expected["times"])
    rows = np.searchsorted(curve.time, expected["times"])
    assert (curve.n, curve.failures) == (expected["n"], expected["events"])
    assert found.survival == pytest.approx(expected["S"], rel=1e-6)
    assert np.sqrt(curve.variance[rows]) == pytest.approx(expected["se_greenwood"], rel=1e-6)
    assert found.lower == pytest.approx(expected["lo_loglog"], rel=1e-6)
    assert found.upper == pytest.approx(expected["hi_loglog"], rel=1e-6)
    assert curve.hazard_at(expected["times"]).value == pytest.approx(expected["NA_cumhaz"], rel=1e-6)
    median = curve.median
    assert (median.value, median.lower, median.upper) == (
        expected["median"],
        expected["median_lo_loglog"],
        expected["median_hi_loglog"],
    )


@pytest.mark.parametrize("group", ["6MP", "placebo"])
def test_restricted_means_are_those_of_r_survfit(group):
    expected, found = EXPECTED["P14a"][group], survival_curve(freireich(group)).restricted_mean(20)
    assert found.value == pytest.approx(expected["rmst20"], rel=1e-6)
    assert found.se == pytest.approx(expected["se"], rel=1e-6)
    assert found.upper - found.value == pytest.approx(1.959964 * expected["se"], rel=1e-6)


def test_diesel_fans_give_the_curve_of_r_survfit():
    expected = EXPECTED["P03a"]["km"]
    curve = survival_curve(diesel_fans())
    found = curve.survival_at(expected["times"])
    rows = np.searchsorted(curve.time, expected["times"], side="right") - 1
    assert found.survival == pytest.approx(expected["S"], rel=1e-6)
    assert np.sqrt(curve.variance[rows]) == pytest.approx(expected["se"], rel=1e-6)
    assert found.lower == pytest.approx(expected["lo"], rel=1e-6)
    assert found.upper == pytest.approx(expected["hi"], rel=1e-6)


def test_the_handbook_example_of_nist_is_reproduced():
    expected, curve = EXPECTED["P04b"], survival_curve(nist_hours("nist_km_8215"))
    assert curve.time.tolist() == expected["times"]
    assert curve.survival == pytest.approx(expected["R"], rel=1e-8)
    assert np.sqrt(curve.variance) == pytest.approx(expected["se"], rel=1e-6)
    assert curve.hazard == pytest.approx(expected["H_na"], rel=1e-6)


@pytest.mark.parametrize("sex", ["Male", "Female"])
def test_delayed_entry_gives_the_curves_of_r_survfit(sex):
    expected, lives = EXPECTED["P05"][sex], channing(sex)
    raw = survival_curve(lives)
    assert (raw.n, raw.failures) == (expected["km_raw"]["n"], expected["km_raw"]["events"])
    assert raw.survival_at(expected["km_raw"]["times"]).survival == pytest.approx(expected["km_raw"]["S"], rel=1e-6)
    given_alive = survival_curve(condition_on(lives, 816))
    times = expected["km_given_816"]["times"]
    variance = np.concatenate(([0.0], given_alive.variance))[np.searchsorted(given_alive.time, times, side="right")]
    assert (given_alive.n, given_alive.failures) == (expected["km_given_816"]["n"], expected["km_given_816"]["events"])
    assert given_alive.survival_at(times).survival == pytest.approx(expected["km_given_816"]["S"], rel=1e-6)
    assert np.sqrt(variance) == pytest.approx(expected["km_given_816"]["se"], rel=1e-6)
    assert given_alive.median.value == expected["km_given_816"]["median"]


def test_an_early_risk_set_that_empties_is_reported():
    assert survival_curve(channing("Male")).emptied_at == 781
    assert survival_curve(channing("Female")).emptied_at is None
    assert survival_curve(condition_on(channing("Male"), 781)).emptied_at is None


def test_ignoring_delayed_entry_would_show_too_good_a_curve():
    lives = channing("Male")
    naive = survival_curve(Lives(np.zeros(lives.n), lives.lower, lives.upper))
    expected = EXPECTED["P05"]["Male"]["km_naive_wrong"]
    assert naive.survival_at(expected["times"]).survival == pytest.approx(expected["S"], rel=1e-6)
    assert np.all(naive.survival_at([900, 960, 1020]).survival > [0.81, 0.64, 0.46])


def test_lifelines_agrees_on_a_large_sample_with_delayed_entry():
    from lifelines import KaplanMeierFitter, NelsonAalenFitter

    rng = np.random.default_rng(11)
    entry = np.round(rng.uniform(0, 30, 4000) * (rng.random(4000) < 0.6))
    out = entry + 1 + np.round(60 * rng.weibull(1.6, 4000))
    failed = rng.random(4000) < 0.5
    curve = survival_curve(lives_from_times(out, failed, entry))
    times = [5, 20, 40, 80]
    theirs = KaplanMeierFitter().fit(out, failed, entry=entry)
    limits = theirs.confidence_interval_survival_function_.to_numpy()
    rows = np.searchsorted(theirs.survival_function_.index, times, side="right") - 1
    found = curve.survival_at(times)
    assert found.survival == pytest.approx(theirs.predict(times).to_numpy(), rel=1e-10)
    assert np.column_stack((found.lower, found.upper)) == pytest.approx(limits[rows], rel=1e-10)
    hazards = NelsonAalenFitter(nelson_aalen_smoothing=False).fit(out, failed, entry=entry)
    band, bounds = curve.hazard_at(times), hazards.confidence_interval_.to_numpy()
    assert band.value == pytest.approx(hazards.predict(times).to_numpy(), rel=1e-10)
    # Ties: lifelines shrinks their part of the variance a little, Klein and Moeschberger (4.2.4) and R do not.
    assert np.column_stack((band.lower, band.upper)) == pytest.approx(bounds[rows], rel=1e-3)


@pytest.mark.parametrize("spread", [0.0, 0.5, 40.0], ids=["one time", "even", "over thirty orders of magnitude"])
def test_a_great_many_lives_are_put_in_order_whatever_their_spread(spread):
    rng = np.random.default_rng(21)
    times = np.exp(spread * rng.standard_normal(70_000))
    curve = survival_curve(lives_from_times(times))
    distinct, counts = np.unique(times, return_counts=True)
    assert curve.time.tolist() == distinct.tolist()
    assert curve.survival == pytest.approx(1 - np.cumsum(counts) / times.size, abs=1e-12)


def test_a_great_many_lives_with_late_entries_and_censoring_give_the_curve_of_lifelines():
    from lifelines import KaplanMeierFitter

    rng = np.random.default_rng(22)
    entry = np.round(rng.uniform(0, 200, 150_000))
    out = entry + 1 + np.round(300 * rng.weibull(1.4, 150_000))
    failed = rng.random(150_000) < 0.4
    theirs = KaplanMeierFitter().fit(out, failed, entry=entry)
    curve = survival_curve(lives_from_times(out, failed, entry))
    assert curve.survival == pytest.approx(theirs.predict(curve.time).to_numpy(), rel=1e-9)
    table = theirs.event_table.loc[
        curve.time
    ]  # which counts those who enter at a time as at risk, then leaves them out
    assert curve.at_risk.tolist() == (table["at_risk"] - table["entrance"]).astype(int).tolist()


@given(any_lives())
def test_a_curve_lies_between_0_and_1_within_its_limits_and_never_rises(lives):
    curve = survival_curve(lives)
    for column_ in (curve.survival, curve.lower, curve.upper):
        assert np.all((column_ >= 0) & (column_ <= 1))
    assert np.all(np.diff(curve.survival) <= 0)
    assert np.all((curve.lower <= curve.survival) & (curve.survival <= curve.upper))
    assert np.all(np.diff(curve.hazard) > 0)


@given(any_lives(), st.floats(1e-6, 1e6))
def test_another_unit_of_time_leaves_the_shares_alone(lives, factor):
    curve, scaled = survival_curve(lives), survival_curve(Lives(*(factor * ends for ends in ends_of(lives))))
    assert scaled.survival == pytest.approx(curve.survival)
    assert scaled.time == pytest.approx(factor * curve.time)


@given(any_lives(), st.randoms(use_true_random=False))
def test_the_order_of_rows_does_not_matter(lives, random):
    rows = list(range(lives.n))
    random.shuffle(rows)
    assert survival_curve(lives.take(np.array(rows))).survival == pytest.approx(survival_curve(lives).survival)


@given(any_lives(), st.data())
def test_a_life_split_in_two_by_a_later_entry_changes_nothing(lives, data):
    row = data.draw(st.integers(0, lives.n - 1))
    middle = (lives.entry[row] + lives.lower[row]) / 2
    split = Lives(
        np.append(lives.entry, middle),
        np.append(lives.lower, lives.lower[row]),
        np.append(lives.upper, lives.upper[row]),
    )
    split.lower[row], split.upper[row] = middle, np.inf
    assert survival_curve(split).survival == pytest.approx(survival_curve(lives).survival)
    assert survival_curve(split).at_risk.tolist() == survival_curve(lives).at_risk.tolist()


@given(st.lists(st.integers(1, 40), min_size=1, max_size=30))
def test_without_censoring_the_curve_is_one_minus_the_share_failed(times):
    curve = survival_curve(lives_from_times(times))
    share = [np.mean(np.array(times) > time) for time in curve.time]
    assert curve.survival == pytest.approx(share, abs=1e-12)


@given(any_lives(delayed=False))
def test_half_failed_is_read_as_half_in_spite_of_rounding(lives):
    doubled = Lives(*(np.repeat(ends, 2) for ends in ends_of(lives)))
    assert survival_curve(doubled).median.value == survival_curve(lives).median.value


def test_the_median_is_the_first_time_at_which_half_or_fewer_work():
    assert survival_curve(lives_from_times([1, 2, 3, 4])).median.value == 2
    assert survival_curve(lives_from_times([1, 2, 3, 4, 5, 6, 7, 8, 9, 10])).median.value == 5


def test_a_quantile_not_reached_is_not_invented():
    curve = survival_curve(lives_from_times([1, 2, 3, 4], [True, False, False, False]))
    assert (curve.median.value, curve.median.upper) == (None, None)
    assert curve.quantile(0.2).value == 1


def test_failures_come_before_censorings_at_the_same_time():
    curve = survival_curve(lives_from_times([4, 4, 6], [True, False, True]))
    assert curve.at_risk.tolist() == [3, 1]
    assert curve.survival == pytest.approx([2 / 3, 0])


def test_a_life_that_enters_at_a_failure_time_is_not_at_risk_there():
    curve = survival_curve(lives_from_times([4, 9, 9], [True, True, False], [0, 4, 0]))
    assert curve.at_risk.tolist() == [2, 2]


def test_after_the_longest_time_seen_the_curve_says_nothing():
    found = survival_curve(lives_from_times([3, 7], [True, False])).survival_at([7, 8])
    assert found.survival[0] == 0.5
    assert np.isnan([found.survival[1], found.lower[1], found.upper[1]]).all()


def test_before_the_first_failure_the_lower_limit_is_the_exact_one_for_none():
    # Ten parts, none failed: two-sided 95 % limit 0.025^(1/10), Clopper and Pearson (1934).
    found = survival_curve(lives_from_times(range(1, 11), [False] * 9 + [True])).survival_at([0.5, 2.5])
    assert found.survival.tolist() == [1, 1]
    assert found.lower == pytest.approx([0.025 ** (1 / 10), 0.025 ** (1 / 8)])


def test_before_the_first_failure_the_thinnest_moment_under_delayed_entry_counts():
    lives = lives_from_times([10, 10, 10, 12], [False, False, False, True], [0, 5, 5, 5])
    assert survival_curve(lives).survival_at([8]).lower == pytest.approx([0.025])


def test_a_curve_with_no_failure_stays_at_one():
    curve = survival_curve(lives_from_times([3, 7], [False, False]))
    assert (curve.failures, curve.median.value) == (0, None)
    assert curve.survival_at([2]).survival.tolist() == [1]
    assert curve.restricted_mean(5).value == 5


def test_a_restricted_mean_beyond_what_was_seen_is_refused():
    curve = survival_curve(lives_from_times([3, 7], [True, False]))
    with pytest.raises(NotEnoughData, match="nobody was seen for 8"):
        curve.restricted_mean(8)
    with pytest.raises(InvalidRecord, match="positive"):
        curve.restricted_mean(0)
    assert survival_curve(lives_from_times([3, 7])).restricted_mean(8).value == 5


def test_conditioning_keeps_those_known_to_work_at_the_age():
    kept = condition_on(lives_from_times([3, 7, 9], [True, False, True], [0, 2, 6]), 4)
    assert (kept.entry.tolist(), kept.lower.tolist()) == ([4, 6], [7, 9])


def test_conditioning_refuses_what_it_cannot_tell():
    with pytest.raises(InvalidRecord, match="straddles 4"):
        condition_on(lives_from_intervals([3, 5], [6, 8]), 4)
    with pytest.raises(NotEnoughData, match="nobody was seen beyond 9"):
        condition_on(lives_from_times([3, 9]), 9)


def test_a_curve_refuses_what_it_is_not_for():
    with pytest.raises(NotEnoughData, match="no lives"):
        survival_curve(Lives(np.zeros(0), np.zeros(0), np.zeros(0)))
    with pytest.raises(InvalidRecord, match="interval"):
        survival_curve(lives_from_intervals([1], [2]))
    for share in (0, 1, 95):
        with pytest.raises(InvalidRecord, match="confidence must be between 0 and 1"):
            survival_curve(lives_from_times([3]), conf=share)
    with pytest.raises(InvalidRecord, match="share must be between 0 and 1"):
        survival_curve(lives_from_times([3])).quantile(1.0)


def ends_of(lives: Lives) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    return lives.entry, lives.lower, lives.upper
