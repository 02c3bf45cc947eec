"""The log-rank test by dealing groups out anew, against Fisher's exact test, scipy's permutations and simulation."""

from __future__ import annotations

from itertools import permutations

import numpy as np
import pytest
from scipy.stats import fisher_exact
from scipy.stats import permutation_test as scipy_permutations

from maintain.core import permutation
from maintain.core.lives import lives_from_times
from maintain.core.log_rank import log_rank
from maintain.core.permutation import permutation_test
from maintain.core.verdict import judged


def dealt(lives, group, **how):
    return permutation_test(lives, group, np.random.default_rng(0), **how)


def surprise(entry, time, failed, first) -> float:
    """Failures of the first group less those expected of it, one failure time after another."""
    total = 0.0
    for moment in np.unique(time[failed]):
        risk = (entry < moment) & (time >= moment)
        dead = risk & failed & (time == moment)
        total += (dead & first).sum() - dead.sum() * (risk & first).sum() / risk.sum()
    return total


def few(seed: int, n: int = 10):
    rng = np.random.default_rng(seed)
    entry = np.round(rng.exponential(2, n) * (rng.random(n) < 0.4))
    time, failed = entry + np.ceil(rng.exponential(6, n)), rng.random(n) < 0.7
    return entry, time, failed


@pytest.mark.parametrize(("dead_a", "dead_b"), [(5, 1), (4, 0), (3, 2)])
def test_failures_all_at_one_time_are_fishers_exact_test(dead_a, dead_b):
    failed = np.array([True] * dead_a + [False] * (6 - dead_a) + [True] * dead_b + [False] * (6 - dead_b))
    found = dealt(lives_from_times(np.full(12, 5.0), failed), np.repeat(["a", "b"], 6))
    assert (found.deals, found.exact) == (924, True)
    assert found.p == pytest.approx(fisher_exact([[dead_a, 6 - dead_a], [dead_b, 6 - dead_b]]).pvalue)


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_scipy_deals_out_the_same_with_censoring_ties_and_delayed_entry(seed):
    entry, time, failed = few(seed)

    def statistic(first, _):
        return abs(surprise(entry, time, failed, np.isin(np.arange(10), first)))

    expected = scipy_permutations(
        (np.arange(4), np.arange(4, 10)), statistic, n_resamples=np.inf, alternative="greater", vectorized=False
    )
    found = dealt(lives_from_times(time, failed, entry), np.repeat(["a", "b"], [4, 6]))
    assert found.deals == expected.null_distribution.size == 210
    assert found.p == pytest.approx(expected.pvalue)


def test_three_groups_are_dealt_out_in_every_way_there_is():
    entry, time, failed = few(4, n=7)
    lives, labels = lives_from_times(time, failed, entry), list("aabbccc")
    scores = permutation.hazard_scores(permutation.observed(lives), np.zeros(7, dtype=int))

    def spread(order):
        # Between-group sum of squares: with the groups' sizes fixed it orders the ways as the chi-square does.
        sums = {name: sum(scores[row] for row in range(7) if order[row] == name) for name in "abc"}
        return sum(sums[name] ** 2 / labels.count(name) for name in "abc")

    ways = set(permutations(labels))
    found = dealt(lives, labels)
    assert found.deals == len(ways) == 210
    assert found.p == pytest.approx(np.mean([spread(way) >= spread(labels) - 1e-9 for way in ways]))


def test_scores_of_a_group_add_up_to_observed_less_expected():
    entry, time, failed = few(5, n=60)
    lives, group, zone = lives_from_times(time, failed, entry), np.arange(60) % 2, np.arange(60) // 20
    scores = permutation.hazard_scores(permutation.observed(lives), zone)
    assert scores[group == 0].sum() == pytest.approx(log_rank(lives, group, strata=zone).score)


def test_labels_change_places_only_within_strata():
    lives = lives_from_times([1, 2, 3, 4, 5, 6, 7, 8])
    assert dealt(lives, list("abababab"), strata=list("xxxxyyyy")).deals == 6 * 6
    alone = dealt(lives, list("aaaabbbb"), strata=list("xxxxyyyy"))
    assert (alone.deals, alone.p) == (1, 1.0)  # each stratum holds one group: nothing to deal out


def test_ships_of_one_group_are_dealt_out_whole_and_others_within():
    lives = lives_from_times(np.arange(1, 13))
    whole = dealt(lives, list("aaaaaabbbbbb"), cluster=np.repeat(np.arange(6), 2), by="ship")
    assert (whole.by, whole.deals, whole.p, whole.least) == ("ship", 20, 0.1, 0.1)
    within = dealt(lives, list("ab" * 6), cluster=np.repeat(np.arange(6), 2))
    assert within.deals == 2**6
    mixed = dealt(lives, list("aaaabbbbabab"), cluster=np.repeat(np.arange(6), 2))
    assert mixed.deals == 6 * 2**2


def test_too_many_ways_are_drawn_by_lot_alike_each_time(monkeypatch):
    entry, time, failed = few(6, n=14)
    lives, labels = lives_from_times(time, failed, entry), np.repeat(["a", "b"], 7)
    counted = dealt(lives, labels)
    monkeypatch.setattr(permutation, "MOST_COUNTED", 100)
    drawn, again = dealt(lives, labels), dealt(lives, labels)
    assert (counted.exact, drawn.exact, drawn.deals) == (True, False, permutation.DRAWS)
    assert drawn == again
    assert drawn.p == pytest.approx(counted.p, abs=0.02)


def test_the_verdict_on_few_lives_rests_on_dealing_them_out_and_on_many_does_not():
    few_lives = lives_from_times([1, 2, 3, 4, 5, 6, 7, 8])
    _, verdict = judged(few_lives, list("aaaabbbb"), np.random.default_rng(0))
    assert (verdict.method, verdict.deals, verdict.p) == ("exact", 70, pytest.approx(2 / 70))
    many = lives_from_times(np.arange(1, 41))
    test, verdict = judged(many, np.arange(40) % 2, np.random.default_rng(0))
    assert (verdict.method, verdict.df, verdict.p) == ("chi-square", 1, test.p)
    ships = {"ship": np.arange(40) // 2}
    test, verdict = judged(many, np.arange(40) % 2, np.random.default_rng(0), clusters=ships)
    assert verdict.p == test.careful_p


def test_thirty_lives_in_thirty_groups_are_not_told_apart():
    # A chi-square on 29 degrees of freedom from one failure each would say that they surely differ.
    test, verdict = judged(lives_from_times(np.arange(1, 31)), np.arange(30), np.random.default_rng(0))
    assert test.p < 0.05
    assert verdict.p == 1.0


def rejects(draws: int, *, by_ship: bool) -> float:
    found = 0
    for seed in range(draws):
        rng = np.random.default_rng(seed)
        ship = np.repeat(np.arange(8), 2)
        luck = rng.gamma(0.5, 2, 8)[ship]
        lives = lives_from_times(rng.exponential(1, 16) / luck)
        found += dealt(lives, ship % 2, cluster=ship if by_ship else None).p < 0.05
    return found / draws


def test_whole_ships_keep_the_level_where_single_lives_do_not():
    assert rejects(200, by_ship=True) < 0.09
    assert rejects(200, by_ship=False) > 0.09


@pytest.mark.slow
def test_whole_ships_keep_the_level_in_many_clubs():
    assert rejects(3000, by_ship=True) == pytest.approx(2 / 70, abs=0.01)  # of 70 ways, 4 would be more than 5 %
