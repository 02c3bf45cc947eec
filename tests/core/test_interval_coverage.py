"""Do 95 % intervals hold the truth 95 times in 100? Simulated clubs whose truth is known."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest

from tests.coverage_study.cases import (
    difference_of_restricted_means,
    hazard_ratio_with_ships,
    mean_failures_of_unlike_units,
    share_of_a_cause,
    time_ratio,
)

ENOUGH = [
    (share_of_a_cause, 100),
    (mean_failures_of_unlike_units, 60),
    (hazard_ratio_with_ships, 100),
    (difference_of_restricted_means, 100),
    (time_ratio, 100),
]

# What the docstrings say of small samples.
FEW = [
    (share_of_a_cause, 15, 0.89),
    (mean_failures_of_unlike_units, 8, 0.86),
    (hazard_ratio_with_ships, 10, 0.96),
    (difference_of_restricted_means, 20, 0.92),
    (time_ratio, 15, 0.92),
]


def coverage(covers: Callable[[int, np.random.Generator], bool], n: int, clubs: int) -> float:
    rng = np.random.default_rng(n)
    return float(np.mean([covers(n, rng) for _ in range(clubs)]))


@pytest.mark.parametrize(("covers", "n"), ENOUGH)
def test_intervals_from_enough_lives_hold_the_truth_in_a_few_clubs(covers, n):
    assert 0.90 <= coverage(covers, n, 150) <= 0.99


@pytest.mark.slow
@pytest.mark.parametrize(("covers", "n"), ENOUGH)
def test_intervals_from_enough_lives_hold_the_truth_in_many_clubs(covers, n):
    assert 0.93 <= coverage(covers, n, 3000) <= 0.97


@pytest.mark.slow
@pytest.mark.parametrize(("covers", "n", "said"), FEW)
def test_intervals_from_few_lives_fall_short_by_what_the_docs_say(covers, n, said):
    assert coverage(covers, n, 3000) == pytest.approx(said, abs=0.02)
