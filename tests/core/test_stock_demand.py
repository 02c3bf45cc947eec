"""Spares against Poisson tables and published backorders, and simulation against exact convolution."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from maintain.core.forecast import Ahead, Installed, failure_chance
from maintain.core.posterior import Draws
from maintain.core.rates import steady_rates
from maintain.core.renewal import Stage, simulate_failures
from maintain.core.stock.demand import Demand, demand_from_counts
from maintain.errors import InvalidRecord
from tests.core.exact_demand import (
    demand_with_renewal,
    demand_without_renewal,
    poisson_demand,
    renewal_counts,
    variance,
)

CASES = json.loads((Path(__file__).parent.parent / "published" / "expected.json").read_text())
P11 = next(case["expected"] for case in CASES if case["id"] == "P11")


@pytest.mark.parametrize("mean", P11["poisson_cdf"])
def test_shortage_chances_are_those_of_a_poisson_table(mean: str) -> None:
    demand = poisson_demand(float(mean))
    for holding, enough in enumerate(P11["poisson_cdf"][mean]):
        assert demand.shortage_chance(holding) == pytest.approx(1 - enough, rel=1e-5, abs=1e-9)


@pytest.mark.parametrize("mean", P11["spares_for"])
def test_holdings_are_those_of_a_poisson_table(mean: str) -> None:
    demand = poisson_demand(float(mean))
    for service, holding in P11["spares_for"][mean].items():
        assert demand.holding_for(float(service)) == holding


@pytest.mark.parametrize("mean", P11["ebo"])
def test_expected_shortages_are_the_published_ones(mean: str) -> None:
    # Palm, Sherbrooke (1968): sum over x > s of (x - s) p(x); recomputed with scipy and R
    demand = poisson_demand(float(mean))
    for holding, short in enumerate(P11["ebo"][mean]):
        assert demand.expected_shortages(holding) == pytest.approx(short, rel=1e-6)


# Stock for about 95 % without running out, by calls expected: the rule of thumb of the pits, from any Poisson table.
POISSON_RULE = {0.25: 1, 0.5: 2, 1: 3, 1.5: 4, 2: 5, 3: 6, 5: 9}


@pytest.mark.parametrize(("mean", "stock"), POISSON_RULE.items())
def test_holdings_agree_with_the_rule_of_thumb(mean: float, stock: int) -> None:
    assert poisson_demand(mean).holding_for(0.95) == stock


def test_an_uncertain_rate_asks_for_more_than_its_mean() -> None:
    # Jeffreys gamma(4.5, 1000), next 250 h: 95 % needs 3, 99 % needs 5; a Poisson at the plain estimate 3 and 4
    demand = Demand(steady_rates([4], [1000.0]).count_chances([250.0], most=60)[0])
    assert (demand.holding_for(0.95), demand.holding_for(0.99)) == (3, 5)
    plain = poisson_demand(1.0)
    assert (plain.holding_for(0.95), plain.holding_for(0.99)) == (3, 4)


def test_a_count_of_like_parts_is_binomial_and_of_unlike_ones_the_mean_of_all_outcomes() -> None:
    assert demand_without_renewal(np.full((1, 12), 0.15)).chances == pytest.approx(
        stats.binom.pmf(np.arange(13), 12, 0.15)
    )
    p = np.array([0.1, 0.5, 0.9])
    by_hand = np.zeros(4)
    for outcome in np.ndindex(2, 2, 2):
        by_hand[sum(outcome)] += np.prod(np.where(outcome, p, 1 - p))
    assert demand_without_renewal([p]).chances == pytest.approx(by_hand)


def test_shared_ignorance_widens_demand_without_moving_its_mean() -> None:
    sure = demand_without_renewal(np.full((2, 20), 0.3))
    unsure = demand_without_renewal(np.repeat([[0.1], [0.5]], 20, axis=1))
    assert unsure.mean == pytest.approx(sure.mean)
    assert unsure.holding_for(0.95) > sure.holding_for(0.95)


def test_simulation_agrees_with_convolution_where_spares_hardly_fail() -> None:
    rng = np.random.default_rng(7)
    draws = Draws(rng.uniform(2.5, 3.5, 4000), rng.lognormal(4.6, 0.1, (4000, 2)))
    parts = Installed(rng.integers(0, 2, 15), rng.uniform(20, 90, 15))
    ahead = Ahead(np.full(15, 10.0), np.zeros(15), np.zeros(15, dtype=np.intp))
    chance = failure_chance(draws.shape[:, None], np.log(draws.scale[:, parts.group]), parts.age, ahead.steady)
    exact = demand_without_renewal(chance)
    counts = simulate_failures(rng, draws, parts, [Stage(ahead)], np.zeros(15, dtype=np.intp))[0, :, 0]
    simulated = demand_from_counts(counts)
    for count in range(6):
        error = np.sqrt(exact.chances[count] / 4000)
        assert simulated.chances[count] == pytest.approx(exact.chances[count], abs=4 * error)


def test_exact_demand_with_failing_spares_agrees_with_simulation() -> None:
    # positions of different ages, over a time in which many spares fail too
    ages, n = np.array([0.0, 0.3, 0.9, 1.4]), 40_000
    exact = demand_with_renewal([renewal_counts(2.0, 1.0, 1.5, age=age) for age in ages.tolist()])
    draws = Draws(np.full(n, 2.0), np.ones((n, 4)))
    stage = Stage(Ahead(np.full(4, 1.5), np.zeros(4), np.zeros(4, dtype=np.intp)))
    parts = Installed(np.arange(4), ages)
    counts = simulate_failures(np.random.default_rng(3), draws, parts, [stage], np.zeros(4, dtype=np.intp))[0, :, 0]
    simulated = demand_from_counts(counts)
    assert exact.chances.sum() == pytest.approx(1)
    assert simulated.mean == pytest.approx(exact.mean, abs=4 * np.sqrt(variance(exact) / n))
    for count in range(9):
        chance = exact.chances[count]
        assert simulated.chances[count] == pytest.approx(chance, abs=4 * np.sqrt(chance / n) + 1e-4)


def test_demand_by_one_sinking_comes_in_lumps() -> None:
    """
    Five parts of one ship fail together or not at all: 5 x binomial(1, 0.3), variance 5 times that of a lone part.

    By hand, and against the mixture of exact convolutions given the sinking.
    """
    mixed = demand_without_renewal([[0.0] * 5] * 7 + [[1.0] * 5] * 3)
    assert mixed.chances == pytest.approx([0.7, 0, 0, 0, 0, 0.3])
    assert (mixed.mean, variance(mixed)) == pytest.approx((1.5, 25 * 0.21))
    assert mixed.holding_for(0.95) == 5
    assert poisson_demand(1.5).holding_for(0.95) == 4


def test_a_demand_reads_as_counted_by_hand() -> None:
    demand = demand_from_counts([0, 0, 1, 1, 1, 1, 2, 2, 2, 5])
    assert demand.mean == pytest.approx(1.5)
    assert demand.interval(0.8) == (0, 2)
    assert demand.shortage_chance(2) == pytest.approx(0.1)
    assert demand.expected_shortages(2) == pytest.approx(0.3)
    assert demand.share_supplied(2) == pytest.approx(0.8)
    assert demand.holding_for(0.9) == 2


def test_no_demand_is_always_met() -> None:
    none = poisson_demand(0.0)
    assert (none.holding_for(0.99), none.share_supplied(0), none.shortage_chance(0)) == (0, 1.0, 0.0)


@given(st.lists(st.integers(0, 30), min_size=1, max_size=40), st.integers(0, 40))
def test_one_spare_more_never_makes_it_worse(counts: list[int], holding: int) -> None:
    demand = demand_from_counts(counts)
    assert demand.shortage_chance(holding + 1) <= demand.shortage_chance(holding) + 1e-12
    saved = demand.expected_shortages(holding) - demand.expected_shortages(holding + 1)
    assert saved == pytest.approx(demand.shortage_chance(holding), abs=1e-9)
    assert demand.share_supplied(holding + 1) >= demand.share_supplied(holding) - 1e-12


@given(st.lists(st.integers(0, 30), min_size=1, max_size=40), st.floats(0.01, 0.99))
def test_a_holding_meets_its_service_level_and_one_less_does_not(counts: list[int], service: float) -> None:
    demand = demand_from_counts(counts)
    holding = demand.holding_for(service)
    assert 1 - demand.shortage_chance(holding) >= service - 1e-9
    assert holding == 0 or 1 - demand.shortage_chance(holding - 1) < service + 1e-9


@pytest.mark.parametrize("service", [0.0, 1.0, 1.5, float("nan")])
def test_a_service_level_that_is_none_is_refused(service: float) -> None:
    with pytest.raises(InvalidRecord):
        poisson_demand(1.0).holding_for(service)


def test_a_demand_without_draws_is_refused() -> None:
    with pytest.raises(InvalidRecord):
        demand_from_counts([])
