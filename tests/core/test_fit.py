"""Fitted laws of life against published values, R's survreg, scipy and lifelines."""

from __future__ import annotations

import numpy as np
import pytest

from maintain.core.curve import survival_curve
from maintain.core.fit import Fit, fit, fit_best
from maintain.core.lives import Lives, lives_from_times
from maintain.core.shape import profile_limits
from tests.core.published_lives import (
    ball_bearings,
    channing,
    cosmesis,
    devices_g,
    diesel_fans,
    heat_exchanger,
    nist_hours,
    shock_absorbers,
)
from tests.published.reading import EXPECTED

# Point values are asked for to 1e-4, errors and limits to 1e-3: that far optimisers and Hessians differ.
POINT, LIMIT = 1e-4, 1e-3

WEIBULL = [
    ("P02_4848", "weibull", ball_bearings("4848")),
    ("P02_4840", "weibull", ball_bearings("4840")),
    ("P03a", "weibull", diesel_fans()),
    ("P03b", "mode1", shock_absorbers("1")),
    ("P03b", "mode2", shock_absorbers("2")),
    ("P03b", "all", shock_absorbers("12")),
    ("P03c", "surge", devices_g("surge")),
    ("P03c", "wearout", devices_g("wearout")),
    ("P03c", "all", devices_g("surge", "wearout")),
    ("P04a", "weibull", nist_hours("nist_weibull_8413")),
    ("P06a", "RT", cosmesis("RT")),
    ("P06a", "RT_CT", cosmesis("RT_CT")),
    ("P06b", "weibull", heat_exchanger()),
]
LOGNORMAL = [
    ("P02_4848", "lognormal", ball_bearings("4848")),
    ("P02_4840", "lognormal", ball_bearings("4840")),
    ("P03a", "lognormal", diesel_fans()),
    ("P03b", "mode1_ln", shock_absorbers("1")),
    ("P03b", "mode2_ln", shock_absorbers("2")),
    ("P03b", "all_ln", shock_absorbers("12")),
    ("P04a", "lognormal", nist_hours("nist_weibull_8413")),
]


def check_common(fitted: Fit, expected: dict[str, float]) -> None:
    """Check what every case gives: likelihood, mean, quantiles with limits, errors of location and log spread."""
    assert fitted.log_likelihood == pytest.approx(expected["loglik"], rel=1e-6)
    assert fitted.aic == pytest.approx(expected["AIC"], rel=1e-6)
    assert fitted.mean.value == pytest.approx(expected["mean"], rel=POINT)
    assert fitted.theta == pytest.approx([expected["mu"], np.log(expected["sigma"])], rel=POINT, abs=1e-5)
    errors = [expected["se_mu"], expected["se_logsigma"]]
    assert np.sqrt(np.diag(fitted.covariance)) == pytest.approx(errors, rel=LIMIT)
    for percent in (1, 5, 10, 25, 50):
        if f"B{percent}" in expected:
            found = fitted.quantile(percent / 100)
            assert found.value == pytest.approx(expected[f"B{percent}"], rel=POINT)
            assert found.lower == pytest.approx(expected.get(f"B{percent}_lo", found.lower), rel=LIMIT)
            assert found.upper == pytest.approx(expected.get(f"B{percent}_hi", found.upper), rel=LIMIT)


@pytest.mark.parametrize(("case", "key", "lives"), WEIBULL, ids=[f"{case}-{key}" for case, key, _ in WEIBULL])
def test_weibull_fits_are_those_of_r_survreg(case, key, lives):
    expected = EXPECTED[case][key]
    expected = expected.get("weibull", expected)
    fitted = fit(lives)
    check_common(fitted, expected)
    for name in ("shape", "scale"):
        found = fitted.parameters[name]
        assert found.value == pytest.approx(expected[name], rel=POINT)
        assert found.lower == pytest.approx(expected[f"{name}_lo"], rel=LIMIT)
        assert found.upper == pytest.approx(expected[f"{name}_hi"], rel=LIMIT)


@pytest.mark.parametrize(("case", "key", "lives"), LOGNORMAL, ids=[f"{case}-{key}" for case, key, _ in LOGNORMAL])
def test_lognormal_fits_are_those_of_r_survreg(case, key, lives):
    expected, fitted = EXPECTED[case][key], fit(lives, "lognormal")
    check_common(fitted, expected)
    assert fitted.parameters["mu"].se == pytest.approx(expected["se_mu"], rel=LIMIT)
    assert fitted.median.value == pytest.approx(expected["median"], rel=POINT)


@pytest.mark.parametrize(
    ("case", "lives"), [("P02_4848", ball_bearings("4848")), ("P03a", diesel_fans())], ids=["bearings", "fans"]
)
def test_the_exponential_is_total_use_over_failures(case, lives):
    expected, scale = EXPECTED[case]["exponential"], fit(lives, "exponential").parameters["scale"]
    assert scale.value == pytest.approx(expected["theta"], rel=1e-8)
    assert scale.lower == pytest.approx(expected["theta_lo_wald_log"], rel=1e-6)
    assert scale.upper == pytest.approx(expected["theta_hi_wald_log"], rel=1e-6)


def test_the_exponential_is_fitted_to_intervals_too():
    assert fit(heat_exchanger(), "exponential").mean.value == pytest.approx(
        EXPECTED["P06b"]["exponential_mean"], rel=POINT
    )
    for group in ("RT", "RT_CT"):
        expected = EXPECTED["P06a"][group]["exponential_mean"]
        assert fit(cosmesis(group), "exponential").mean.value == pytest.approx(expected, rel=POINT)


@pytest.mark.parametrize(
    ("case", "lives"),
    [
        ("P02_4848", ball_bearings("4848")),
        ("P03a", diesel_fans()),
        ("P04a", nist_hours("nist_weibull_8413")),
    ],
    ids=["bearings", "fans", "nist"],
)
def test_likelihood_ratio_limits_of_the_shape_are_the_published_ones(case, lives):
    assert profile_limits(lives, fit(lives)) == pytest.approx(EXPECTED[case]["weibull_shape_LR_ci95"], rel=1e-5)


@pytest.mark.parametrize("sex", ["Male", "Female"])
def test_delayed_entry_is_part_of_the_likelihood(sex):
    lives, expected = channing(sex), EXPECTED["P05"][sex]
    fitted = fit(lives)
    shape, scale = fitted.parameters["shape"], fitted.parameters["scale"]
    assert shape.value == pytest.approx(expected["weibull_lt"]["shape"], rel=1e-5)
    assert scale.value == pytest.approx(expected["weibull_lt"]["scale"], rel=1e-5)
    assert fitted.log_likelihood == pytest.approx(expected["weibull_lt"]["loglik"], rel=1e-8)
    assert shape.se / shape.value == pytest.approx(expected["weibull_lt"]["se_log_shape"], rel=LIMIT)
    assert scale.se / scale.value == pytest.approx(expected["weibull_lt"]["se_log_scale"], rel=LIMIT)
    naive = fit(Lives(np.zeros(lives.n), lives.lower, lives.upper)).parameters
    assert naive["shape"].value == pytest.approx(expected["weibull_naive_wrong"]["shape"], rel=POINT)


def test_conditional_failure_of_diesel_fans_is_the_published_one():
    expected = EXPECTED["P03a"]["weibull_conditional_failure_prob"].values()
    found = fit(diesel_fans()).conditional_failure([3000, 0, 8000], [1000, 8000, 4000])
    assert found.value == pytest.approx([one["p"] for one in expected], rel=POINT)
    assert found.lower == pytest.approx([one["lo95_logit"] for one in expected], rel=LIMIT)
    assert found.upper == pytest.approx([one["hi95_logit"] for one in expected], rel=LIMIT)


def test_the_survivors_of_the_fans_have_the_published_failures_ahead():
    lives = diesel_fans()
    ahead = fit(lives).conditional_failure(lives.lower[~lives.failed], 1000)
    expected = EXPECTED["P03a"]["weibull_expected_failures_next_1000h_among_58_survivors"]
    assert ahead.value.sum() == pytest.approx(expected, rel=POINT)


@pytest.mark.parametrize("model", ["weibull", "lognormal", "loglogistic"])
def test_scipy_finds_the_same_law_without_censoring(model):
    from scipy import stats

    lives = ball_bearings("4848")
    law = {"weibull": stats.weibull_min, "lognormal": stats.lognorm, "loglogistic": stats.fisk}[model]
    shape, _, scale = law.fit(lives.lower, floc=0)
    theirs, ours = law(shape, scale=scale), fit(lives, model)
    assert [ours.median.value, ours.b10.value, ours.mean.value] == pytest.approx(
        [theirs.median(), theirs.ppf(0.1), theirs.mean()], rel=1e-3
    )
    assert ours.survival_at([20, 50, 100]).value == pytest.approx(theirs.sf([20, 50, 100]), rel=1e-3)
    assert ours.log_likelihood == pytest.approx(theirs.logpdf(lives.lower).sum(), rel=1e-6)


@pytest.mark.parametrize(
    ("model", "name"),
    [
        ("weibull", "WeibullFitter"),
        ("lognormal", "LogNormalFitter"),
        ("loglogistic", "LogLogisticFitter"),
        ("exponential", "ExponentialFitter"),
    ],
)
def test_lifelines_finds_the_same_law_with_censoring_and_delayed_entry(model, name):
    import lifelines

    rng = np.random.default_rng(2)
    entry, life, last = rng.uniform(0, 6, 900), 10 * rng.weibull(1.8, 900), rng.uniform(5, 20, 900)
    out = np.minimum(life, last)
    seen = out > entry
    entry, out, failed = entry[seen], out[seen], (life <= last)[seen]
    theirs = getattr(lifelines, name)().fit(out, failed, entry=entry)
    ours = fit(lives_from_times(out, failed, entry), model)
    assert ours.log_likelihood >= theirs.log_likelihood_ - 1e-6
    assert ours.median.value == pytest.approx(theirs.median_survival_time_, rel=1e-3)
    assert ours.survival_at([2, 8, 15]).value == pytest.approx(theirs.predict([2, 8, 15]).to_numpy(), rel=2e-3)


def test_survival_limits_are_the_delta_method_done_again_with_numerical_slopes():
    fitted, step = fit(diesel_fans()), 1e-6

    def log_hazard(theta: np.ndarray) -> float:
        return (np.log(4000) - theta[0]) / np.exp(theta[1])

    slope = [
        (log_hazard(fitted.theta + shift) - log_hazard(fitted.theta - shift)) / (2 * step) for shift in step * np.eye(2)
    ]
    centre, half = log_hazard(fitted.theta), 1.959964 * np.sqrt(slope @ fitted.covariance @ slope)
    found = fitted.survival_at(4000)
    assert found.lower[0] == pytest.approx(np.exp(-np.exp(centre + half)), rel=1e-6)
    assert found.upper[0] == pytest.approx(np.exp(-np.exp(centre - half)), rel=1e-6)


def test_candidates_come_best_first():
    fits = fit_best(ball_bearings("4848"))
    assert [one.model for one in fits] == ["lognormal", "loglogistic", "weibull", "exponential"]
    # AICc from its definition, Hurvich and Tsai (1989): AIC + 2 k (k + 1) / (n - k - 1).
    assert fits[0].aicc == pytest.approx(EXPECTED["P02_4848"]["lognormal"]["AIC"] + 12 / 20, rel=1e-6)


def test_a_fit_follows_the_curve_of_a_large_sample():
    rng = np.random.default_rng(8)
    life, last = 100 * rng.weibull(2.0, 20_000), rng.uniform(20, 250, 20_000)
    lives = lives_from_times(np.minimum(life, last), life <= last)
    times = [20, 50, 100, 150]
    assert fit(lives).survival_at(times).value == pytest.approx(
        survival_curve(lives).survival_at(times).survival, abs=0.01
    )
