"""Marginal analysis against the published allocation, and against all purchases there are."""

from __future__ import annotations

import json
from itertools import product
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from maintain.core.lives import Floats
from maintain.core.stock.demand import demand_from_counts
from maintain.core.stock.joint import chance_together, hold_together
from maintain.core.stock.marginal import Item, best_use, frontier
from maintain.errors import InvalidRecord
from tests.core.exact_demand import poisson_demand

CASES = json.loads((Path(__file__).parent.parent / "published" / "expected.json").read_text())
P11 = next(case["expected"] for case in CASES if case["id"] == "P11")


def shortages(mean: float, most: int = 12) -> Floats:
    demand = poisson_demand(mean)
    return np.array([demand.expected_shortages(pieces) for pieces in range(most)])


def test_steps_are_those_of_the_published_allocation() -> None:
    # means 0.5, 1.2, 2.0 at costs 20, 50, 10; each point proved best at its budget by exhaustive search
    items = [Item(20.0, shortages(0.5)), Item(50.0, shortages(1.2)), Item(10.0, shortages(2.0))]
    for step, expected in zip(frontier(items), P11["greedy"], strict=False):
        assert "ABC"[step.item] == expected["buy"]
        assert step.spent == pytest.approx(expected["spend"])
        assert step.loss == pytest.approx(expected["total_ebo"], rel=1e-6)


def best_of_all(items: list[Item], budget: float) -> float:
    affordable = (
        sum(float(item.losses[n]) for item, n in zip(items, pieces, strict=True))
        for pieces in product(*(range(each.losses.size) for each in items))
        if sum(item.cost * n for item, n in zip(items, pieces, strict=True)) <= budget + 1e-9
    )
    return min(affordable)


costs = st.integers(1, 9).map(float)
convex = st.lists(st.integers(0, 20), min_size=1, max_size=4).map(
    lambda gains: np.cumsum(sorted(gains))[::-1].astype(float)
)
falling = st.lists(st.integers(0, 20), min_size=1, max_size=4).map(lambda gains: np.cumsum(gains)[::-1].astype(float))


@given(st.lists(st.builds(Item, costs, convex), min_size=1, max_size=3))
def test_every_step_is_the_best_use_of_what_is_spent_by_then(items: list[Item]) -> None:
    for step in frontier(items):
        assert step.pieces == 1
        assert step.loss == pytest.approx(best_of_all(items, step.spent))


@given(st.lists(st.builds(Item, costs, convex | falling), min_size=1, max_size=3), st.integers(0, 60))
def test_no_purchase_within_a_budget_beats_ours_by_more_than_the_bound(items: list[Item], budget: int) -> None:
    found = best_use(items, budget)
    best = best_of_all(items, budget)
    assert found.spent <= budget
    assert found.spent == pytest.approx(sum(item.cost * n for item, n in zip(items, found.pieces, strict=True)))
    assert found.loss == pytest.approx(sum(item.losses[n] for item, n in zip(items, found.pieces, strict=True)))
    assert found.least_loss - 1e-9 <= best <= found.loss + 1e-9


@given(st.lists(st.builds(Item, costs, falling), min_size=1, max_size=3))
def test_where_two_pieces_save_more_than_each_both_are_bought_together(items: list[Item]) -> None:
    for step in frontier(items):
        assert step.loss == pytest.approx(best_of_all(items, step.spent))


def test_money_for_nothing_buys_nothing_and_costs_that_are_none_are_refused() -> None:
    item = Item(5.0, np.array([1.0, 0.0]))
    nothing = best_use([item], 0)
    assert (nothing.pieces, nothing.spent, nothing.loss) == ((0,), 0.0, 1.0)
    with pytest.raises(InvalidRecord):
        best_use([item], -1)
    for wrong in (Item(0.0, item.losses), Item(5.0, np.array([0.0, 1.0])), Item(5.0, np.array([]))):
        with pytest.raises(InvalidRecord):
            list(frontier([wrong]))


def test_families_that_fail_together_need_less_than_a_product_of_chances_says() -> None:
    calls = np.array([0] * 90 + [1] * 10)
    alike = np.stack([calls, calls], axis=1)
    assert chance_together(alike, [0, 0]) == pytest.approx(0.9)  # a product would say 0.81
    assert hold_together(alike, [0, 0], [1.0, 1.0], 0.9).holdings == (0, 0)
    apart = np.stack([calls, calls[::-1]], axis=1)
    assert chance_together(apart, [0, 0]) == pytest.approx(0.8)
    found = hold_together(apart, [0, 0], [3.0, 1.0], 0.9)
    assert (found.holdings, found.chance) == ((0, 1), 0.9)  # either would do: the cheaper


def test_a_lump_that_is_wanted_whole_or_not_at_all_is_bought_whole() -> None:
    lump = np.array([[0]] * 90 + [[5]] * 10)
    assert hold_together(lump, [1], [1.0], 0.95).holdings == (5,)


counts = st.integers(1, 3).flatmap(
    lambda families: st.lists(
        st.lists(st.integers(0, 3), min_size=families, max_size=families), min_size=1, max_size=20
    ).map(np.array)
)


@given(counts, st.floats(0.05, 0.95))
def test_holdings_suffice_together_and_none_can_be_left_out(calls: np.ndarray, service: float) -> None:
    n = calls.shape[1]
    found = hold_together(calls, [0] * n, [1.0] * n, service)
    assert chance_together(calls, found.holdings) == pytest.approx(found.chance)
    assert found.chance >= service
    for place in range(n):
        if found.holdings[place]:
            fewer = [each - (number == place) for number, each in enumerate(found.holdings)]
            assert chance_together(calls, fewer) < service


def test_what_is_held_already_is_counted_and_never_sold() -> None:
    calls = np.array([[0, 2], [1, 0], [0, 0], [0, 1]])
    assert hold_together(calls, [5, 2], [1.0, 1.0], 0.99).holdings == (5, 2)


def test_together_costs_little_more_than_the_cheapest_that_suffices() -> None:
    """Small random cases against all holdings there are: never cheaper, on average within 5 % of the least cost."""
    rng, ours, best = np.random.default_rng(3), 0.0, 0.0
    for _ in range(40):
        calls = rng.poisson(rng.gamma(2.0, 0.4, (300, 1)) * rng.uniform(0.3, 1.5, 3))
        price = rng.uniform(1, 10, 3)
        found = hold_together(calls, [0] * 3, price.tolist(), 0.9)
        least = min(
            float(np.dot(price, each))
            for each in product(range(int(calls.max()) + 1), repeat=3)
            if chance_together(calls, each) >= 0.9
        )
        cost = float(np.dot(price, found.holdings))
        assert cost >= least - 1e-9
        ours, best = ours + cost, best + least
    assert ours / best < 1.05


@pytest.mark.parametrize("service", [0.0, 1.0, -1.0, float("nan")])
def test_a_chance_that_is_none_is_refused(service: float) -> None:
    with pytest.raises(InvalidRecord):
        hold_together(np.zeros((3, 1), dtype=np.int64), [0], [1.0], service)


def test_shortages_saved_are_the_chance_of_running_out() -> None:
    demand = demand_from_counts([0, 1, 1, 4])
    losses = np.array([demand.expected_shortages(n) for n in range(5)])
    assert -np.diff(losses) == pytest.approx([demand.shortage_chance(n) for n in range(4)])
