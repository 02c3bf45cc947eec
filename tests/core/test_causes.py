"""Competing causes against R's survfit, a sum by hand and brute force."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import binomtest

from maintain.core.causes import causes_of_failure, unseen_limit
from maintain.core.gray import equal_shares
from maintain.core.lives import lives_from_intervals, lives_from_times
from maintain.core.log_rank import log_rank
from maintain.errors import InvalidRecord, NotEnoughData
from tests.published.reading import EXPECTED, column, numbers


@pytest.mark.parametrize(
    ("case", "name", "time", "cause", "censored", "keys"),
    [
        # O'Connor (1985) through Meeker & Escobar (1998), Appendix C.
        ("P03b", "shock_absorber", "km", "mode", "0", {"1": "mode1", "2": "mode2"}),
        # Meeker & Escobar (1998), chapter 15.
        ("P03c", "device_g", "kilocycles", "cause", "censored", {"surge": "surge", "wearout": "wearout"}),
        # Kyle et al. (2002), NEJM 346, 564-569, as data set mgus2 of R's survival.
        ("P07", "mgus2_competing", "months", "cause", "censored", {"progression": "progression", "death": "death"}),
    ],
)
def test_incidence_and_jackknife_errors_are_those_of_r_survfit(case, name, time, cause, censored, keys):
    expected = EXPECTED[case].get("cif", EXPECTED[case])
    causes = column(name, cause)
    lives = lives_from_times(numbers(name, time), causes != censored)
    found = causes_of_failure(lives, causes, at=expected["times"])
    assert found.working == pytest.approx(expected["event_free"], rel=1e-6)
    for curve in found.curves:
        key = keys[curve.cause]
        assert curve.incidence == pytest.approx(expected[key], rel=1e-6, abs=1e-9)
        assert curve.se == pytest.approx(expected[f"{key}_se"], rel=1e-6, abs=1e-9)


def test_ties_between_causes_and_a_censoring_give_the_sum_done_by_hand():
    # Six lives; worked on paper: 1/6, 1/3, 7/12 and 0, 1/6, 1/6.
    lives = lives_from_times([1, 2, 2, 2, 3, 4], [True, True, True, False, True, False])
    found = causes_of_failure(lives, [1, 1, 2, 0, 1, 0])
    assert found.times.tolist() == [1, 2, 3]
    assert found.curves[0].incidence == pytest.approx([1 / 6, 1 / 3, 7 / 12], abs=1e-15)
    assert found.curves[1].incidence == pytest.approx([0, 1 / 6, 1 / 6], abs=1e-15)
    assert found.working == pytest.approx([5 / 6, 1 / 2, 1 / 4], abs=1e-15)
    assert found.curves[0].hazard == pytest.approx([1 / 6, 1 / 6 + 1 / 5, 1 / 6 + 1 / 5 + 1 / 2], abs=1e-15)


def mixed_lives(n: int, seed: int):
    rng = np.random.default_rng(seed)
    entry = np.round(rng.exponential(3, n) * (rng.random(n) < 0.6))
    exit_ = entry + np.ceil(rng.exponential(6, n))
    return entry, exit_, rng.integers(0, 3, n)


def weighted_incidence(entry, exit_, cause, weight, *, until: float) -> float:
    """Aalen-Johansen share of cause 1 straight from the definition, with a weight on each life."""
    working, share = 1.0, 0.0
    for time in np.unique(exit_[cause > 0]):
        if time > until:
            break
        at_risk = weight[(entry < time) & (exit_ >= time)].sum()
        share += working * weight[(exit_ == time) & (cause == 1)].sum() / at_risk
        working *= 1 - weight[(exit_ == time) & (cause > 0)].sum() / at_risk
    return share


@pytest.mark.parametrize("until", [4.0, 10.0, 15.0, 40.0])
def test_errors_with_delayed_entry_and_clusters_equal_a_numerical_jackknife(until):
    entry, exit_, cause = mixed_lives(60, seed=1)
    influence = np.empty(60)
    for life in range(60):
        up, down = np.ones(60), np.ones(60)
        up[life] += 1e-5
        down[life] -= 1e-5
        influence[life] = (
            weighted_incidence(entry, exit_, cause, up, until=until)
            - weighted_incidence(entry, exit_, cause, down, until=until)
        ) / 2e-5
    lives, ship = lives_from_times(exit_, cause > 0, entry), np.arange(60) % 9
    alone = causes_of_failure(lives, cause, at=[until]).curves[0]
    together = causes_of_failure(lives, cause, at=[until], cluster=ship).curves[0]
    assert alone.incidence[0] == pytest.approx(weighted_incidence(entry, exit_, cause, np.ones(60), until=until))
    assert alone.se[0] == pytest.approx(np.sqrt(np.sum(influence**2)), rel=1e-6)
    assert together.se[0] == pytest.approx(np.sqrt(np.sum(np.bincount(ship, influence) ** 2)), rel=1e-6)


def test_the_order_of_rows_and_the_unit_of_time_change_nothing():
    entry, exit_, cause = mixed_lives(200, seed=2)
    shuffled = np.random.default_rng(3).permutation(200)
    first = causes_of_failure(lives_from_times(exit_, cause > 0, entry), cause)
    moved = causes_of_failure(lives_from_times(exit_[shuffled], cause[shuffled] > 0, entry[shuffled]), cause[shuffled])
    small = causes_of_failure(lives_from_times(exit_ * 1e-9, cause > 0, entry * 1e-9), cause)
    for one, other, tiny in zip(first.curves, moved.curves, small.curves, strict=True):
        assert one.incidence.tolist() == other.incidence.tolist()
        assert one.se == pytest.approx(other.se, rel=1e-9)
        assert one.se == pytest.approx(tiny.se, rel=1e-9)


def test_shares_of_all_causes_and_the_working_add_up_to_one_and_lie_in_their_intervals():
    entry, exit_, cause = mixed_lives(300, seed=4)
    found = causes_of_failure(lives_from_times(exit_, cause > 0, entry), cause)
    assert sum(curve.incidence for curve in found.curves) + found.working == pytest.approx(np.ones(found.times.size))
    for curve in found.curves:
        known = np.isfinite(curve.lower)
        assert np.all((curve.lower <= curve.incidence)[known] & (curve.incidence <= curve.upper)[known])
        assert np.all((curve.lower >= 0)[known] & (curve.upper <= 1)[known])


def test_a_time_before_any_failure_is_bounded_as_none_of_so_many_and_a_time_after_the_end_is_pointed_out():
    found = causes_of_failure(lives_from_times([2, 3, 4], [True, False, False]), ["water", "", ""], at=[1, 9])
    assert found.curves[0].incidence[0] == 0
    assert found.curves[0].lower[0] == 0
    assert found.curves[0].upper[0] == pytest.approx(binomtest(0, 3).proportion_ci(method="exact").high)
    assert "after the last observation" in found.cautions[0]


def test_an_emptied_early_risk_set_is_pointed_out():
    found = causes_of_failure(lives_from_times([2, 9, 8], [True, True, False], [0, 5, 5]), ["water", "wear", ""])
    assert any("from there on the shares say nothing" in caution for caution in found.cautions)
    assert found.emptied_at == 2
    assert found.curves[1].incidence.tolist() == [0, 0]


def test_failures_seen_only_at_a_check_are_counted_when_found_and_said_so():
    found = causes_of_failure(lives_from_intervals([1, 2, 5], [3, 2, np.inf]), ["water", "wear", ""])
    assert found.times.tolist() == [2, 3]
    assert found.cautions == ("1 of 2 failures is known only to an interval; each counts when found",)


def test_no_failure_is_refused_and_a_failure_without_cause_names_its_row():
    with pytest.raises(NotEnoughData, match="no failure among 2 lives"):
        causes_of_failure(lives_from_times([1, 2], [False, False]), ["", ""])
    with pytest.raises(InvalidRecord, match="without a cause in row 2") as refused:
        causes_of_failure(lives_from_times([1, 2], [True, True]), ["water", ""])
    assert refused.value.context["rows"] == [2]


def test_one_life_that_failed_has_all_of_its_cause():
    found = causes_of_failure(lives_from_times([5]), ["water"])
    assert found.curves[0].incidence.tolist() == [1.0]
    assert found.curves[0].se.tolist() == [0.0]


@pytest.mark.parametrize("cause", ["progression", "death"])
def test_equal_shares_come_within_two_per_cent_of_grays_own_statistic(cause):
    # Gray (1988) as computed by R's cmprsk; ours has a jackknife variance, so not the same digits.
    expected, causes = EXPECTED["P07"]["gray_test"], column("mgus2_competing", "cause")
    lives = lives_from_times(numbers("mgus2_competing", "months"), causes != "censored")
    found = equal_shares(lives, causes, cause, column("mgus2_competing", "sex"))
    assert found.statistic == pytest.approx(expected[f"{cause}_stat"], rel=0.02)
    assert found.p == pytest.approx(expected[f"{cause}_p"], rel=0.15)


def test_with_one_cause_equal_shares_have_the_score_of_the_log_rank_test():
    entry, exit_, cause = mixed_lives(2000, seed=5)
    group = np.random.default_rng(6).integers(0, 3, 2000)
    lives = lives_from_times(exit_, cause > 0, entry)
    found = equal_shares(lives, np.where(cause > 0, "any", ""), "any", group)
    assert found.statistic == pytest.approx(log_rank(lives, group).statistic, rel=0.05)
    assert found.df == 2


def test_equal_shares_keep_their_level_when_the_other_cause_differs_between_groups():
    rng = np.random.default_rng(7)
    rejected = 0
    for _ in range(300):
        group, cause = rng.integers(0, 2, 150), np.where(rng.random(150) < 0.5, "water", "wear")
        life = np.where(cause == "water", rng.exponential(5, 150), rng.exponential(5 / (1 + 2 * group))) + 0.01
        entry, end = rng.uniform(0, 1, 150) * (rng.random(150) < 0.4), rng.uniform(2, 9, 150)
        seen = life > entry
        lives = lives_from_times(np.minimum(life, end)[seen], (life < end)[seen], entry[seen])
        rejected += equal_shares(lives, cause[seen], "water", group[seen]).p < 0.05
    assert 0.02 <= rejected / 300 <= 0.09


def test_lives_of_one_sinking_weigh_as_one_in_equal_shares():
    entry, exit_, cause = mixed_lives(40, seed=8)
    group = np.arange(40) % 2
    once = equal_shares(lives_from_times(exit_, cause > 0, entry), cause, "1", group)
    lives = lives_from_times(np.tile(exit_, 5), np.tile(cause, 5) > 0, np.tile(entry, 5))
    copied = equal_shares(lives, np.tile(cause, 5), "1", np.tile(group, 5), cluster=np.tile(np.arange(40), 5))
    assert copied.statistic == pytest.approx(once.statistic, rel=1e-9)


def test_a_group_that_lost_nothing_still_counts_in_equal_shares():
    lives = lives_from_times([1, 2, 3, 4, 5, 6, 7, 8], [True] * 4 + [False] * 4)
    found = equal_shares(lives, ["water"] * 8, "water", ["a"] * 4 + ["b"] * 4)
    assert (found.df, found.p < 0.05) == (1, True)
    with pytest.raises(InvalidRecord, match="1 clusters are too few"):
        equal_shares(lives, ["water"] * 8, "water", ["a"] * 4 + ["b"] * 4, cluster=["one"] * 8)


def test_clusters_want_times_and_causes_want_one_each():
    with pytest.raises(InvalidRecord, match="clustered standard errors need the times"):
        causes_of_failure(lives_from_times([1, 2]), ["a", "b"], cluster=[1, 2])
    with pytest.raises(InvalidRecord, match="2 lives need 2 causes"):
        causes_of_failure(lives_from_times([1, 2]), ["a"])


def test_equal_shares_of_one_group_or_an_unknown_cause_are_refused():
    lives = lives_from_times([1, 2, 3])
    with pytest.raises(NotEnoughData, match="only one group"):
        equal_shares(lives, ["a"] * 3, "a", ["x"] * 3)
    with pytest.raises(NotEnoughData, match="nothing has failed by rot"):
        equal_shares(lives, ["a"] * 3, "rot", ["x", "y", "x"])


def test_of_ten_that_all_failed_otherwise_a_cause_has_the_limit_of_none_of_ten():
    # Clopper and Pearson's, by scipy; without censoring those still watched stand for all ten at every time.
    found = causes_of_failure(lives_from_times(range(1, 11)), ["wear"] * 10, at=[0.5, 4, 10])
    assert found.unseen_upper == pytest.approx(np.full(3, binomtest(0, 10).proportion_ci(method="exact").high))


def test_a_cause_that_took_none_is_bounded_by_those_still_watched_not_by_those_long_gone():
    exits = np.append(np.full(90, 1.0), np.arange(2.0, 12.0))
    found = causes_of_failure(lives_from_times(exits, exits == 2), ["wear"] * 100, at=[1, 1.5, 11, 12])
    limits = [binomtest(0, n).proportion_ci(method="exact").high for n in (100, 10)]
    assert found.unseen_upper[:2] == pytest.approx(limits)
    assert found.unseen_upper[2] > 0.9
    assert np.isnan(found.unseen_upper[3])


def test_nothing_failed_at_all_is_bounded_like_a_cause_that_took_none():
    lives = lives_from_times([5] * 30, [False] * 30)
    assert unseen_limit(lives, [4]) == pytest.approx([binomtest(0, 30).proportion_ci(method="exact").high])


def test_lives_that_end_together_bound_an_unseen_cause_less_closely():
    lives = lives_from_times([3] * 12 + [9] * 12)
    together = causes_of_failure(lives, ["ball"] * 24, at=[5], cluster=[1] * 12 + [2] * 12)
    assert together.unseen_upper[0] > causes_of_failure(lives, ["ball"] * 24, at=[5]).unseen_upper[0]
    assert together.unseen_upper[0] == pytest.approx(1 - 0.025 ** (1 / 2))  # two ships, each of one mind


def test_the_limit_of_a_cause_that_took_none_holds_the_truth_nearly_always():
    # 0.1 of the failures are by water; those samples in which it took none by time 5 must still allow for its share.
    rng = np.random.default_rng(7)
    truth, held, seen = 0.1 * (1 - np.exp(-5 / 10)), 0, 0
    for _ in range(400):
        life, censored = rng.exponential(10, 40), rng.uniform(0, 12, 40)
        water = rng.random(40) < 0.1
        failed = life <= censored
        if not failed.any() or np.any(failed & water & (life <= 5)):
            continue
        lives = lives_from_times(np.minimum(life, censored), failed)
        limit = causes_of_failure(lives, np.where(water, "water", "wear"), at=[5]).unseen_upper[0]
        held, seen = held + bool(limit >= truth), seen + 1
    assert (seen > 60, held) == (True, seen)


def test_all_unknown_put_to_a_cause_is_the_answer_of_the_two_taken_as_one():
    entry, exit_, cause = mixed_lives(80, seed=8)
    named = np.array(["", "water", "unknown"])[cause]
    lives, ship = lives_from_times(exit_, cause > 0, entry), np.arange(80) % 7
    most = causes_of_failure(lives, named, at=[4, 9], cluster=ship, put_to_each="unknown")
    as_one = causes_of_failure(lives, np.where(cause > 0, "water", ""), at=[4, 9], cluster=ship).curves[0]
    assert [curve.cause for curve in most.curves] == ["water"]
    assert most.curves[0].incidence.tolist() == as_one.incidence.tolist()
    assert most.curves[0].upper.tolist() == as_one.upper.tolist()
