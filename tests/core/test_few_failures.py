"""Limits under a law of life where failures are few: by the likelihood itself, or none at all."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.optimize import minimize
from scipy.stats import chi2

from maintain.core.effects import accelerated_effects
from maintain.core.lives import lives_from_times
from maintain.errors import NotEnoughData

TIMES = np.array([40.0, 55, 70, 90, 90, 90, 60, 95, 120, 140, 150, 150])
DEAD = np.array([1, 1, 1, 0, 0, 0, 1, 0, 1, 0, 0, 0], dtype=bool)
METHOD = np.repeat([0.0, 1.0], 6)


def log_likelihood(theta, coef):
    scale, shape = np.exp(theta[0] + coef * METHOD), np.exp(theta[1])
    return float(
        np.sum(DEAD * (np.log(shape / scale) + (shape - 1) * np.log(TIMES / scale)) - (TIMES / scale) ** shape)
    )


def profile(coef):
    best = minimize(lambda theta: -log_likelihood(theta, coef), [5.0, 0.5], method="Nelder-Mead", tol=1e-12)
    return -best.fun


def test_limits_are_where_twice_the_profile_likelihood_has_fallen_by_chi_square():
    found = accelerated_effects(lives_from_times(TIMES, DEAD), {"method": METHOD})
    effect = found.effects[0]
    assert effect.interval == "likelihood ratio"
    assert profile(effect.coef) == pytest.approx(found.log_likelihood, abs=1e-8)
    for limit in (effect.lower, effect.upper):
        assert 2 * (found.log_likelihood - profile(np.log(limit))) == pytest.approx(chi2.ppf(0.95, 1), rel=1e-5)
    cost = 2 * (found.log_likelihood - profile(0.0))
    assert effect.p == pytest.approx(chi2.sf(cost, 1), rel=1e-5)
    test = found.factors[0]
    assert (test.test, test.statistic, test.p) == (
        "likelihood ratio",
        pytest.approx(cost, rel=1e-5),
        pytest.approx(effect.p),
    )


def test_they_are_wider_than_limits_from_standard_errors():
    effect = accelerated_effects(lives_from_times(TIMES, DEAD), {"method": METHOD}).effects[0]
    assert np.log(effect.upper / effect.lower) > 2 * 1.959964 * effect.se * 1.05


def test_the_unit_of_time_and_of_the_covariate_change_nothing():
    plain = accelerated_effects(lives_from_times(TIMES, DEAD), {"method": METHOD}).effects[0]
    other = accelerated_effects(lives_from_times(TIMES * 1e6, DEAD), {"method": METHOD * 100 + 7}).effects[0]
    assert 100 * np.log([other.lower, other.upper]) == pytest.approx(np.log([plain.lower, plain.upper]), rel=1e-5)


def test_what_ships_share_widens_them():
    lives = lives_from_times(TIMES, DEAD)
    alone = accelerated_effects(lives, {"method": METHOD}).effects[0]
    ship = np.tile([0, 0, 1, 1, 2, 2], 2) + 3 * METHOD.astype(int)
    shared = accelerated_effects(lives, {"method": METHOD}, cluster=ship).effects[0]
    assert shared.coef == pytest.approx(alone.coef)
    assert shared.p > alone.p
    assert (shared.lower or 0) < alone.lower
    assert (shared.upper or np.inf) > alone.upper


def test_many_failures_keep_limits_from_standard_errors():
    rng = np.random.default_rng(2)
    x = np.arange(60) % 2
    found = accelerated_effects(lives_from_times(rng.weibull(1.5, 60) * (1 + x)), {"x": x})
    assert (found.effects[0].interval, found.factors[0].test) == ("Wald", "Wald")


def test_fewer_failures_than_numbers_to_estimate_are_refused():
    # Standard errors would say 1.35 times as long, from 1.12 to 1.63: of two failures.
    lives = lives_from_times([100, 120, 135, 150], [True, False, True, False])
    with pytest.raises(NotEnoughData, match="2 failures can't settle the 3 numbers of a weibull law"):
        accelerated_effects(lives, {"zone": ["a", "a", "b", "b"]})
