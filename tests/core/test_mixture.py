"""Clocks put together from days, sorties and sinkings, and how well failures tell them apart."""

from __future__ import annotations

import numpy as np
import pytest

from maintain.core.lives import lives_from_intervals
from maintain.core.mixture import Clock, Observed, candidate_clocks, weigh_clocks
from maintain.core.posterior import category_posterior


def seen(days: np.ndarray, sinkings: np.ndarray, failed_at: np.ndarray, step: float) -> Observed:
    """Lives looked at every `step` days, sinkings spread evenly over each; `failed_at` in days."""
    failed = failed_at < days
    low = np.where(failed, np.floor(failed_at / step) * step, days)
    last = np.where(failed, low + step, days)
    per_day = sinkings / days
    zero = np.zeros(days.size)
    return Observed(
        {"days": zero, "immersions": zero},
        {"days": low, "immersions": low * per_day},
        {"days": np.where(failed, last, np.inf), "immersions": np.where(failed, last * per_day, np.inf)},
    )


def test_every_clock_reads_the_whole_fleet_alike() -> None:
    total = {"days": 9000.0, "sorties": 450.0, "immersions": 30.0}
    reads = [clock.read({name: np.array([use]) for name, use in total.items()})[0] for clock in candidate_clocks(total)]
    assert reads == pytest.approx([9000.0] * len(reads))


def test_a_clock_that_never_moved_is_no_candidate() -> None:
    clocks = candidate_clocks({"days": 100.0, "sorties": 0.0, "immersions": 0.0})
    assert [clock.share for clock in clocks] == [{"days": 1.0}]


def test_a_lone_clock_is_the_plain_posterior() -> None:
    """With one candidate the mixture is the category posterior itself, which has its own outside checks."""
    days = np.linspace(50, 500, 12)
    observed = seen(days, np.zeros(12), np.array([40.0, 90.0, *[1e9] * 10]), 10.0)
    group = np.zeros(12, dtype=np.intp)
    found = weigh_clocks(observed, group, 1)
    plain = category_posterior(
        lives_from_intervals(observed.lower["days"], observed.upper["days"], observed.entry["days"]), group, 1
    )
    assert found.clocks == (Clock({"days": 1.0}, {"days": 1.0}),)
    assert found.chance_shape_above(1.0) == pytest.approx(plain.chance_shape_above(1.0))


def test_units_of_a_clock_do_not_change_its_weight() -> None:
    """The evidence is a chance of events: counting sinkings in dozens must change nothing."""
    rng = np.random.default_rng(7)
    days, sinkings = rng.uniform(200, 900, 60), rng.uniform(1, 12, 60)
    observed = seen(days, sinkings, 150 * rng.weibull(1.5, 60) / (sinkings / days) / 20, 20.0)
    dozens = Observed(
        *({**each, "immersions": each["immersions"] / 12} for each in (observed.entry, observed.lower, observed.upper))
    )
    group = np.zeros(60, dtype=np.intp)
    first, second = (weigh_clocks(each, group, 1) for each in (observed, dozens))
    assert [clock.share for clock in first.clocks] == [clock.share for clock in second.clocks]
    assert first.weights == pytest.approx(second.weights, rel=1e-6)


@pytest.mark.parametrize(("worth_of_a_sinking", "expected"), [(0.0, "days"), (400.0, "immersions")])
def test_the_clock_that_drew_the_failures_gets_the_weight(worth_of_a_sinking: float, expected: str) -> None:
    """Simulated truth: service age = days + worth x sinkings, Weibull shape 3; ships sink from hardly ever to often."""
    rng = np.random.default_rng(11)
    sinkings = rng.uniform(0.05, 14.0, 400)
    days = np.full(400, 1000.0)
    age = rng.weibull(3.0, 400) * (900 if worth_of_a_sinking == 0 else 2400)
    failed_at = age / (1 + worth_of_a_sinking * sinkings / days)
    found = weigh_clocks(seen(days, sinkings, failed_at, 14.0), np.zeros(400, dtype=np.intp), 1)
    assert max(found.ageing, key=lambda name: found.ageing[name]) == expected


def test_draws_come_in_number_as_the_weights() -> None:
    rng = np.random.default_rng(3)
    days, sinkings = rng.uniform(200, 900, 40), rng.uniform(1, 12, 40)
    found = weigh_clocks(seen(days, sinkings, 500 * rng.weibull(1.5, 40), 20.0), np.zeros(40, dtype=np.intp), 1)
    drawn = found.sample(np.random.default_rng(1), 1000)
    assert sum(draws.shape.size for _, draws in drawn) == 1000
    for clock, draws in drawn:
        weight = found.weights[found.clocks.index(clock)]
        assert abs(draws.shape.size - 1000 * weight) <= 1
