"""Ages of renewal against published tables, quadrature and simulation; test intervals against their closed form."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.optimize import minimize_scalar

from maintain.core.lives import Floats
from maintain.core.replacement import Optimum, advise, best_age, cost_rate, failure_finding_interval
from maintain.errors import InvalidRecord
from tests.published.reading import EXPECTED

# Barlow and Proschan (1965), chapter 4 (from memory); the values by two methods, in R and scipy.
PUBLISHED = EXPECTED["P12"]
ROWS = PUBLISHED["table"]


def _shape_and_ratio(name: str) -> tuple[float, float]:
    shape, ratio = name.removeprefix("shape").split("_ratio")
    return float(shape), float(ratio)


def _by_quadrature(age: float, shape: float, scale: float, renewal: float, failure: float) -> float:
    """The cost rate with the mean use integrated by QUADPACK."""
    use, _ = quad(lambda t: np.exp(-((t / scale) ** shape)), 0, age, epsabs=1e-12, epsrel=1e-12)
    alive = np.exp(-((age / scale) ** shape))
    return float((renewal * alive + failure * (1 - alive)) / use)


def _saved(found: Optimum) -> Floats:
    """Share of the cost of running to failure that renewing at the best age saves."""
    return np.asarray(1 - found.cost_rate / found.run_to_failure_rate)


@pytest.mark.parametrize("name", ROWS)
def test_best_age_and_its_cost_are_the_published_ones(name: str) -> None:
    shape, ratio = _shape_and_ratio(name)
    found, row = best_age(shape, 1.0, 1.0, ratio), ROWS[name]
    assert float(found.age) == pytest.approx(row["T_over_eta"], rel=1e-4)
    assert float(found.cost_rate) == pytest.approx(row["cost_times_eta_over_cp"], rel=1e-6)
    assert float(found.run_to_failure_rate) == pytest.approx(row["run_to_failure_cost"], rel=1e-6)
    assert 100 * float(_saved(found)) == pytest.approx(row["saving_pct"], rel=1e-5)


def test_the_worked_example_is_reproduced() -> None:
    found = best_age(2.5, 100.0, 10.0, 60.0)
    assert float(found.age) == pytest.approx(PUBLISHED["worked"]["T"], rel=1e-6)
    assert float(found.cost_rate) == pytest.approx(PUBLISHED["worked"]["cost_per_unit_time"], rel=1e-6)
    assert float(found.run_to_failure_rate) == pytest.approx(PUBLISHED["worked_rtf"], rel=1e-6)


@pytest.mark.parametrize(("shape", "scale", "ratio"), [(1.2, 400.0, 8.0), (2.0, 3.0, 1.5), (6.0, 90.0, 20.0)])
def test_the_cost_rate_is_that_of_an_independent_quadrature(shape: float, scale: float, ratio: float) -> None:
    found = best_age(shape, scale, 7.0, 7.0 * ratio)
    for age in (0.3 * scale, float(found.age), 2.5 * scale):
        expected = _by_quadrature(age, shape, scale, 7.0, 7.0 * ratio)
        assert float(cost_rate(age, shape, scale, 7.0, 7.0 * ratio)) == pytest.approx(expected, rel=1e-9)
    ages = scale * np.geomspace(0.05, 5, 60)
    rough = ages[np.argmin([_by_quadrature(age, shape, scale, 7.0, 7.0 * ratio) for age in ages])]
    bounds = (rough / 1.2, rough * 1.2)
    least = minimize_scalar(_by_quadrature, args=(shape, scale, 7.0, 7.0 * ratio), bounds=bounds, method="bounded")
    assert float(found.cost_rate) == pytest.approx(least.fun, rel=1e-6)
    assert float(found.age) == pytest.approx(least.x, rel=1e-3)


def test_nothing_is_renewed_on_age_where_the_hazard_does_not_rise_or_failing_costs_no_more() -> None:
    found = best_age([0.7, 1.0, 3.0], [50.0, 50.0, 50.0], 10.0, 40.0)
    assert np.isinf(found.age).tolist() == [True, True, False]
    assert _saved(found)[:2].tolist() == [0.0, 0.0]
    assert np.isinf(best_age(3.0, 50.0, 10.0, 10.0).age)


def test_a_hazard_that_hardly_rises_has_an_age_beyond_all_lives_or_none() -> None:
    found = best_age([1.0001, 1.01, 1.05], 1.0, 1.0, 1.2)
    assert np.all(found.age > 100)
    assert np.all((_saved(found) >= -1e-12) & (_saved(found) < 1e-3))


@pytest.mark.parametrize("unit", [0.01, 30.0])
def test_the_unit_of_the_clock_does_not_matter(unit: float) -> None:
    shapes, scales = np.array([1.3, 2.0, 4.0]), np.array([100.0, 70.0, 20.0])
    days, other = (best_age(shapes, scales * per, 5.0, 40.0) for per in (1.0, unit))
    assert other.age == pytest.approx(days.age * unit)
    assert other.cost_rate * unit == pytest.approx(days.cost_rate)


def test_draws_that_agree_are_advised_like_one_life() -> None:
    shape, scale = np.full(50, 2.5), np.full(50, 100.0)
    found = advise(shape, scale, 10.0, 60.0)
    assert found.policy == "renew at an age"
    assert found.age == pytest.approx(PUBLISHED["worked"]["T"], rel=1e-4)
    assert found.age_interval == pytest.approx((PUBLISHED["worked"]["T"],) * 2, rel=1e-6)
    assert found.saving == pytest.approx(PUBLISHED["worked_rtf"] - PUBLISHED["worked"]["cost_per_unit_time"], rel=1e-6)


def test_the_age_advised_costs_least_on_average_over_the_draws() -> None:
    rng = np.random.default_rng(4)
    shape, scale = np.exp(rng.normal(0.8, 0.3, 300)), np.exp(rng.normal(4.5, 0.4, 300))
    found = advise(shape, scale, 10.0, 80.0)
    ages = np.linspace(2, 400, 800)
    costs = [
        np.mean([_by_quadrature(age, b, s, 10.0, 80.0) for b, s in zip(shape[:60], scale[:60], strict=True)])
        for age in ages[::100]
    ]
    assert costs == pytest.approx(
        [float(cost_rate(age, shape[:60], scale[:60], 10.0, 80.0).mean()) for age in ages[::100]]
    )
    on_grid = [float(cost_rate(age, shape, scale, 10.0, 80.0).mean()) for age in ages]
    assert found.cost_rate <= min(on_grid) + 1e-9
    assert found.age_interval[0] < found.age < found.age_interval[1]
    assert found.saving_interval[0] <= found.saving <= found.saving_interval[1]


def test_a_posterior_that_straddles_one_can_not_tell_yet() -> None:
    shape = np.concatenate([np.full(40, 0.8), np.full(60, 1.8)])
    found = advise(shape, np.full(100, 100.0), 10.0, 60.0)
    assert found.policy == "can't tell yet"
    assert found.rising == 0.6
    assert found.age_interval[1] == np.inf


@pytest.mark.parametrize(("shape", "failure"), [(0.7, 60.0), (3.0, 10.0)])
def test_never_on_age_is_said_where_it_is_sure(shape: float, failure: float) -> None:
    found = advise(np.full(20, shape), np.full(20, 100.0), 10.0, failure)
    assert (found.policy, found.age, found.saving) == ("never on age", np.inf, 0.0)


def test_the_cost_rate_is_that_of_simulated_renewals() -> None:
    rng = np.random.default_rng(7)
    age, shape, scale = 60.0, 2.0, 100.0
    lives = scale * rng.weibull(shape, 200_000)
    cost = np.where(lives < age, 60.0, 10.0).sum() / np.minimum(lives, age).sum()
    assert float(cost_rate(age, shape, scale, 10.0, 60.0)) == pytest.approx(cost, rel=0.01)


def test_a_test_interval_is_the_closed_form_while_the_share_dead_is_small() -> None:
    """Moubray (1997), Reliability-centred Maintenance, chapter 8 (from memory): 2 x tolerated / (failures x calls)."""
    found = failure_finding_interval([1e-4, 1e-3], demand_rate=0.05, tolerated_rate=0.05e-5)
    assert found == pytest.approx([2e-5 / 1e-4, 2e-5 / 1e-3], rel=1e-5)


@pytest.mark.parametrize("share", [0.01, 0.2, 0.7])
def test_over_a_test_interval_the_share_dead_is_the_one_tolerated(share: float) -> None:
    rate = 0.013
    every = float(failure_finding_interval(rate, demand_rate=2.0, tolerated_rate=2.0 * share))
    dead, _ = quad(lambda t: -np.expm1(-rate * t), 0, every, epsrel=1e-12)
    assert dead / every == pytest.approx(share, rel=1e-9)


def test_no_test_is_needed_where_calls_are_rarer_than_is_tolerated() -> None:
    assert np.isinf(failure_finding_interval(0.01, demand_rate=0.1, tolerated_rate=0.2))


@pytest.mark.parametrize(("shape", "scale", "renewal"), [(0.0, 1.0, 1.0), (2.0, -1.0, 1.0), (2.0, 1.0, 0.0)])
def test_impossible_lives_and_costs_are_refused(shape: float, scale: float, renewal: float) -> None:
    with pytest.raises(InvalidRecord):
        best_age(shape, scale, renewal, 5.0)


@pytest.mark.parametrize("seed", range(8))
def test_the_one_age_for_all_draws_is_the_one_scipy_finds_cheapest(seed: int) -> None:
    rng = np.random.default_rng(seed)
    shape = np.exp(rng.normal(0.2 + 0.1 * seed, 0.2, 400))
    scale = np.exp(rng.normal(6.0, 0.3, 400))

    def cost(log_age: float) -> float:
        return float(cost_rate(np.exp(log_age), shape, scale, 10.0, 80.0).mean())

    ages = np.linspace(0, 12, 2000)
    near = float(ages[int(np.argmin([cost(each) for each in ages.tolist()]))])
    best = minimize_scalar(cost, bounds=(near - 0.01, near + 0.01), method="bounded", options={"xatol": 1e-9})
    found = advise(shape, scale, 10.0, 80.0)
    assert found.cost_rate == pytest.approx(best.fun, rel=1e-7)
    assert np.log(found.age) == pytest.approx(best.x, abs=1e-3)
