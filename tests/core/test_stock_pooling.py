"""One shelf for several demands: against Eppen's square-root law and Poisson quantiles of scipy."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import norm, poisson

from maintain.core.stock.pooling import chance_least, pooled, private_holdings
from maintain.errors import InvalidRecord
from tests.core.exact_demand import poisson_demand


@pytest.mark.parametrize("several", [2, 4, 9])
def test_independent_alike_demands_save_by_the_square_root_law(several: int) -> None:
    """Eppen (1979): of n alike and independent normal demands, the safety stock is sqrt(n) s z in place of n s z."""
    mean, service = 2500.0, 0.975
    counts = np.random.default_rng(several).poisson(mean, (40_000, several))
    found = pooled(counts, service)
    z, spread = norm.ppf(service), np.sqrt(mean)
    assert found.safety_share == pytest.approx(1 / np.sqrt(several), rel=0.02)
    assert sum(found.apart) - several * mean == pytest.approx(several * spread * z, rel=0.03)
    assert found.together - several * mean == pytest.approx(np.sqrt(several) * spread * z, rel=0.05)


def test_correlated_demands_save_as_the_law_says() -> None:
    """Eppen (1979): sqrt(n + n (n - 1) r) s z; here two normal demands with correlation one half."""
    shared = np.random.default_rng(1).normal(size=(100_000, 3))
    counts = np.rint(1000 + 50 * np.sqrt(0.5) * (shared[:, :2] + shared[:, 2:])).astype(np.int64)
    assert pooled(counts, 0.95).safety_share == pytest.approx(np.sqrt(3) / 2, rel=0.01)


@pytest.mark.parametrize(("mean", "several"), [(0.5, 2), (1.0, 3), (2.0, 4)])
def test_small_poisson_demands_hold_what_the_quantiles_of_their_sum_say(mean: float, several: int) -> None:
    counts = np.random.default_rng(7).poisson(mean, (200_000, several))
    found = pooled(counts, 0.9)
    assert found.apart == tuple([int(poisson.ppf(0.9, mean))] * several)
    assert found.together == int(poisson.ppf(0.9, mean * several))


def test_demands_with_all_luck_in_common_save_nothing() -> None:
    luck = np.random.default_rng(3).poisson(2.0, 5000)
    found = pooled(np.stack([luck, luck, luck], axis=1), 0.95)
    assert found.saved == 0
    assert found.safety_share == pytest.approx(1.0)
    assert found.chance_apart == found.chance_together


def test_one_shelf_serves_all_better_with_fewer_pieces() -> None:
    counts = np.random.default_rng(4).poisson(1.0, (50_000, 4))
    found = pooled(counts, 0.95)
    assert found.saved == 4 * 3 - 8  # any Poisson table: 3 suffice for a mean of 1, 8 for a mean of 4
    assert found.chance_apart == pytest.approx(poisson.cdf(3, 1.0) ** 4, abs=0.005)
    assert found.chance_together > found.chance_apart


def test_nothing_called_for_needs_nothing() -> None:
    found = pooled(np.zeros((10, 2), dtype=np.int64), 0.95)
    assert (found.apart, found.together, found.safety_share) == ((0, 0), 0, 1.0)


def test_calls_of_a_poisson_fall_on_owners_as_poissons() -> None:
    """Thinning a Poisson leaves Poissons (Kingman 1993, Poisson Processes, section 5.1)."""
    shares = [0.5, 0.3, 0.2]
    assert private_holdings(poisson_demand(6.0), shares, 0.95) == tuple(int(poisson.ppf(0.95, 6 * s)) for s in shares)


def test_one_owner_holds_what_all_hold() -> None:
    assert private_holdings(poisson_demand(3.0), [1.0], 0.95) == (poisson_demand(3.0).holding_for(0.95),)


@pytest.mark.parametrize("shares", [[], [0.5, 0.6], [1.5, -0.5]])
def test_shares_that_are_none_are_refused(shares: list[float]) -> None:
    with pytest.raises(InvalidRecord):
        private_holdings(poisson_demand(1.0), shares, 0.9)


def test_the_lesser_of_two_alike_is_a_toss() -> None:
    assert chance_least(np.random.default_rng(5).normal(size=(40_000, 2)))[0] == pytest.approx(0.5, abs=0.01)
