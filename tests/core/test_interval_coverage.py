"""Do 95 % intervals hold the truth 95 times in 100? Simulated clubs whose truth is known."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest
from scipy.integrate import quad

from maintain.core.causes import causes_of_failure
from maintain.core.compare import Ask, compare
from maintain.core.effects import accelerated_effects, cox_effects
from maintain.core.lives import lives_from_times
from maintain.core.repeats import histories, mean_cumulative


def share_of_a_cause(n: int, rng: np.random.Generator) -> bool:
    life, cause = rng.exponential(10, n) + 1e-9, np.where(rng.random(n) < 0.4, "water", "wear")
    end, entry = rng.uniform(4, 15, n), rng.uniform(0, 2, n) * (rng.random(n) < 0.3)
    seen = life > entry
    lives = lives_from_times(np.minimum(life, end)[seen], (life < end)[seen], entry[seen])
    curves = {curve.cause: curve for curve in causes_of_failure(lives, cause[seen], at=[5.0]).curves}
    truth = 0.4 * (1 - np.exp(-0.5))
    return "water" in curves and bool(curves["water"].lower[0] <= truth <= curves["water"].upper[0])


def mean_failures_of_unlike_units(n: int, rng: np.random.Generator) -> bool:
    unit, time, failed = [], [], []
    for one in range(n):
        end = rng.uniform(5, 15)
        count = rng.poisson(0.2 * rng.gamma(2, 0.5) * end)
        unit += [one] * (count + 1)
        time += [*(end * (1 - rng.random(count))), end]
        failed += [True] * count + [False]
    found = mean_cumulative(histories(unit, time, failed), at=[5.0])
    return bool(found.lower[0] <= 1.0 <= found.upper[0])


def hazard_ratio_with_ships(ships: int, rng: np.random.Generator) -> bool:
    ship = np.repeat(np.arange(ships), 5)
    x = 0.7 * rng.normal(size=ships)[ship] + 0.7 * rng.normal(size=ship.size)
    life, end = rng.exponential(np.exp(-0.5 * x)), rng.uniform(0.5, 3, ships)[ship]
    effect = cox_effects(lives_from_times(np.minimum(life, end), life < end), {"x": x}, cluster=ship).effects[0]
    return effect.lower <= np.exp(0.5) <= effect.upper


def difference_of_restricted_means(n: int, rng: np.random.Generator) -> bool:
    group = np.arange(n) % 2
    life, end = rng.weibull(1.5, n) * (8 + 4 * group), rng.uniform(8, 20, n)
    lives = lives_from_times(np.minimum(life, end), life < end)
    gap = compare(lives, group, ask=Ask(tau=8)).pairs[0].mean_difference
    truth = quad(lambda time: np.exp(-((time / 12) ** 1.5)) - np.exp(-((time / 8) ** 1.5)), 0, 8)[0]
    return gap is not None and gap.lower <= truth <= gap.upper


def time_ratio(n: int, rng: np.random.Generator) -> bool:
    x = rng.normal(size=n)
    life, end = rng.weibull(1.5, n) * np.exp(0.5 * x), rng.uniform(0.5, 3, n)
    effect = accelerated_effects(lives_from_times(np.minimum(life, end), life < end), {"x": x}).effects[0]
    return effect.lower <= np.exp(0.5) <= effect.upper


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
    (hazard_ratio_with_ships, 10, 0.88),
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
