"""Renewals against Smith and Leadbetter's series and against the exact convolution."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest

from maintain.core.forecast import Ahead, Installed, failure_chance
from maintain.core.posterior import Draws
from maintain.core.renewal import Stage, failed_unseen, simulate_failures
from tests.core.exact_demand import renewal_counts

CASES = json.loads((Path(__file__).parent.parent / "published" / "expected.json").read_text())
P11 = next(case["expected"] for case in CASES if case["id"] == "P11")
EXPECTED_RENEWALS = [
    (float(shape.removeprefix("shape")), float(time.removeprefix("t")), value["series"])
    for (shape, time), value in ((key.split("_"), value) for key, value in P11["renewal_M"].items())
]


@pytest.mark.parametrize(("shape", "horizon", "expected"), EXPECTED_RENEWALS)
def test_expected_renewals_are_those_of_the_power_series(shape: float, horizon: float, expected: float) -> None:
    # Smith and Leadbetter (1963) series, recomputed; agrees with a grid solution to 9 digits
    assert renewal_counts(shape, 1.0, horizon).mean == pytest.approx(expected, rel=1e-6)


@pytest.mark.parametrize(("shape", "horizon"), [(2.0, 1.0), (3.0, 2.0), (1.0, 1.0)])
def test_chances_of_so_many_renewals(shape: float, horizon: float) -> None:
    at_least = renewal_counts(shape, 7.0, 7.0 * horizon).at_least
    expected = P11[f"renewal_dist_shape{shape:.0f}_t{horizon:.0f}"][:5]
    assert at_least[:5] == pytest.approx(expected, rel=1e-5, abs=1e-8)


ONE = np.zeros(1, dtype=np.intp)


def one_position(shape: float, n: int) -> tuple[Draws, Installed]:
    return Draws(np.full(n, shape), np.ones((n, 1))), Installed(np.zeros(1, dtype=np.intp), np.zeros(1))


@pytest.mark.parametrize(("shape", "horizon", "expected"), EXPECTED_RENEWALS)
def test_simulated_renewals_agree_within_sampling_error(shape: float, horizon: float, expected: float) -> None:
    draws, new = one_position(shape, 20_000)
    ahead = Ahead(np.array([horizon]), np.zeros(1), np.zeros(1, dtype=np.intp))
    counts = simulate_failures(np.random.default_rng(12), draws, new, [Stage(ahead)], ONE)[0, :, 0]
    assert counts.mean() == pytest.approx(expected, abs=4 * counts.std() / np.sqrt(counts.size))
    at_least = renewal_counts(shape, 1.0, horizon).at_least
    for n in range(min(3, at_least.size)):
        error = np.sqrt(at_least[n] * (1 - at_least[n]) / counts.size)
        assert np.mean(counts > n) == pytest.approx(at_least[n], abs=4 * error + 1e-4)


@pytest.mark.parametrize("age", [1e-9, 0.3, 2.0, 40.0])
def test_the_first_life_is_drawn_given_that_the_part_works_now(age: float) -> None:
    n = 20_000
    draws = Draws(np.full(n, 1.7), np.full((n, 1), 1.3))
    parts = Installed(np.zeros(1, dtype=np.intp), np.array([age]))
    ahead = Ahead(np.array([0.1]), np.zeros(1), np.zeros(1, dtype=np.intp))
    fails = np.mean(simulate_failures(np.random.default_rng(2), draws, parts, [Stage(ahead)], ONE) > 0)
    exact = failure_chance(np.array(1.7), np.log(1.3), np.array(age), np.array(0.1))
    assert fails == pytest.approx(exact, abs=4 * np.sqrt(exact * (1 - exact) / n))


def test_parts_of_one_ship_share_her_sinkings() -> None:
    # two parts that fail at the first sinking or not at all: aboard one ship they fail together
    n = 4_000
    draws = Draws(np.full(n, 5.0), np.full((n, 1), 0.2))
    parts = Installed(np.zeros(3, dtype=np.intp), np.zeros(3))
    ahead = Ahead(np.zeros(3), np.ones(3), np.array([0, 0, 1]))
    events = np.random.default_rng(1).binomial(1, 0.3, (n, 2))
    failed = simulate_failures(np.random.default_rng(2), draws, parts, [Stage(ahead, events)], np.arange(3))[0] > 0
    assert np.array_equal(failed[:, 0], failed[:, 1])
    assert not np.array_equal(failed[:, 0], failed[:, 2])


def test_failures_are_counted_under_their_family_however_the_list_is_cut(monkeypatch: pytest.MonkeyPatch) -> None:
    # never-failing parts beside parts that surely fail once: new ones outlast the horizon
    draws = Draws(np.full(8, 50.0), np.tile([1.0, 1000.0], (8, 1)))
    parts = Installed(np.array([0, 1, 0, 0]), np.array([1.3, 0.0, 1.3, 1.3]))
    ahead = Ahead(np.full(4, 0.4), np.zeros(4), np.zeros(4, dtype=np.intp))
    for cells in (16, 10_000):
        monkeypatch.setattr("maintain.core.renewal._CELLS_AT_ONCE", cells)
        counts = simulate_failures(np.random.default_rng(1), draws, parts, [Stage(ahead)], np.array([2, 1, 0, 2]))
        assert counts.tolist() == [[[1, 0, 2]] * 8]


@pytest.mark.parametrize("age", [0.0, 0.4, 1.5])
def test_renewals_after_a_part_of_some_age_agree_with_simulation(age: float) -> None:
    n = 40_000
    draws, new = one_position(2.0, n)
    ahead = Ahead(np.array([1.2]), np.zeros(1), np.zeros(1, dtype=np.intp))
    parts = Installed(new.group, np.array([age]))
    counts = simulate_failures(np.random.default_rng(4), draws, parts, [Stage(ahead)], ONE)[0, :, 0]
    exact = renewal_counts(2.0, 1.0, 1.2, age=age)
    for number, chance in enumerate(exact.at_least[:3]):
        assert np.mean(counts > number) == pytest.approx(chance, abs=4 * np.sqrt(chance * (1 - chance) / n) + 1e-4)


@pytest.mark.parametrize(("age", "untested"), [(1.5, 0.0), (1.5, 0.6), (1.5, 1.5), (0.7, 0.4)])
def test_what_failed_unseen_failed_once_and_the_rest_is_as_old_as_it_is(age: float, untested: float) -> None:
    """
    Exact: failed since last shown to work (Weibull, given the age then), and then renewals of a new part or of this.

    Renewals by repeated convolution, which agree with Smith and Leadbetter's series.
    """
    n, shape, ahead = 60_000, 2.0, 1.2
    draws, new = one_position(shape, n)
    rng, parts = np.random.default_rng(6), Installed(new.group, np.array([age]))
    down = failed_unseen(rng, draws, parts, np.array([untested]))
    stage = Stage(Ahead(np.array([ahead]), np.zeros(1), np.zeros(1, dtype=np.intp)))
    fitted = Installed(new.group, np.where(down, 0.0, age))
    counts = down[:, 0] + simulate_failures(rng, draws, fitted, [stage], ONE)[0, :, 0]
    unseen = 1 - np.exp((age - untested) ** shape - age**shape)
    mean = unseen * (1 + renewal_counts(shape, 1.0, ahead).mean)
    mean += (1 - unseen) * renewal_counts(shape, 1.0, ahead, age=age).mean
    assert down.mean() == pytest.approx(unseen, abs=4 * np.sqrt(unseen * (1 - unseen) / n))
    assert counts.mean() == pytest.approx(mean, abs=4 * counts.std() / np.sqrt(n))


def test_a_time_cut_in_stages_has_the_failures_of_the_whole() -> None:
    n = 40_000
    draws, new = one_position(2.5, n)
    whole, half = (Stage(Ahead(np.array([time]), np.zeros(1), np.zeros(1, dtype=np.intp))) for time in (1.6, 0.8))
    once = simulate_failures(np.random.default_rng(8), draws, new, [whole], ONE)[0, :, 0]
    twice = simulate_failures(np.random.default_rng(9), draws, new, [half, half], ONE)[:, :, 0]
    assert twice.sum(axis=0).mean() == pytest.approx(once.mean(), abs=4 * once.std() * np.sqrt(2 / n))
    assert twice.sum(axis=0).var() == pytest.approx(once.var(), rel=0.05)
    assert twice[0].mean() == pytest.approx(renewal_counts(2.5, 1.0, 0.8).mean, abs=4 * twice[0].std() / np.sqrt(n))


def test_the_same_seed_gives_the_same_failures() -> None:
    draws, new = one_position(1.5, 200)
    ahead = Ahead(np.array([3.0]), np.zeros(1), np.zeros(1, dtype=np.intp))
    one, two = (simulate_failures(np.random.default_rng(5), draws, new, [Stage(ahead)], ONE) for _ in range(2))
    assert np.array_equal(one, two)
