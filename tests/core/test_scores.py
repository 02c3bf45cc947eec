"""Scores by hand, against published values, statsmodels and scipy."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats

from maintain.core.scores import brier, calibration, count_chances, log_score, skill, skill_limits, tally
from maintain.errors import InvalidRecord, NotEnoughData
from tests.published.reading import EXPECTED, numbers

PUBLISHED = EXPECTED["P16"]


def test_the_weighted_brier_score_is_the_published_one() -> None:
    """Survival of lung patients by a Cox model; weights by the censoring curve just before each time (R's pec)."""
    time, died = numbers("lung_cox_predictions", "time", "status").T
    order = np.argsort(time)
    time, died = time[order], died[order] > 0
    alive = numbers("lung_cox_predictions", "S180", "S365", "S540")[order]
    for place, at in enumerate((180.0, 365.0, 540.0)):
        weight = np.where(time > at, 1 / _uncensored(time, died, at), 0.0)
        early = (time <= at) & died
        weight[early] = [1 / _uncensored(time, died, np.nextafter(t, 0)) for t in time[early]]
        found = brier(1 - alive[:, place], time <= at, weight)
        assert found == pytest.approx(PUBLISHED["brier_G_of_tminus"][place], rel=1e-6)


def _uncensored(time: np.ndarray, died: np.ndarray, at: float) -> float:
    """Kaplan-Meier of being censored; deaths come first where they tie."""
    share = 1.0
    for t in np.unique(time[~died & (time <= at)]):
        censored = np.sum((time == t) & ~died)
        at_risk = np.sum(time >= t) - np.sum((time == t) & died)
        share *= 1 - censored / at_risk
    return share


def test_scores_are_those_worked_out_by_hand() -> None:
    chance, failed = [0.1, 0.5, 0.8], [False, True, True]
    assert brier(chance, failed) == pytest.approx((0.01 + 0.25 + 0.04) / 3)
    assert log_score(chance, failed) == pytest.approx(-(np.log(0.9) + np.log(0.5) + np.log(0.8)) / 3)
    assert skill(0.1, 0.2) == 0.5
    assert skill(0.3, 0.2) == pytest.approx(-0.5)
    assert skill(0.1, 0.0) is None


def test_the_log_score_is_the_likelihood_of_a_logistic_model_in_statsmodels() -> None:
    import statsmodels.api as sm

    rng = np.random.default_rng(3)
    x = rng.normal(size=200)
    failed = rng.random(200) < 1 / (1 + np.exp(2 - x))
    fitted = sm.Logit(failed.astype(float), sm.add_constant(x)).fit(disp=0)
    assert log_score(fitted.predict(), failed) == pytest.approx(-fitted.llf / 200, rel=1e-10)


def test_limits_of_a_skill_are_those_of_scipy_resampling_pairs() -> None:
    rng = np.random.default_rng(9)
    rival = rng.gamma(2.0, 1.0, 30)
    ours = rival * rng.uniform(0.7, 1.2, 30)
    found = skill_limits(ours, rival, np.random.default_rng(1), level=0.8, size=20_000)
    scipys = stats.bootstrap(
        (ours, rival), lambda a, b, axis=-1: 1 - a.sum(axis=axis) / b.sum(axis=axis), paired=True, vectorized=True,
        confidence_level=0.8, n_resamples=20_000, method="percentile", rng=np.random.default_rng(2),
    ).confidence_interval  # fmt: skip
    assert found == pytest.approx((scipys.low, scipys.high), abs=0.005)


def test_what_was_called_impossible_and_happened_scores_infinity() -> None:
    assert log_score([0.0, 0.5], [True, True]) == np.inf
    assert skill(1.0, np.inf) is None


def test_the_true_chances_score_best_on_average() -> None:
    rng = np.random.default_rng(5)
    true = rng.beta(1, 20, 20_000)
    failed = rng.random(true.size) < true
    for wrong in (true * 2, true / 2, np.full(true.size, true.mean())):
        assert brier(true, failed) < brier(np.minimum(wrong, 1), failed)
        assert log_score(true, failed) < log_score(np.clip(wrong, 1e-9, 1 - 1e-9), failed)


def test_calibration_counts_each_forecast_once_with_exact_limits() -> None:
    chance = np.array([0.0, 0.01, 0.012, 0.06, 0.06, 1.0])
    failed = np.array([False, False, True, True, False, True])
    table = calibration(chance, failed, level=0.95)
    assert [(each.least, each.n, each.failures) for each in table] == [
        (0.0, 1, 0),
        (0.01, 2, 1),
        (0.05, 2, 1),
        (0.2, 1, 1),
    ]
    two = table[1]
    exact = stats.binomtest(1, 2).proportion_ci(0.95, method="exact")
    assert (two.lower, two.upper) == pytest.approx((exact.low, exact.high))
    assert two.expected == pytest.approx(0.011)


def test_counts_have_the_distribution_scipy_gives_them() -> None:
    chance = np.random.default_rng(1).beta(1, 30, 400)
    mass = count_chances(chance)
    assert mass == pytest.approx(stats.poisson_binom(chance).pmf(np.arange(mass.size)), abs=1e-12)
    assert mass.sum() == pytest.approx(1, abs=1e-12)
    assert count_chances(np.array([1.0, 1.0, 0.5])).tolist() == [0, 0, 0.5, 0.5]


def test_the_test_of_equal_chances_is_the_binomial_one() -> None:
    chance = np.full(30, 0.1)
    failed = np.arange(30) < 8
    found = tally(chance, failed)
    assert found.p_value == pytest.approx(2 * stats.binom.sf(7, 30, 0.1), rel=1e-9)
    assert (found.lower, found.upper) == (stats.binom.ppf(0.025, 30, 0.1), stats.binom.ppf(0.975, 30, 0.1))
    assert not found.believable


def test_far_more_failures_than_expected_are_hardly_possible() -> None:
    assert tally(np.full(200, 0.01), np.ones(200, dtype=bool)).p_value < 1e-9
    assert tally(np.full(200, 0.01), np.zeros(200, dtype=bool)).p_value == pytest.approx(2 * 0.99**200)


def test_limits_hold_the_count_as_often_as_they_should() -> None:
    rng = np.random.default_rng(2)
    chance = rng.beta(1, 20, 300)
    held = [tally(chance, rng.random(300) < chance, level=0.8).believable for _ in range(400)]
    assert 0.78 < np.mean(held) < 0.92  # whole numbers: at least what is promised


def test_battles_that_share_their_luck_widen_the_limits() -> None:
    """Each battle's chance is beta about the forecast: the count's variance is that of a beta-binomial."""
    rng = np.random.default_rng(8)
    cluster = np.repeat(np.arange(40), 100)
    chance = np.full(cluster.size, 0.05)
    held, spreads = [], []
    for _ in range(200):
        luck = rng.beta(2, 38, 40)
        found = tally(chance, rng.random(cluster.size) < luck[cluster], cluster)
        held.append(found.believable)
        spreads.append(found.spread)
    assert np.mean(spreads) == pytest.approx(1 + 99 / 41, rel=0.1)  # 1 + (n - 1) / (a + b + 1)
    assert 0.9 < np.mean(held) < 0.99


def test_one_cluster_tells_nothing_of_how_clusters_differ() -> None:
    assert tally([0.1, 0.1], [True, True], np.zeros(2, dtype=np.intp)).spread == 1


@pytest.mark.parametrize("chance", [[1.2], [-0.1], [np.nan]])
def test_what_is_no_chance_is_refused(chance: list[float]) -> None:
    with pytest.raises(InvalidRecord):
        brier(chance, [True])


def test_nothing_to_score_says_what_to_record() -> None:
    with pytest.raises(NotEnoughData):
        tally([], [])
