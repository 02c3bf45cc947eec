"""Sinking shares against closed forms, and the sharing of one sinking by a whole ship."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats

from maintain.core.event_shares import EventShares, count_chances, draw_counts, event_shares
from maintain.errors import InvalidRecord


def test_a_ship_that_never_sailed_gets_the_share_of_the_fleet() -> None:
    shares = event_shares([6, 7, 8, 9, 0] * 3, [40, 40, 40, 40, 0] * 3)
    assert shares.mean[4] == pytest.approx(30 / 160, abs=0.01)
    assert shares.mean[0] < shares.mean[4] < shares.mean[3]


def test_unlike_ships_are_left_further_apart_than_like_ones() -> None:
    like, unlike = event_shares([5, 6], [30, 30]), event_shares([1, 25], [30, 30])
    assert np.ptp(unlike.mean) / (24 / 30) > 0.8
    assert np.ptp(like.mean) / (1 / 30) < 0.6


def test_a_club_without_records_knows_nothing_of_its_share() -> None:
    shares = event_shares([0, 0], [0, 0])
    assert shares.mean == pytest.approx([0.5, 0.5])
    assert shares.draw(np.random.default_rng(1), 4000).std() > 0.25


def test_one_long_sailing_ship_is_judged_by_her_own_record() -> None:
    # a beta with a uniform prior, which the fleet of one adds almost nothing to
    draws = event_shares([60], [300]).draw(np.random.default_rng(1), 20_000)[:, 0]
    assert np.quantile(draws, [0.1, 0.9]) == pytest.approx(stats.beta(61, 241).ppf([0.1, 0.9]), abs=0.004)


def test_the_mean_share_lands_near_the_truth_and_intervals_hold_it() -> None:
    rng = np.random.default_rng(4)
    held = []
    for _ in range(120):
        true = rng.beta(3, 12, 14)
        sorties = rng.integers(4, 80, 14)
        shares = event_shares(rng.binomial(sorties, true), sorties)
        low, high = np.quantile(shares.draw(rng, 2000), [0.1, 0.9], axis=0)
        held.extend((low < true) & (true < high))
    assert 0.76 < np.mean(held) < 0.84  # 1680 ships, standard error 1 %


def test_count_chances_are_binomial_and_stop_at_each_plan() -> None:
    chances = count_chances(np.array([[0.5, 0.2]]), [2, 1])
    assert chances.shape == (1, 3, 2)
    assert chances[0, :, 0] == pytest.approx([0.25, 0.5, 0.25])
    assert chances[0, :, 1] == pytest.approx([0.8, 0.2, 0.0])


def test_drawn_counts_have_the_predictive_spread() -> None:
    # beta-binomial: closed form from scipy
    shares = EventShares(np.ones(1), np.array([[3.5]]), np.array([[9.5]]))
    rng = np.random.default_rng(9)
    counts = draw_counts(rng, shares.draw(rng, 100_000), [6])[:, 0]
    exact = stats.betabinom(6, 3.5, 9.5)
    assert counts.mean() == pytest.approx(exact.mean(), rel=0.02)
    assert counts.var() == pytest.approx(exact.var(), rel=0.03)


def test_more_sinkings_than_sorties_are_refused() -> None:
    with pytest.raises(InvalidRecord):
        event_shares([3], [2])
