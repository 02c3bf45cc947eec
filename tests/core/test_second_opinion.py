"""lifelines as a second opinion: it agrees where it is right, and where it is not that is said, never shown as ours."""

from __future__ import annotations

import math

import numpy as np
import pytest

from maintain.core.curve import survival_curve
from maintain.core.fit import Fit, fit
from maintain.core.lives import Lives, lives_from_intervals, lives_from_times
from maintain.core.second_opinion import second_curve, second_fit
from tests.core.published_lives import ball_bearings, channing, cosmesis, diesel_fans, freireich, heat_exchanger
from tests.published.reading import EXPECTED

LAWS = ("weibull", "lognormal", "loglogistic", "exponential")
RIGHT = {
    "ball bearings": (ball_bearings("4840"), LAWS),
    "diesel fans, 58 of 70 still at work": (diesel_fans(), LAWS),
    "Channing men, who came late": (channing("Male"), ("weibull", "lognormal", "exponential")),
    "Channing women, who came late": (channing("Female"), ("weibull", "lognormal", "exponential")),
    "breast cosmesis, seen at checks": (cosmesis("RT"), LAWS),
    "heat exchanger, looked at each year": (heat_exchanger(), LAWS),
}


@pytest.mark.parametrize(("name", "law"), [(name, law) for name, (_, laws) in RIGHT.items() for law in laws])
def test_both_find_the_same_law_to_six_digits(name: str, law: str) -> None:
    lives = RIGHT[name][0]
    fitted = fit(lives, law)
    asked = second_fit(lives, fitted)
    assert asked.reason is None
    assert asked.digits is not None
    assert asked.digits >= 6
    assert asked.log_likelihood == pytest.approx(fitted.log_likelihood, abs=1e-7)
    assert set(asked.parameters) == set(fitted.parameters)


def test_the_second_opinion_is_the_published_one() -> None:
    expected = EXPECTED["P02_4840"]["weibull"]
    lives = ball_bearings("4840")
    asked = second_fit(lives, fit(lives))
    assert asked.parameters["shape"] == pytest.approx(expected["shape"], rel=1e-4)
    assert asked.parameters["scale"] == pytest.approx(expected["scale"], rel=1e-4)
    assert asked.log_likelihood == pytest.approx(expected["loglik"], abs=1e-3)


@pytest.mark.parametrize("unit", [1e-9, 1e9])
def test_a_unit_of_time_far_from_one_does_not_stop_its_search_early(unit: float) -> None:
    # Left to itself in units of 1e-9 it ends at a scale off in the fifth digit.
    lives = diesel_fans()
    scaled = Lives(lives.entry * unit, lives.lower * unit, lives.upper * unit)
    plain, asked = (second_fit(one, fit(one)) for one in (lives, scaled))
    assert asked.digits is not None
    assert asked.digits >= 6
    assert asked.parameters["scale"] == pytest.approx(plain.parameters["scale"] * unit, rel=1e-6)


def test_a_search_that_went_astray_is_told_and_not_taken_for_a_law() -> None:
    # With lives that came late its log-logistic runs to a scale of nothing, and says so only in a warning.
    lives = channing("Female")
    fitted = fit(lives, "loglogistic")
    asked = second_fit(lives, fitted)
    assert asked.digits is None
    assert asked.log_likelihood is not None
    assert asked.log_likelihood < fitted.log_likelihood - 1
    assert str(asked.reason).startswith("its search stopped short of the peak: log-likelihood lower by ")


def test_a_law_of_ours_that_is_not_the_peak_is_told_as_well() -> None:
    lives = ball_bearings("4840")
    right = fit(lives)
    wrong = Fit(right.model, right.n, right.failures, right.conf, right.theta + 0.1, right.covariance, -114.5)
    assert "its law is likelier than ours" in str(second_fit(lives, wrong).reason)


@pytest.mark.parametrize("lives", [ball_bearings("4840"), diesel_fans(), freireich("6MP"), channing("Female")])
def test_both_draw_the_same_curve(lives: Lives) -> None:
    drawn = survival_curve(lives)
    asked = second_curve(lives, drawn)
    assert asked.digits is not None
    assert asked.digits >= 9
    median = drawn.quantile(0.5).value
    assert asked.parameters == ({} if median is None else {"median": pytest.approx(median)})


def test_a_part_that_comes_at_the_moment_of_a_failure_is_watched_by_neither() -> None:
    # Two watched at 5 when one fails; the third comes at 5: a half, and after the second failure nothing of two.
    lives = lives_from_times([5, 9, 9], [True, False, True], [0, 0, 5])
    asked = second_curve(lives, survival_curve(lives))
    assert asked.largest_difference == pytest.approx(0, abs=1e-12)


def test_an_early_risk_set_that_empties_is_the_reason_it_has_no_curve() -> None:
    lives = channing("Male")
    asked = second_curve(lives, survival_curve(lives))
    assert (asked.parameters, asked.largest_difference) == ({}, None)
    assert asked.reason == "it refuses lives of which all watched so early had failed"


def test_late_lives_known_only_to_intervals_are_fitted_alike_by_both() -> None:
    rng = np.random.default_rng(4)
    life, entry = 10 * rng.weibull(2.0, 200), rng.uniform(0, 6, 200)
    seen = life > entry
    lower = np.floor(life[seen])
    lives = lives_from_intervals(lower, np.where(lower < 14, lower + 1, math.inf), np.minimum(entry[seen], lower + 0.5))
    asked = second_fit(lives, fit(lives))
    assert asked.digits is not None
    assert asked.digits >= 6
