"""Forecasts against published conditional chances, exhaustive sums and simulated truth."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from scipy import stats

from maintain.core.event_shares import count_chances
from maintain.core.forecast import Ahead, Installed, failure_chance, forecast
from maintain.core.lives import lives_from_times
from maintain.core.posterior import Draws, Prior, category_posterior
from maintain.errors import InvalidRecord

PUBLISHED = Path(__file__).parent.parent / "published"
FANS = Draws(np.array([1.058446]), np.array([[26296.85]]))  # diesel fans, estimate recomputed by R survreg


def steadily(advance: float, n: int) -> Ahead:
    return Ahead(np.full(n, advance), np.zeros(n), np.zeros(n, dtype=np.intp))


@pytest.mark.parametrize(
    ("age", "advance", "chance"), [(3000, 1000, 0.03513585), (0, 8000, 0.2470672), (8000, 4000, 0.1410955)]
)
def test_conditional_chances_of_the_diesel_fans(age: float, advance: float, chance: float) -> None:
    # Nelson (1982) data; conditional Weibull chance recomputed with R and by hand
    parts = Installed(np.zeros(1, dtype=np.intp), np.array([float(age)]))
    assert forecast(FANS, parts, steadily(advance, 1)).mean[0] == pytest.approx(chance, rel=1e-5)


def test_failures_expected_among_the_fans_still_running() -> None:
    # 58 fans at their present ages, next 1000 h: 2.083218 (recomputed)
    hours, failed = np.loadtxt(PUBLISHED / "diesel_fans.csv", delimiter=",", skiprows=1, usecols=(1, 2), unpack=True)
    ages = hours[failed == 0]
    found = forecast(FANS, Installed(np.zeros(ages.size, dtype=np.intp), ages), steadily(1000, ages.size))
    assert ages.size == 58
    assert found.mean.sum() == pytest.approx(2.083218, rel=1e-4)


def test_an_old_part_and_a_small_step_keep_their_digits() -> None:
    # H(t) = t^2: H(100) - H(100 - 1e-7) = 2e-5 - 1e-14
    found = failure_chance(np.array(2.0), np.array(0.0), np.array(100.0), np.array(1e-7))
    assert found == pytest.approx(2e-5, rel=1e-4)


def test_luck_is_averaged_and_ignorance_is_shown() -> None:
    # by exhaustive sum over the number of sinkings, each draw apart
    draws = Draws(np.array([1.5, 2.0]), np.array([[4.0], [6.0]]))
    parts = Installed(np.array([0, 0]), np.array([1.0, 3.0]))
    ahead = Ahead(np.array([0.5, 0.0]), np.array([1.0, 2.0]), np.array([0, 1]))
    share = np.array([[0.3, 0.1], [0.2, 0.4]])
    found = forecast(draws, parts, ahead, count_chances(share, [2, 1]), level=0.999999)
    by_hand = np.zeros((2, 2))
    for s in range(2):
        for part, planned in ((0, 2), (1, 1)):
            life = stats.weibull_min(draws.shape[s], scale=draws.scale[s, 0])
            for count in range(planned + 1):
                end = parts.age[part] + ahead.steady[part] + count * ahead.jump[part]
                chance = stats.binom.pmf(count, planned, share[s, part])
                by_hand[s, part] += chance * (1 - life.sf(end) / life.sf(parts.age[part]))
    assert found.mean == pytest.approx(by_hand.mean(axis=0))
    assert found.lower == pytest.approx(by_hand.min(axis=0), rel=1e-4)
    assert found.upper == pytest.approx(by_hand.max(axis=0), rel=1e-4)


def test_pieces_of_a_long_list_equal_the_whole(monkeypatch: pytest.MonkeyPatch) -> None:
    rng = np.random.default_rng(1)
    draws = Draws(rng.uniform(1, 2, 50), rng.uniform(20, 40, (50, 3)))
    parts = Installed(rng.integers(0, 3, 40), rng.uniform(0, 30, 40))
    whole = forecast(draws, parts, steadily(5, 40))
    monkeypatch.setattr("maintain.core.forecast._CELLS_AT_ONCE", 350)
    assert np.array_equal(forecast(draws, parts, steadily(5, 40)).upper, whole.upper)


@pytest.mark.parametrize("age", [-1.0, np.nan, np.inf])
def test_an_age_that_is_none_is_refused_by_row(age: float) -> None:
    with pytest.raises(InvalidRecord, match=r"\[1\]"):
        forecast(FANS, Installed(np.zeros(2, dtype=np.intp), np.array([5.0, age])), steadily(5, 2))


def expected_and_found(clubs: int, seed: int) -> tuple[float, float, float]:
    """Failures forecast and found over clubs whose truth comes from the prior, and the spread of their difference."""
    rng = np.random.default_rng(seed)
    prior = Prior(scale=100.0, log_scale_sd=0.7)
    expected, found = np.zeros(clubs), np.zeros(clubs)
    for club in range(clubs):
        shape = np.exp(np.log(prior.shape) + prior.log_shape_sd * rng.normal())
        between = prior.between_sd * abs(rng.normal())
        scale = np.exp(np.log(100) + prior.log_scale_sd * rng.normal() + between * rng.normal(size=4))
        group = rng.integers(0, 4, 30)
        life, now = scale[group] * rng.weibull(shape, 30), rng.uniform(20, 120, 30)
        posterior = category_posterior(lives_from_times(np.minimum(life, now), life < now), group, 4, prior)
        works = life >= now
        parts = Installed(group[works], now[works])
        chance = forecast(posterior.sample(rng, 500), parts, steadily(20, int(works.sum()))).mean
        expected[club], found[club] = chance.sum(), (life[works] < now[works] + 20).sum()
    return float(expected.sum()), float(found.sum()), float(np.sqrt(clubs) * np.std(found - expected))


def test_as_many_fail_as_were_forecast() -> None:
    expected, found, spread = expected_and_found(60, seed=3)
    assert abs(found - expected) < 2.5 * spread


@pytest.mark.slow
def test_as_many_fail_as_were_forecast_over_many_clubs() -> None:
    expected, found, spread = expected_and_found(1500, seed=6)
    assert abs(found - expected) < 2.5 * spread
    assert found / expected == pytest.approx(1, abs=0.05)
