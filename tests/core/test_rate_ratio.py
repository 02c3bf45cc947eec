"""Rates compared within strata: against textbook formulas, exact tests of scipy, statsmodels, and simulation."""

from __future__ import annotations

import numpy as np
import pytest
import statsmodels.api as sm
from scipy.stats import binomtest
from scipy.stats import t as student

from maintain.core.rate_ratio import Spent, rate_ratio
from maintain.errors import InvalidRecord


def spent(deaths, time) -> Spent:
    return Spent(np.array(deaths, dtype=float), np.array(time, dtype=float))


def test_one_stratum_has_the_crude_ratio_and_its_textbook_limits() -> None:
    # Rothman, Greenland and Lash (2008), chapter 14: variance of the log ratio of two rates is 1/a + 1/b.
    found = rate_ratio(spent([[41]], [[28010]]), spent([[15]], [[19017]]))
    reach = 1.959964 * np.sqrt(1 / 41 + 1 / 15)
    ratio = (41 / 28010) / (15 / 19017)
    assert (found.value, found.lower, found.upper) == pytest.approx(
        (ratio, ratio * np.exp(-reach), ratio * np.exp(reach)), rel=1e-6
    )


def test_many_deaths_in_strata_give_what_a_poisson_regression_gives() -> None:
    rng = np.random.default_rng(1)
    time = rng.uniform(2000, 9000, (2, 5))
    rate = np.array([0.01, 0.03, 0.02, 0.05, 0.04])
    deaths = rng.poisson(rate * time * np.array([[2.5], [1.0]]))
    found = rate_ratio(spent(deaths[:1], time[:1]), spent(deaths[1:], time[1:]))
    side, stratum = np.repeat([1.0, 0.0], 5), np.tile(np.eye(5), (2, 1))
    model = sm.GLM(
        deaths.ravel(), np.column_stack([side, stratum]), family=sm.families.Poisson(), exposure=time.ravel()
    ).fit()
    assert np.log(found.value or 0) == pytest.approx(model.params[0], abs=0.01)
    assert np.log((found.upper or 0) / (found.lower or 1)) == pytest.approx(2 * 1.959964 * model.bse[0], rel=0.02)


def test_a_stratum_with_time_on_one_side_only_compares_nothing() -> None:
    alone = rate_ratio(spent([[4]], [[100]]), spent([[2]], [[100]]))
    more = rate_ratio(spent([[4, 50, 0]], [[100, 7, 0]]), spent([[2, 0, 9]], [[100, 0, 5]]))
    assert more == alone


def test_without_a_death_on_one_side_limits_are_exact() -> None:
    # given 6 deaths in all, each fell here with chance 1/4 were the rates alike; scipy's binomial test
    found = rate_ratio(spent([[0]], [[100]]), spent([[6]], [[300]]))
    share = binomtest(0, 6).proportion_ci(method="exact").high
    assert (found.value, found.lower, found.upper) == (0, 0, pytest.approx(share / (1 - share) * 3))
    other = rate_ratio(spent([[6]], [[100]]), spent([[0]], [[300]]))
    share = binomtest(6, 6).proportion_ci(method="exact").low
    assert (other.value, other.lower, other.upper) == (None, pytest.approx(share / (1 - share) * 3), None)


def test_nothing_to_compare_tells_nothing() -> None:
    found = rate_ratio(spent([[3, 0]], [[10, 0]]), spent([[0, 3]], [[0, 10]]))
    assert (found.value, found.lower, found.upper) == (None, None, None)
    assert rate_ratio(spent([[0]], [[10]]), spent([[0]], [[10]])).upper is None


def test_deaths_that_come_together_widen_the_limits() -> None:
    time, there = np.full((8, 1), 100.0), spent(np.full((8, 1), 2), np.full((8, 1), 100))
    even = rate_ratio(spent(np.full((8, 1), 3), time), there)
    heaped = rate_ratio(spent([[24]] + [[0]] * 7, time), there)
    assert even.value == heaped.value == pytest.approx(1.5)
    assert (heaped.upper or 0) / (heaped.lower or 1) > 3 * (even.upper or 0) / (even.lower or 1)


def test_limits_hold_the_true_ratio_where_ships_differ() -> None:
    rng = np.random.default_rng(2)
    held = 0
    for _ in range(300):
        luck = rng.gamma(4, 1 / 4, (14, 1))
        time = rng.uniform(200, 400, (2, 14, 3))
        deaths = rng.poisson(np.array([3.0, 1.0])[:, None, None] * luck * time * [0.002, 0.004, 0.003])
        found = rate_ratio(spent(deaths[0], time[0]), spent(deaths[1], time[1]))
        held += (found.lower or 0) <= 3 <= (found.upper or np.inf)
    assert 0.93 <= held / 300 <= 0.995


def test_what_does_not_fit_together_is_refused() -> None:
    with pytest.raises(InvalidRecord, match="same clusters and strata"):
        rate_ratio(spent([[1]], [[1]]), spent([[1, 2]], [[1, 2]]))
    with pytest.raises(InvalidRecord, match="none negative"):
        rate_ratio(spent([[-1]], [[1]]), spent([[1]], [[1]]))


def test_clusters_weigh_as_a_numerical_jackknife_says() -> None:
    rng = np.random.default_rng(3)
    parts = [rng.poisson(3, (6, 4)), rng.uniform(50, 90, (6, 4)), rng.poisson(2, (6, 4)), rng.uniform(50, 90, (6, 4))]

    def log_ratio(weight: np.ndarray) -> float:
        a, mine, d, other = (weight @ part for part in parts)
        return float(np.log(np.sum(a * other / (mine + other)) / np.sum(d * mine / (mine + other))))

    moves = [(log_ratio(1 + 1e-5 * row) - log_ratio(1 - 1e-5 * row)) / 2e-5 for row in np.eye(6)]
    reach = float(student.ppf(0.975, 5)) * np.sqrt(6 / 5 * np.sum(np.square(moves)))
    found = rate_ratio(spent(*parts[:2]), spent(*parts[2:]))
    assert found.value == pytest.approx(np.exp(log_ratio(np.ones(6))))
    assert found.upper == pytest.approx(np.exp(log_ratio(np.ones(6)) + reach), rel=1e-6)
