"""Planning a trial: sizes against textbooks and exact sums, lots for balance, and chance."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import binom

from maintain.core.bounds import failure_share_bound
from maintain.core.compare import compare
from maintain.core.lives import lives_from_times
from maintain.core.sample_size import events_by_schoenfeld
from maintain.core.trial import TrialAsk, assign_by_lot, blocks_of, days_to_failures, detectable_share, plan_trial
from maintain.errors import InvalidRecord, NotEnoughData
from tests.published.reading import EXPECTED


@pytest.mark.parametrize(
    ("first", "second", "per_group"),
    # common practice, no source beyond the normal approximation: about 80, 20 and 120 parts a group
    [(0.4, 0.2, 82), (0.5, 0.1, 20), (0.3, 0.15, 121)],
)
def test_a_trial_is_as_large_as_two_failing_shares_demand(first, second, per_group):
    assert plan_trial(TrialAsk(first, second)).per_group == per_group


def test_failures_needed_follow_schoenfeld_and_parts_follow_the_failures():
    plan = plan_trial(TrialAsk(0.4, 0.2))
    assert plan.hazard_ratio == pytest.approx(np.log(0.8) / np.log(0.6))
    assert plan.failures_needed == np.ceil(events_by_schoenfeld(plan.hazard_ratio))
    assert plan.per_group_by_failures * 0.6 >= plan.failures_needed - 1


def test_parts_of_one_ship_that_fail_together_make_the_trial_larger():
    alone, together = plan_trial(TrialAsk(0.4, 0.2)), plan_trial(TrialAsk(0.4, 0.2, cluster_size=4, icc=0.2))
    assert together.design_effect == pytest.approx(1.6)
    assert together.per_group == pytest.approx(1.6 * alone.per_group, abs=1.6)


def test_no_failure_still_leaves_the_published_limit():
    # Clopper & Pearson (1934): 1 - 0.05^(1/n)
    assert [round(100 * failure_share_bound(0, n)) for n in (5, 10, 20, 40)] == [45, 26, 14, 7]
    exact = EXPECTED["P10"]["rule_of_three"]
    for n, values in exact.items():
        assert failure_share_bound(0, int(n)) == pytest.approx(values["exact"], rel=1e-6)
        assert values["exact"] < 3 / int(n)
    assert plan_trial(TrialAsk(0.5, 0.1)).zero_failures_bound == pytest.approx(1 - 0.05 ** (1 / 20))


def test_failures_are_expected_by_the_day_on_which_that_many_have_come():
    ask = TrialAsk(0.4, 0.2, days=200)
    days = days_to_failures(ask, 80, 30)
    gone = 80 * (1 - 0.6 ** (days / 200)) + 80 * (1 - 0.8 ** (days / 200))
    assert gone == pytest.approx(30, rel=1e-9)
    assert days_to_failures(ask, 80, 48) == pytest.approx(200)
    assert days_to_failures(ask, 80, 90) > 200
    assert days_to_failures(ask, 80, 160) is None


def test_what_a_club_can_tell_is_what_has_the_power():
    share = detectable_share(TrialAsk(0.4, 0.4), 20)
    dead = np.arange(21)
    gap, middle = (dead[:, None] - dead) / 20, (dead[:, None] + dead) / 40
    rejects = gap**2 > 1.959964**2 * 2 * middle * (1 - middle) / 20
    power = binom.pmf(dead, 20, 0.4) @ rejects @ binom.pmf(dead, 20, share)
    assert power == pytest.approx(0.8, abs=0.06)  # outcomes of 20 parts are coarse
    assert detectable_share(TrialAsk(0.4, 0.4), 3) is None
    assert plan_trial(TrialAsk(0.4, share)).per_group in (20, 21)


def test_lots_are_even_within_every_ship_and_zone_and_over_each_zone():
    rng = np.random.default_rng(1)
    ship, zone = rng.integers(0, 9, 97), rng.choice(["bilge", "dry deck"], 97)
    drawn = assign_by_lot(ship, zone, ("oil", "grease", "none"), np.random.default_rng(2))
    for place in ("bilge", "dry deck"):
        totals = [int(np.sum((zone == place) & (drawn == method))) for method in ("oil", "grease", "none")]
        assert max(totals) - min(totals) <= 2
        for one in range(9):
            counts = [
                int(np.sum((zone == place) & (ship == one) & (drawn == method))) for method in ("oil", "grease", "none")
            ]
            assert max(counts) - min(counts) <= 1


def test_the_same_seed_draws_the_same_lots_and_another_seed_others():
    ship, zone = ["a", "b", "c", "d"] * 5, ["bilge"] * 20
    first = assign_by_lot(ship, zone, ("oil", "grease"), np.random.default_rng(3))
    again = assign_by_lot(ship, zone, ("oil", "grease"), np.random.default_rng(3))
    other = assign_by_lot(ship, zone, ("oil", "grease"), np.random.default_rng(4))
    assert first.tolist() == again.tolist()
    assert first.tolist() != other.tolist()


def test_every_part_is_as_likely_to_get_either_method():
    rng = np.random.default_rng(5)
    ship, zone = ["a", "a", "a", "b", "c"], ["bilge"] * 5
    oil = np.mean([assign_by_lot(ship, zone, ("oil", "grease"), rng) == "oil" for _ in range(2000)], axis=0)
    assert oil == pytest.approx(np.full(5, 0.5), abs=0.05)


def test_a_trial_so_planned_and_analysed_finds_the_difference_as_often_as_promised():
    ask, rng, found = TrialAsk(0.5, 0.15), np.random.default_rng(6), 0
    n = plan_trial(ask).per_group
    ship, zone = np.arange(2 * n) % 10, np.repeat("bilge", 2 * n)
    for _ in range(200):
        method = assign_by_lot(ship, zone, ("usual", "new"), rng)
        rate = -np.log1p(-np.where(method == "usual", ask.first, ask.second)) / ask.days
        life = rng.exponential(1 / rate)
        lives = lives_from_times(np.minimum(life, ask.days), life < ask.days)
        found += compare(lives, method).overall.p < 0.05
    assert found / 200 == pytest.approx(0.8, abs=0.08)


def test_blocks_are_ships_only_where_most_parts_sit_beside_the_other_method():
    ship, zone = ["a", "a", "b", "b", "c"], ["bilge", "bilge", "bilge", "deck", "deck"]
    assert blocks_of(ship, zone, ["oil", "grease", "oil", "oil", "grease"]) == ("zone",)
    assert blocks_of(ship, ["bilge"] * 5, ["oil", "grease", "oil", "grease", "oil"]) == ("ship",)
    assert blocks_of(["a", "b"], ["bilge"] * 2, ["oil", "grease"]) == ()


def test_an_impossible_trial_is_refused_in_a_sentence():
    with pytest.raises(InvalidRecord, match=r"both shares are 0\.3"):
        plan_trial(TrialAsk(0.3, 0.3))
    with pytest.raises(InvalidRecord, match="failing share must be between 0 and 1"):
        plan_trial(TrialAsk(0.0, 0.3))
    with pytest.raises(InvalidRecord, match="two or more different methods"):
        assign_by_lot(["a"], ["bilge"], ("oil",), np.random.default_rng(0))
    with pytest.raises(NotEnoughData, match="1 parts for 2 methods"):
        assign_by_lot(["a"], ["bilge"], ("oil", "grease"), np.random.default_rng(0))
