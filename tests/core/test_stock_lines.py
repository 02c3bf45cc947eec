"""Newsvendor and shelf life against published values and scipy."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from maintain.core.stock.demand import Demand, demand_from_counts
from maintain.core.stock.lines import newsvendor, shelf_cap
from maintain.errors import InvalidRecord
from tests.core.exact_demand import poisson_demand

CASES = json.loads((Path(__file__).parent.parent / "published" / "expected.json").read_text())
P11 = next(case["expected"] for case in CASES if case["id"] == "P11")
NEWSVENDOR = P11["newsvendor"]


def mismatch_cost(demand: Demand, holding: int, *, short: float, over: float) -> float:
    """Expected cost of pieces missing and left over, summed over all numbers of calls."""
    calls = np.arange(demand.chances.size)
    costs = short * np.maximum(calls - holding, 0) + over * np.maximum(holding - calls, 0)
    return float(demand.chances @ costs)


def test_the_newsvendor_orders_what_is_published() -> None:
    # short 30, over 10: ratio 0.75; recomputed with scipy and R
    demand = poisson_demand(4.0)
    assert newsvendor(demand, short=30, over=10) == NEWSVENDOR["poisson_mean4_Q"]
    for holding, cost in NEWSVENDOR["cost_by_Q"].items():
        assert mismatch_cost(demand, int(holding), short=30, over=10) == pytest.approx(cost, rel=1e-6)


def test_a_fine_normal_demand_gives_the_normal_s_quantile() -> None:
    grid = np.arange(0, 2001)  # tenths: normal(100, 20)
    chances = stats.norm.cdf(grid + 0.5, 1000, 200) - stats.norm.cdf(grid - 0.5, 1000, 200)
    found = newsvendor(Demand(chances / chances.sum()), short=30, over=10)
    assert found / 10 == pytest.approx(NEWSVENDOR["normal_100_20"], abs=0.1)


@given(st.lists(st.integers(0, 12), min_size=1, max_size=30), st.integers(1, 50), st.integers(1, 50))
def test_no_other_holding_costs_less(counts: list[int], short: int, over: int) -> None:
    demand = demand_from_counts(counts)
    ours = mismatch_cost(demand, newsvendor(demand, short=short, over=over), short=short, over=over)
    assert all(ours <= mismatch_cost(demand, each, short=short, over=over) + 1e-9 for each in range(14))


def test_the_quantile_is_scipy_s() -> None:
    for mean, ratio in ((0.3, 0.9), (2.0, 0.5), (7.5, 0.99)):
        assert newsvendor(poisson_demand(mean), short=ratio, over=1 - ratio) == stats.poisson.ppf(ratio, mean)


@pytest.mark.parametrize(("mean", "cap"), [(0.1, 1), (1.0, 1), (2.0, 2), (5.0, 5), (20.0, 20)])
def test_no_more_is_worth_having_than_is_rather_used_than_stale(mean: float, cap: int) -> None:
    # the median of a Poisson with a whole mean is that mean (Choi 1994, Proc. Am. Math. Soc. 121, 245-251)
    assert shelf_cap(poisson_demand(mean)) == cap


def test_costs_that_are_none_are_refused() -> None:
    for short, over in ((-1.0, 2.0), (0.0, 0.0), (float("nan"), 1.0)):
        with pytest.raises(InvalidRecord):
            newsvendor(poisson_demand(1.0), short=short, over=over)
