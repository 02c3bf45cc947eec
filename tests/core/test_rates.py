"""Steady rates against published values, closed forms and simulated truth."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from maintain.core.rates import pooled_rates, steady_rates
from maintain.errors import InvalidRecord

CASES = json.loads((Path(__file__).parent.parent / "published" / "expected.json").read_text())
P11 = next(case["expected"] for case in CASES if case["id"] == "P11")


def test_the_next_count_is_the_published_negative_binomial() -> None:
    # 4 failures in 1000 h, next 250 h, Jeffreys: gamma(4.5, 1000); recomputed with scipy and R pnbinom
    rates = steady_rates([4], [1000.0])
    assert (rates.failures[0, 0], rates.exposure[0, 0]) == (4.5, 1000.0)
    chances = rates.count_chances([250.0], most=5)[0]
    assert np.cumsum(chances) == pytest.approx(P11["nb_predictive"]["cdf"], rel=1e-6)
    assert rates.mean[0] * 250 == pytest.approx(P11["nb_predictive"]["mean"])


def test_drawn_counts_follow_the_same_distribution() -> None:
    counts = steady_rates([4], [1000.0]).draw_counts(np.random.default_rng(1), [250.0], 200_000)[:, 0]
    for count, chance in enumerate(P11["nb_predictive"]["pmf"]):
        assert np.mean(counts == count) == pytest.approx(chance, abs=0.005)


def test_no_failures_bound_the_rate_and_do_not_make_it_zero() -> None:
    # Jeffreys' upper limit stands near the classical 3 / T (chi-square with 1 and with 2 degrees of freedom, halved)
    _, upper = steady_rates([0], [1000.0]).interval(0.9)
    assert upper[0] == pytest.approx(stats.chi2.ppf(0.95, 1) / 2000)
    assert 0 < upper[0] < 3 / 1000


def test_like_groups_share_one_rate() -> None:
    rates = pooled_rates([5, 5, 5, 5], [100.0] * 4)
    assert rates.mean == pytest.approx([20 / 400] * 4, rel=0.05)
    low, high = rates.interval(0.8)
    alone_low, alone_high = steady_rates([5], [100.0]).interval(0.8)
    assert np.all(high - low < 0.85 * (alone_high - alone_low))


def test_unlike_groups_keep_their_own() -> None:
    rates = pooled_rates([1, 60, 2, 55], [100.0] * 4)
    assert rates.mean[1] > 0.5
    assert rates.mean[0] < 0.1


def test_an_unused_group_gets_the_rate_of_the_others() -> None:
    rates = pooled_rates([3, 4, 0], [50.0, 60.0, 0.0])
    assert rates.mean[2] == pytest.approx(7 / 110, rel=0.25)
    low, high = rates.interval()
    assert high[2] / low[2] > high[0] / low[0]


@given(st.lists(st.tuples(st.integers(0, 30), st.floats(1, 1e4)), min_size=2, max_size=8))
def test_a_pooled_rate_lies_between_its_own_and_that_of_the_rest(rows: list[tuple[int, float]]) -> None:
    count, seen = (np.array(column, dtype=float) for column in zip(*rows, strict=True))
    pooled = pooled_rates(count, seen).mean
    own, rest = count / seen, (count.sum() - count + 0.5) / (seen.sum() - seen)
    assert np.all(pooled >= np.minimum(own, rest) * 0.8 - 1 / seen)
    assert np.all(pooled <= np.maximum(own, rest) * 1.2 + 1 / seen)


def test_eighty_percent_intervals_hold_four_in_five_true_rates() -> None:
    rng = np.random.default_rng(8)
    held = []
    for _ in range(150):
        true = 0.02 * rng.gamma(3, 1 / 3, 8)
        seen = rng.uniform(50, 400, 8)
        low, high = pooled_rates(rng.poisson(true * seen), seen).interval(0.8)
        held.extend((low < true) & (true < high))
    assert 0.72 < np.mean(held) < 0.86  # 1200 rates, standard error 1.2 %


@pytest.mark.parametrize(
    ("failures", "exposure"), [([1], [0.0]), ([-1], [5.0]), ([1, 2], [5.0]), ([0], [0.0]), ([1], [np.nan])]
)
def test_records_without_a_rate_are_refused(failures: list[int], exposure: list[float]) -> None:
    with pytest.raises(InvalidRecord):
        steady_rates(failures, exposure)


def test_pooling_needs_exposure_somewhere() -> None:
    with pytest.raises(InvalidRecord):
        pooled_rates([0, 0], [0.0, 0.0])
