"""What must hold for every fit: invariances, derivatives, and refusal of lives that settle nothing."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from maintain.core.fit import fit, fit_best
from maintain.core.likelihood import log_likelihood, log_lives
from maintain.core.lives import Lives, lives_from_intervals, lives_from_times
from maintain.core.models import MODELS
from maintain.core.shape import hazard_verdict, profile_limits
from maintain.errors import InvalidRecord, NotEnoughData, NotFound
from tests.core.given_lives import fittable_lives
from tests.core.published_lives import ball_bearings, diesel_fans, heat_exchanger

EVERY_MODEL = pytest.mark.parametrize("model", list(MODELS))
INF = np.inf


@EVERY_MODEL
@settings(deadline=None)
@given(lives=fittable_lives(), power=st.integers(-250, 250))
def test_another_unit_of_time_scales_lives_and_leaves_shares_alone(model, lives, power):
    factor = 10.0**power
    one, other = fit(lives, model), fit(Lives(lives.entry, factor * lives.lower, factor * lives.upper), model)
    assert other.b10.value == pytest.approx(factor * one.b10.value, rel=1e-5)
    assert other.survival_at(factor * 20).value == pytest.approx(one.survival_at(20).value, abs=1e-5)
    assert other.theta[1] == pytest.approx(one.theta[1], abs=1e-5)
    assert other.covariance == pytest.approx(one.covariance, rel=1e-3, abs=1e-7)


@EVERY_MODEL
@settings(deadline=None)
@given(lives=fittable_lives(), random=st.randoms(use_true_random=False))
def test_the_order_of_rows_does_not_matter(model, lives, random):
    rows = list(range(lives.n))
    random.shuffle(rows)
    one, other = fit(lives, model), fit(lives.take(np.array(rows)), model)
    assert other.theta == pytest.approx(one.theta, abs=1e-5)
    assert other.log_likelihood == pytest.approx(one.log_likelihood, abs=1e-8)


@EVERY_MODEL
@settings(deadline=None)
@given(lives=fittable_lives(), share=st.floats(0.1, 0.9), data=st.data())
def test_a_life_split_in_two_by_a_later_entry_changes_nothing(model, lives, share, data):
    row = data.draw(st.integers(0, lives.n - 1))
    middle = share * lives.lower[row]
    split = Lives(
        np.append(lives.entry, middle),
        np.append(lives.lower, lives.lower[row]),
        np.append(lives.upper, lives.upper[row]),
    )
    split.lower[row], split.upper[row] = middle, INF
    one, other = fit(lives, model), fit(split, model)
    assert other.theta == pytest.approx(one.theta, abs=1e-4)
    assert other.log_likelihood == pytest.approx(one.log_likelihood, abs=1e-7)


@settings(deadline=None)
@given(lives=fittable_lives())
def test_a_weibull_of_shape_one_is_the_exponential(lives):
    data = log_lives(lives)
    for mu in (-0.5, 0.3):
        theta = np.array([mu, 0.0])
        weibull = log_likelihood(MODELS["weibull"], data, theta)
        exponential = log_likelihood(MODELS["exponential"], data, theta)
        assert weibull.value == exponential.value
        assert weibull.gradient[0] == exponential.gradient[0]
    scale = fit(lives, "exponential").parameters["scale"].value
    assert scale == pytest.approx(lives.lower.sum() / lives.failures)


@EVERY_MODEL
@settings(deadline=None)
@given(lives=fittable_lives())
def test_shares_and_limits_lie_between_0_and_1_in_order(model, lives):
    fitted = fit(lives, model)
    times = np.array([0, 0.5, 3, 10, 40, 200, 1e4])
    for band in (fitted.survival_at(times), fitted.conditional_failure(times, 7)):
        assert np.all((band.lower >= 0) & (band.lower <= band.value) & (band.value <= band.upper) & (band.upper <= 1))
    assert np.all(np.diff(fitted.survival_at(times).value) <= 0)
    gone = 1 - fitted.survival_at(fitted.quantile(0.3).value).value
    assert gone == pytest.approx(0.3)


@EVERY_MODEL
def test_written_out_derivatives_are_those_of_finite_differences(model):
    law = MODELS[model]
    mixed = lives_from_intervals(
        [5, 7, 2, 0, 3, 9, 6, 8], [5, 7, 4, 2, INF, INF, 11, 8], [0, 2.5, 1, 0, 1.5, 0, 7, 0.2]
    )
    data, step = log_lives(mixed), 1e-5
    for theta in (np.array([0.2, -0.4]), np.array([-0.3, 0.5])):
        here = log_likelihood(law, data, theta)
        for axis in range(law.free):
            shift = step * np.eye(2)[axis]
            up, down = log_likelihood(law, data, theta + shift), log_likelihood(law, data, theta - shift)
            assert here.gradient[axis] == pytest.approx((up.value - down.value) / (2 * step), rel=1e-6, abs=1e-7)
            assert here.hessian[axis] == pytest.approx((up.gradient - down.gradient) / (2 * step), rel=1e-6, abs=1e-7)


def test_an_interval_shrunk_to_a_point_tends_to_an_exact_failure():
    exact = diesel_fans()
    nearly = Lives(exact.entry, np.where(exact.failed, exact.lower * (1 - 1e-7), exact.lower), exact.upper)
    assert fit(nearly).theta == pytest.approx(fit(exact).theta, rel=1e-5)


@pytest.mark.parametrize(
    ("lives", "reason"),
    [
        (Lives(np.zeros(0), np.zeros(0), np.zeros(0)), "no lives"),
        (lives_from_times([1, 2, 3], [False] * 3), "no failure among 3 lives"),
        (lives_from_times([1, 2, 3], [False, False, True]), "1 failure among 3 lives and none seen working later"),
        (lives_from_times([5]), "1 failure among 1 life"),
        (lives_from_times([5, 5, 5]), "could have come at one moment"),
        (lives_from_times([5, 5, 3, 5], [True, True, False, False]), "could have come at one moment"),
        (lives_from_intervals([2, 3], [6, 4]), "could have come at one moment"),
        (lives_from_intervals([0, 0, 5], [5, 5, INF]), "could have come at one moment"),
        (lives_from_intervals([0, 0, 0], [5, 5, 5]), "none of 3 lives is known to have worked"),
        (lives_from_intervals([0, 0, 5], [1, 1, INF]), "do not settle"),
        (lives_from_times([101, 103, 300, 400], [1, 1, 0, 0], [100, 100, 200, 200]), "do not settle"),
    ],
)
@pytest.mark.parametrize("model", ["weibull", "lognormal", "loglogistic"])
def test_lives_that_settle_nothing_are_refused_with_a_hint(lives, reason, model):
    with pytest.raises(NotEnoughData, match=reason) as refused:
        fit(lives, model)
    assert refused.value.hint


@pytest.mark.parametrize(
    "lives", [lives_from_times([1, 2, 3], [False] * 3), lives_from_intervals([0, 0], [5, 5])], ids=["none", "found"]
)
def test_not_even_the_exponential_is_fitted_to_nothing(lives):
    with pytest.raises(NotEnoughData):
        fit_best(lives)


def test_one_failure_seen_outlived_can_be_fitted_and_says_how_little_it_knows():
    lives = lives_from_times([4, 9, 9, 9], [True, False, False, False])
    fitted = fit(lives)
    lower, upper = profile_limits(lives, fitted)
    assert lower < 1 < upper
    assert hazard_verdict(lower, upper) == "can't tell yet"
    assert fitted.aicc == pytest.approx(fitted.aic + 12)


def test_candidates_that_cannot_be_fitted_are_left_out():
    assert [one.model for one in fit_best(lives_from_times([5, 5, 5]))] == ["exponential"]


def test_with_too_few_lives_the_corrected_criterion_is_not_given():
    fits = fit_best(lives_from_times([3, 8]))
    assert [one.aicc for one in fits] == [None] * 4
    assert [one.aic for one in fits] == sorted(one.aic for one in fits)


def test_a_tail_too_heavy_for_a_mean_gives_none():
    fitted = fit(lives_from_times([1, 5, 50, 900, 20_000]), "loglogistic")
    assert fitted.mean.value is None
    assert fitted.median.value is not None


@pytest.mark.parametrize("model", ["weibull", "lognormal", "loglogistic"])
def test_likelihood_ratio_limits_lie_where_the_profile_has_fallen_by_half_the_chi_square(model):
    from scipy.optimize import minimize_scalar

    lives = heat_exchanger()
    fitted, data = fit(lives, model), log_lives(lives)
    for limit in profile_limits(lives, fitted):
        log_sigma = np.log(limit if model == "lognormal" else 1 / limit)
        best = minimize_scalar(
            lambda mu, s=log_sigma: -log_likelihood(MODELS[model], data, np.array([mu, s])).value,
            bounds=(-2, 60),
            method="bounded",
            options={"xatol": 1e-9},
        )
        assert fitted.log_likelihood + best.fun == pytest.approx(3.841459 / 2, abs=1e-4)


def test_only_a_shape_has_likelihood_ratio_limits():
    lives = ball_bearings("4848")
    with pytest.raises(InvalidRecord, match="no shape"):
        profile_limits(lives, fit(lives, "exponential"))


@pytest.mark.parametrize(
    ("lower", "upper", "verdict"),
    [
        (1.01, 3, "wear-out"),
        (0.3, 0.99, "early failures"),
        (0.85, 1.2, "steady"),
        (0.5, 2, "can't tell yet"),
        (0.7, 1.1, "can't tell yet"),
        (None, None, "can't tell yet"),
        (1.2, None, "wear-out"),
        (None, 0.9, "early failures"),
    ],
)
def test_the_verdict_needs_the_whole_interval(lower, upper, verdict):
    assert hazard_verdict(lower, upper) == verdict


def test_a_wide_interval_on_few_failures_never_calls_the_hazard_steady():
    fans = fit(diesel_fans()).parameters["shape"]
    assert hazard_verdict(fans.lower, fans.upper) == "can't tell yet"


def test_bad_questions_are_refused():
    fitted = fit(ball_bearings("4848"))
    with pytest.raises(NotFound, match="no model named 'gompertz'"):
        fit(ball_bearings("4848"), "gompertz")
    with pytest.raises(InvalidRecord, match="confidence"):
        fit(ball_bearings("4848"), conf=95)
    with pytest.raises(InvalidRecord, match="share"):
        fitted.quantile(0)
    with pytest.raises(InvalidRecord, match="negative"):
        fitted.conditional_failure([1, -1], 5)


def test_far_beyond_the_scale_a_steep_weibull_surely_fails():
    fitted = fit(lives_from_times([100, 100.1, 100.05, 99.9]))
    band = fitted.conditional_failure([0, 200], 1000)
    assert band.value.tolist() == [1, 1]


@pytest.mark.slow
def test_wald_and_likelihood_ratio_limits_cover_as_often_as_they_say():
    rng = np.random.default_rng(77)
    wald = ratio = tried = 0
    for _ in range(1000):
        life, last = rng.weibull(1.5, 60), rng.uniform(0.2, 1.5, 60)
        entry = rng.uniform(0, 0.5, 60) * (rng.random(60) < 0.5)
        seen = np.minimum(life, last) > entry
        lives = lives_from_times(np.minimum(life, last)[seen], (life <= last)[seen], entry[seen])
        fitted = fit(lives)
        shape = fitted.parameters["shape"]
        low, high = profile_limits(lives, fitted)
        tried += 1
        wald += shape.lower < 1.5 < shape.upper
        ratio += low < 1.5 < high
    assert 0.93 < wald / tried < 0.97
    assert 0.93 < ratio / tried < 0.97
