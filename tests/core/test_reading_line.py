"""The line through readings, against published examples and statsmodels."""

from __future__ import annotations

import numpy as np
import pytest
import statsmodels.api as sm
from hypothesis import assume, given
from hypothesis import strategies as st

from maintain.core.reading_line import crossing, fit_line, line_at, reading_at, slope_limits
from maintain.errors import NotEnoughData

# Graybill and Iyer (1994), Regression Analysis, chapter 6, pages 433 and 434, as in Greenwell and Schubert Kabban
# (2014), The R Journal 6(1), 90-100, and the tests of the R package investr: data, and limits to two digits.
CHAMBER = (206.36, 225.52, 252.18, 289.33, 318.11, 349.49, 383.03, 410.70, 444.40, 469.14, 501.16)
CRYSTAL = (0.08, 1.12, 4.43, 4.98, 4.92, 7.18, 5.57, 8.40, 8.81, 10.81, 11.16, 10.12, 13.12, 15.04)

SAMPLES = st.lists(
    st.tuples(st.integers(0, 1500), st.floats(-1e4, 1e4, allow_nan=False).map(lambda x: round(x, 3))),
    min_size=3,
    max_size=20,
).filter(lambda pairs: len({age for age, _ in pairs}) > 1)


def test_the_reaction_chamber_is_at_400_degrees_at_the_published_setting() -> None:
    found = crossing(fit_line(range(0, 101, 10), CHAMBER, 0.99), 400, at_most=True)
    assert found.heads == "for it"
    assert (round(found.age or 0, 1), round(found.earliest or 0, 2), round(found.latest or 0, 2)) == (
        66.5,
        65.07,
        68.03,
    )


def test_a_crystal_weighs_5_grams_after_the_published_time() -> None:
    found = crossing(fit_line(range(2, 30, 2), CRYSTAL, 0.9), 5, at_most=True)
    assert (round(found.age or 0, 2), round(found.earliest or 0, 2), round(found.latest or 0, 2)) == (9.93, 8.65, 11.05)


@pytest.mark.parametrize("conf", [0.8, 0.95])
@pytest.mark.parametrize("n", [3, 4, 12])
def test_slope_line_and_next_reading_are_those_of_statsmodels(n: int, conf: float) -> None:
    chance = np.random.default_rng(n)
    ages, values = np.sort(chance.uniform(0, 900, n)), chance.normal(20, 3, n)
    theirs = sm.OLS(values, sm.add_constant(ages)).fit()
    line = fit_line(ages.tolist(), values.tolist(), conf)
    slope, start = slope_limits(line), line_at(line, 0)
    limits = theirs.conf_int(1 - conf)
    assert (slope.value, slope.lower, slope.upper) == pytest.approx((theirs.params[1], *limits[1]))
    assert (start.value, start.lower, start.upper) == pytest.approx((theirs.params[0], *limits[0]))
    assert line.scatter == pytest.approx(np.sqrt(theirs.mse_resid))
    frame = theirs.get_prediction([[1.0, 1200.0]]).summary_frame(1 - conf).iloc[0]
    there, one_more = line_at(line, 1200), reading_at(line, 1200)
    assert (there.value, there.lower, there.upper) == pytest.approx(
        (frame["mean"], frame["mean_ci_lower"], frame["mean_ci_upper"])
    )
    assert (one_more.lower, one_more.upper) == pytest.approx((frame["obs_ci_lower"], frame["obs_ci_upper"]))


@given(SAMPLES, st.floats(-2e4, 2e4, allow_nan=False), st.booleans())
def test_the_limits_of_a_crossing_are_where_the_lines_own_limits_meet_it(
    pairs: list[tuple[int, float]], limit: float, at_most: bool
) -> None:
    line = fit_line(*zip(*pairs, strict=True), rounded_to=0.001)
    found, slope = crossing(line, limit, at_most=at_most), slope_limits(line)
    if found.heads == "for it":
        assert found.age is not None and found.earliest is not None and found.latest is not None
        assert found.earliest <= found.age <= found.latest
        assert slope.lower > 0 if at_most else slope.upper < 0
        for end in (found.earliest, found.latest):
            there = line_at(line, end)
            nearest = min(abs(there.lower - limit), abs(there.upper - limit))
            assert nearest <= 1e-6 * (abs(limit) + there.upper - there.lower + 1)
    elif found.heads == "away from it":
        assert slope.upper < 0 if at_most else slope.lower > 0
    else:
        assert slope.lower <= 1e-9 * abs(slope.value) and slope.upper >= -1e-9 * abs(slope.value)
        assert found.age is None and found.latest is None


@given(SAMPLES, st.integers(-1000, 1000), st.randoms(use_true_random=False))
def test_neither_the_order_of_readings_nor_the_day_ages_count_from_matters(
    pairs: list[tuple[int, float]], later: int, chance: object
) -> None:
    line = fit_line(*zip(*pairs, strict=True), rounded_to=0.001)
    moved = fit_line(*zip(*[(age + later, value) for age, value in reversed(pairs)], strict=True), rounded_to=0.001)
    assert moved.slope == pytest.approx(line.slope, rel=1e-9, abs=1e-9)
    assert moved.scatter == pytest.approx(line.scatter, rel=1e-9, abs=1e-9)
    assert line_at(moved, 100 + later).upper == pytest.approx(line_at(line, 100).upper, rel=1e-6, abs=1e-6)


@given(SAMPLES)
def test_turned_upside_down_a_line_meets_the_opposite_limit_at_the_same_age(pairs: list[tuple[int, float]]) -> None:
    ages, values = zip(*pairs, strict=True)
    upright = crossing(fit_line(ages, values, rounded_to=0.001), 50, at_most=True)
    turned = crossing(fit_line(ages, [-each for each in values], rounded_to=0.001), -50, at_most=False)
    assert turned.heads == upright.heads
    for name in ("age", "earliest", "latest"):
        one, other = getattr(turned, name), getattr(upright, name)
        assert one is other is None or one == pytest.approx(other, rel=1e-9)


@given(st.floats(-100, 100, allow_nan=False), st.integers(3, 12))
def test_readings_that_never_change_head_nowhere(value: float, n: int) -> None:
    assume(abs(value) < 99)
    line = fit_line(range(n), [value] * n, rounded_to=0.1)
    found = crossing(line, 120, at_most=True)
    assert line.slope == 0
    assert (found.heads, found.age) == ("can't tell", None)
    assert found.earliest is not None and found.earliest > (n - 1) / 2


def test_readings_exactly_on_a_line_still_scatter_by_their_last_digit() -> None:
    exact = fit_line([0, 100, 200], [20, 21, 22], rounded_to=1)
    assert exact.scatter == pytest.approx(1 / 12**0.5)
    assert fit_line([0, 100, 200], [20, 21, 22]).scatter == 0
    # One degree of freedom: three whole numbers do not tell a rise of 1 in 100 days from none.
    assert crossing(exact, 30, at_most=True).heads == "can't tell"
    found = crossing(fit_line([0, 100, 200], [20.0, 21.0, 22.0], rounded_to=0.01), 30, at_most=True)
    assert found.heads == "for it" and found.age == pytest.approx(1000)


def test_a_line_that_is_beyond_already_met_its_limit_in_the_past() -> None:
    found = crossing(fit_line([0, 100, 200, 300], [30, 33.1, 35.9, 39]), 33, at_most=True)
    assert found.heads == "for it" and found.latest is not None and found.latest < 300


@pytest.mark.parametrize("limit", [1e308, -1e308, 1e-308])
def test_no_limit_is_too_far_to_reckon_with(limit: float) -> None:
    found = crossing(fit_line([0, 100, 200, 300], [30, 33.1, 35.9, 39]), limit, at_most=True)
    assert found.heads in ("for it", "can't tell")


@pytest.mark.parametrize("ages", [[], [1.0], [1.0, 2.0], [5.0, 5.0, 5.0]])
def test_too_few_readings_are_refused(ages: list[float]) -> None:
    with pytest.raises(NotEnoughData):
        fit_line(ages, [20.0] * len(ages))


def test_the_interval_of_a_crossing_covers_the_truth_as_often_as_it_says() -> None:
    # 6 readings, 5000 times, with a stated truth: 18 s/L and 1.2 s/L in 100 days meet 30 s/L after 1000 days.
    chance = np.random.default_rng(20260601)
    ages = [0.0, 90.0, 180.0, 270.0, 360.0, 450.0]
    held = 0
    for scatter in chance.normal(0, 0.6, (5000, len(ages))):
        line = fit_line(ages, [18 + 0.012 * age + each for age, each in zip(ages, scatter, strict=True)])
        there = line_at(line, 1000)
        held += there.lower <= 30 <= there.upper
        found = crossing(line, 30, at_most=True)
        if found.earliest is not None and found.latest is not None:
            assert (found.earliest <= 1000 <= found.latest) == (there.lower <= 30 <= there.upper)
    assert 0.94 <= held / 5000 <= 0.96  # three standard errors of 5000 draws
