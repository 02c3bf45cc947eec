"""The curve from intervals against published estimates, R's npsurv, the curve from exact times, and by its own laws."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import minimize

from maintain.core.curve import condition_on, survival_curve
from maintain.core.lives import Lives, lives_from_intervals, lives_from_times
from maintain.core.turnbull import interval_curve
from maintain.errors import NotEnoughData
from tests.core.given_lives import any_lives
from tests.core.published_lives import cosmesis, heat_exchanger
from tests.published.reading import EXPECTED


@pytest.mark.parametrize("group", ["RT", "RT_CT"])
def test_cosmesis_gives_the_published_masses(group):
    expected, curve = EXPECTED["P06a"][group]["npmle"], interval_curve(cosmesis(group))
    assert curve.left.tolist() == expected["left"]
    assert curve.right.tolist() == expected["right"]
    assert curve.mass == pytest.approx(expected["p"], abs=1e-6)
    assert curve.log_likelihood == pytest.approx(expected["ll"], abs=1e-6)
    assert curve.gap < 1e-7


def test_heat_exchanger_tubes_give_the_masses_of_r_npsurv():
    expected, curve = EXPECTED["P06b"]["npmle"], interval_curve(heat_exchanger())
    assert curve.left.tolist() == expected["left"]
    assert curve.right.tolist() == [1, 2, 3, np.inf]
    assert curve.mass == pytest.approx(expected["p"], abs=1e-6)
    assert curve.log_likelihood == pytest.approx(expected["ll"], abs=1e-6)


def test_between_innermost_intervals_the_share_is_one_value_and_inside_it_is_two():
    curve = interval_curve(lives_from_intervals([0, 1, 3], [2, 2, np.inf]))
    found = curve.survival_at([0, 1, 1.5, 2, 3, 4])
    assert found.upper == pytest.approx([1, 1, 1, 1 / 3, 1 / 3, 1 / 3])
    assert found.lower == pytest.approx([1, 1, 1 / 3, 1 / 3, 1 / 3, 0])
    assert np.isnan(found.value).tolist() == [False, False, True, False, False, True]


def test_the_median_is_an_interval():
    curve = interval_curve(cosmesis("RT"))
    assert curve.quantile(0.5) == (38, 40)
    assert interval_curve(heat_exchanger()).quantile(0.5) == (3, np.inf)


@given(any_lives(delayed=False).filter(lambda lives: lives.failures > 0))
def test_on_exact_times_it_is_the_curve_of_kaplan_and_meier(lives):
    exact, curve = survival_curve(lives), interval_curve(lives)
    assert curve.survival_at(exact.time).value == pytest.approx(exact.survival, abs=1e-5)


@st.composite
def intervals(draw: st.DrawFn) -> Lives:
    ends = draw(st.lists(st.tuples(st.integers(0, 15), st.integers(1, 8), st.booleans()), min_size=1, max_size=20))
    lower = np.array([low for low, _, _ in ends], dtype=float)
    upper = np.array([low + wide if found else np.inf for low, wide, found in ends])
    return lives_from_intervals(np.where(np.isinf(upper), lower + 1, lower), upper)


@given(intervals().filter(lambda lives: lives.failures > 0))
def test_no_other_curve_is_more_likely(lives):
    curve = interval_curve(lives)
    assert curve.mass.sum() == pytest.approx(1)
    assert curve.gap <= 1e-8 * lives.n
    rng = np.random.default_rng(5)
    for mass in rng.dirichlet(np.ones(curve.mass.size), 20):
        assert log_likelihood(lives, curve.left, curve.right, mass) <= curve.log_likelihood + curve.gap + 1e-9


@given(intervals().filter(lambda lives: lives.failures > 0), st.floats(1e-3, 1e3))
def test_another_unit_of_time_leaves_the_masses_alone(lives, factor):
    curve = interval_curve(lives)
    scaled = interval_curve(Lives(lives.entry, factor * lives.lower, factor * lives.upper))
    assert scaled.log_likelihood == pytest.approx(curve.log_likelihood, abs=1e-6)
    assert scaled.left == pytest.approx(factor * curve.left)


def test_an_exact_failure_at_the_end_of_an_interval_may_explain_it():
    curve = interval_curve(lives_from_intervals([2, 4, 4], [4, 4, 9]))
    assert list(zip(curve.left, curve.right, curve.mass.round(6), strict=True)) == [(4, 4, 0.666667), (4, 9, 0.333333)]


def test_many_lives_are_no_trouble():
    rng = np.random.default_rng(3)
    life, first = 10 * rng.weibull(1.5, 5000), rng.uniform(0, 10, 5000)
    second = first + rng.uniform(0, 10, 5000)
    lower = np.where(life < first, 0, np.where(life < second, first, second))
    upper = np.where(life < first, first, np.where(life < second, second, np.inf))
    found = interval_curve(lives_from_intervals(lower, upper)).survival_at([3, 6, 9, 12])
    truth = np.exp(-((np.array([3, 6, 9, 12]) / 10) ** 1.5))
    assert np.all((found.lower - 0.05 < truth) & (truth < found.upper + 0.05))


def test_what_cannot_be_estimated_is_refused():
    with pytest.raises(NotEnoughData, match="no failure"):
        interval_curve(lives_from_times([3, 4], [False, False]))


@given(any_lives().filter(lambda lives: lives.failures > 0))
def test_with_delayed_entry_exact_times_give_the_curve_of_kaplan_and_meier(lives):
    exact, curve = survival_curve(lives), interval_curve(lives)
    assert curve.survival_at(exact.time).value == pytest.approx(exact.survival, abs=1e-6)
    assert (curve.emptied_at, curve.emptied_until) == (exact.emptied_at, exact.emptied_until)
    if exact.emptied_until is not None and condition_on(lives, exact.emptied_until).failures:
        later, known = curve.given(exact.emptied_until), survival_curve(condition_on(lives, exact.emptied_until))
        assert later.survival_at(known.time).value == pytest.approx(known.survival, abs=1e-6)


@st.composite
def late_intervals(draw: st.DrawFn) -> Lives:
    lives = draw(intervals())
    seen = np.where(lives.failed, lives.upper, lives.lower)
    entry = np.array([draw(st.integers(0, int(end) - 1)) for end in seen], dtype=float)
    return Lives(entry, lives.lower, lives.upper)


@given(late_intervals().filter(lambda lives: lives.failures > 0 and lives.n < 9))
@settings(max_examples=30, deadline=None)
def test_with_delayed_entry_no_general_search_finds_a_likelier_curve(lives):
    # scipy's L-BFGS-B over the hazard of every stretch between any two of the times on record.
    curve = interval_curve(lives)
    times = np.unique(np.concatenate((lives.entry, lives.lower, lives.upper[lives.failed])))
    low = np.where(lives.failed, np.maximum(lives.lower, lives.entry), lives.lower)
    before, after, late = (np.searchsorted(times, each) for each in (low, lives.upper, lives.entry))

    def minus_log_likelihood(hazard):
        total = np.concatenate(([0.0], np.cumsum(hazard), [np.inf]))
        working = total[before] - total[late]
        failing = np.log(np.maximum(-np.expm1(total[before] - total[np.minimum(after, times.size)]), 1e-300))
        return float(np.sum(working) - np.sum(failing[lives.failed]))

    at = np.full(times.size - 1, 0.3)
    found = minimize(minus_log_likelihood, at, method="L-BFGS-B", bounds=[(0, 30)] * at.size)
    assert curve.log_likelihood >= -found.fun - 1e-6
    assert curve.gap <= 1e-8 * lives.n


def test_what_can_have_failed_before_a_later_entry_has():
    # By hand (Frydman 1994): the first life failed in (0, 4]; the second, watched from 2, worked at 5. To fail in
    # (0, 2] costs the second nothing, in (2, 4] it does: so the curve falls to 0 at 2, and both are certain.
    curve = interval_curve(lives_from_intervals([0, 5], [4, np.inf], [0, 2]))
    assert (curve.left.tolist(), curve.right.tolist()) == ([0, 5], [2, np.inf])
    assert curve.log_likelihood == pytest.approx(0, abs=1e-6)
    assert (curve.emptied_at, curve.emptied_until) == (2, 2)
    assert curve.given(2).survival_at([5]).value == pytest.approx(1)


def test_those_that_worked_at_an_age_are_told_of_alone():
    curve = interval_curve(lives_from_intervals([0, 4, 8, 8], [4, 8, np.inf, np.inf]))
    later = curve.given(6)
    # A quarter fails in (4, 8], half of these after 6: of 5 eighths working at 6, an eighth fails until 8.
    assert later.survival_at([8]).value == pytest.approx(1 - (1 / 8) / (5 / 8))
    assert curve.given(np.inf) is None


def test_many_late_lives_found_at_checks_come_near_the_truth():
    rng = np.random.default_rng(11)
    life, entry = 10 * rng.weibull(1.5, 9000), rng.uniform(0, 6, 9000) * (rng.random(9000) < 0.5)
    life, entry = life[life > entry], entry[life > entry]
    first = entry + rng.uniform(0, 5, life.size)
    second = first + rng.uniform(0, 5, life.size)
    lower = np.where(life < first, entry, np.where(life < second, first, second))
    upper = np.where(life < first, first, np.where(life < second, second, np.inf))
    found = interval_curve(lives_from_intervals(lower, upper, entry)).survival_at([3, 6, 9])
    truth = np.exp(-((np.array([3, 6, 9]) / 10) ** 1.5))
    assert np.all((found.lower - 0.04 < truth) & (truth < found.upper + 0.04))


def log_likelihood(lives: Lives, left: np.ndarray, right: np.ndarray, mass: np.ndarray) -> float:
    """Sum over innermost intervals straight from the definition."""
    total = 0.0
    for low, high in zip(lives.lower, lives.upper, strict=True):
        total += np.log(sum(m for a, b, m in zip(left, right, mass, strict=True) if low <= a and b <= high))
    return total
