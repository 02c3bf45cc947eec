"""Against numpy's own sort and search, which compare: both sides of every size at which a faster way begins."""

from __future__ import annotations

import numpy as np
import pytest

from maintain.core.lives import Floats
from maintain.core.ordered import all_in_order, before, distinct, in_order

MANY = 100_000


def columns() -> dict[str, Floats]:
    rng = np.random.default_rng(1)
    return {
        "few": rng.uniform(0, 9, 50),
        "none": np.empty(0),
        "continuous": rng.weibull(0.3, MANY) * 400,
        "to the hour": np.ceil(rng.uniform(0, 9000, MANY)) / 24,
        "to the day, one of them far off": np.append(np.floor(rng.uniform(0, 900, MANY)), 1e9),
        "in few keys": np.append(1 + rng.uniform(0, 1e-9, MANY), 1e6),
        "all the same": np.full(MANY, 3.0),
        "as good as the same": np.where(rng.random(MANY) < 0.5, 1e-300, 2e-300),
        "mostly whole, a few not": np.append(np.floor(rng.uniform(0, 900, MANY)), [3.25, 3.5]),
    }


@pytest.mark.parametrize("name", columns())
def test_times_come_in_the_order_in_which_comparing_puts_them(name: str) -> None:
    times = columns()[name]
    asked = times.copy()
    assert np.array_equal(in_order(times), np.sort(times))
    assert np.array_equal(times, asked)


def test_columns_sorted_side_by_side_are_each_sorted() -> None:
    given = list(columns().values())
    for found, times in zip(all_in_order(*given), given, strict=True):
        assert np.array_equal(found, np.sort(times))


@pytest.mark.parametrize("name", columns())
def test_merging_counts_as_searching_does(name: str) -> None:
    bounds = np.sort(columns()[name])
    for times in (np.unique(bounds), np.unique(columns()["continuous"]), np.unique(columns()["few"])):
        assert np.array_equal(before(bounds, times), np.searchsorted(bounds, times, side="left"))


def test_distinct_times_are_counted() -> None:
    values, counts = np.unique(columns()["to the hour"], return_counts=True)
    found = distinct(np.sort(columns()["to the hour"]))
    assert np.array_equal(found[0], values) and np.array_equal(found[1], counts)
