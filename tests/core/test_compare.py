"""Comparisons of groups against R, lifelines, published tables and sums done the long way."""

from __future__ import annotations

import lifelines.statistics
import numpy as np
import pytest
from scipy.stats import binom
from scipy.stats import f as f_distribution

from maintain.core.compare import Ask, compare
from maintain.core.fairness import imbalances, late_entry_cautions
from maintain.core.lives import lives_from_intervals, lives_from_times
from maintain.core.log_rank import log_rank
from maintain.core.sample_size import (
    design_effect,
    detectable_hazard_ratio,
    events_by_freedman,
    events_by_schoenfeld,
    hazard_ratio_of_shares,
    lives_for_two_shares,
    power_of_log_rank,
)
from maintain.errors import InvalidRecord, NotEnoughData
from tests.published.reading import EXPECTED, column, numbers


def freireich():
    return lives_from_times(numbers("freireich", "weeks"), numbers("freireich", "event") == 1), column(
        "freireich", "group"
    )


def lung_by_ecog():
    ecog = column("lung", "ph_ecog")
    kept = np.isin(ecog, ["0", "1", "2"])
    return lives_from_times(numbers("lung", "time")[kept], numbers("lung", "status")[kept] == 1), ecog[kept]


def crowd(n: int, seed: int):
    rng = np.random.default_rng(seed)
    entry = np.round(rng.exponential(3, n) * (rng.random(n) < 0.5))
    lives = lives_from_times(entry + np.ceil(rng.exponential(8, n)), rng.random(n) < 0.7, entry)
    return lives, rng.integers(0, 3, n), rng.integers(0, 4, n), rng.integers(0, 12, n)


def test_leukaemia_remissions_give_the_published_log_rank_and_peto_peto():
    # Freireich et al. (1963), Blood 21, 699-716; values by R survdiff (textbook 16.79).
    lives, group = freireich()
    plain, early = log_rank(lives, group), log_rank(lives, group, weighting="peto-peto")
    assert plain.groups == ("6MP", "placebo")
    assert plain.statistic == pytest.approx(16.79294, abs=5e-6)
    assert plain.p == pytest.approx(4.168809e-05, rel=1e-6)
    assert plain.observed.tolist() == [9, 21]
    assert plain.expected == pytest.approx([19.2505, 10.7495], abs=5e-5)
    assert early.statistic == pytest.approx(14.45715, abs=5e-6)


def test_pairs_are_tested_and_corrected_as_published():
    # R survival's lung; pairs and Holm by R, lifelines and statsmodels.
    expected, (lives, group) = EXPECTED["P14b"], lung_by_ecog()
    found = compare(lives, group, ask=Ask(tau=300))
    assert found.overall.statistic == pytest.approx(expected["all"], rel=1e-6)
    assert found.overall.df == 2
    assert [(pair.a, pair.b) for pair in found.pairs] == [("0", "1"), ("0", "2"), ("1", "2")]
    assert [pair.test.statistic for pair in found.pairs] == pytest.approx(
        [expected["0v1"], expected["0v2"], expected["1v2"]], rel=1e-6
    )
    assert [pair.test.p for pair in found.pairs] == pytest.approx(expected["p"], rel=1e-6)
    assert [pair.p_holm for pair in found.pairs] == pytest.approx(expected["holm"], rel=1e-6)


def test_difference_of_restricted_means_has_the_published_error():
    expected, (lives, group) = EXPECTED["P14a"], freireich()
    pair = compare(lives, group, ask=Ask(tau=20)).pairs[0]
    gap = pair.mean_difference.estimate
    assert gap.value == pytest.approx(-expected["diff"], rel=1e-6)  # placebo less 6-MP
    assert gap.se == pytest.approx(expected["se_diff"], rel=1e-6)
    assert (gap.lower, gap.upper) == pytest.approx((gap.value - 1.959964 * gap.se, gap.value + 1.959964 * gap.se))
    assert pair.mean_difference.p == pytest.approx(1.6e-5, rel=0.05)


def test_delayed_entry_gives_the_score_test_of_cox_in_channing_house():
    # Hyde (1980). With ties the log-rank variance differs from the Breslow score test by (Y - d)/(Y - 1).
    entry, exit_ = numbers("channing", "entry_months"), numbers("channing", "exit_months")
    kept = exit_ > entry
    lives = lives_from_times(exit_[kept], (numbers("channing", "event") == 1)[kept], entry[kept])
    found = log_rank(lives, column("channing", "sex")[kept])
    assert found.statistic == pytest.approx(EXPECTED["P05"]["cox_sex"]["score"], rel=0.005)


def long_way(lives, group, strata, weighted: bool):
    """Score, variance and each life's part in the score, one failure time after another."""
    size, n = group.max() + 1, group.size
    exit_ = np.where(lives.failed, lives.upper, lives.lower)
    score, variance, parts = np.zeros(size), np.zeros((size, size)), np.zeros((n, size))
    for layer in np.unique(strata):
        survival = 1.0
        for time in np.unique(exit_[lives.failed & (strata == layer)]):
            risk = (strata == layer) & (lives.entry < time) & (exit_ >= time)
            dead = risk & lives.failed & (exit_ == time)
            share = np.bincount(group[risk], minlength=size) / risk.sum()
            weight, hazard = (survival if weighted else 1.0), dead.sum() / risk.sum()
            score += weight * (np.bincount(group[dead], minlength=size) - dead.sum() * share)
            if risk.sum() > 1:
                factor = weight**2 * dead.sum() * (risk.sum() - dead.sum()) / (risk.sum() - 1)
                variance += factor * (np.diag(share) - np.outer(share, share))
            parts[risk] += weight * (dead[risk] - hazard)[:, None] * (np.eye(size)[group[risk]] - share)
            survival *= 1 - hazard
    return score, variance, parts


@pytest.mark.parametrize("weighting", ["log-rank", "peto-peto"])
def test_entry_strata_and_the_sandwich_agree_with_the_long_way(weighting, monkeypatch):
    monkeypatch.setattr("maintain.core.log_rank.MANY_CLUSTERS", 0)
    lives, group, zone, ship = crowd(150, seed=1)
    found = log_rank(lives, group, strata=zone, clusters={"ship": ship}, weighting=weighting)
    score, variance, parts = long_way(lives, group, zone, weighting == "peto-peto")
    sums = np.array([parts[ship == one].sum(axis=0) for one in np.unique(ship)])
    assert found.statistic == pytest.approx(score[:2] @ np.linalg.solve(variance[:2, :2], score[:2]))
    robust = sums.T @ sums
    assert found.robust[0].statistic == pytest.approx(score[:2] @ np.linalg.solve(robust[:2, :2], score[:2]))
    effect = np.trace(robust[:2, :2] @ np.linalg.inv(variance[:2, :2])) / 2
    assert found.robust[0].design_effect == pytest.approx(effect)
    assert found.robust[0].rough
    # Hotelling's T squared (Rao 1973, Linear Statistical Inference, 2nd ed., 8b.xii): 12 ships, 2 directions.
    robust_test = found.robust[0]
    assert (robust_test.df, robust_test.denominator_df) == (2, 10)
    assert robust_test.f == pytest.approx(robust_test.statistic * 10 / (11 * 2))
    assert robust_test.p == pytest.approx(f_distribution.sf(robust_test.f, 2, 10))


def test_the_jackknife_is_what_leaving_out_each_ship_in_turn_gives():
    lives, group, zone, ship = crowd(150, seed=2)
    found = log_rank(lives, group > 0, strata=zone, clusters={"ship": ship})

    def step(rows):
        test = log_rank(lives.take(rows), group[rows] > 0, strata=zone[rows])
        return test.score / test.variance

    steps = np.array([step(ship != one) for one in np.unique(ship)])
    variance = 11 / 12 * np.sum((steps - steps.mean()) ** 2)
    assert found.robust[0].statistic == pytest.approx((found.score / found.variance) ** 2 / variance)
    assert found.robust[0].design_effect == pytest.approx(variance * found.variance)


def test_lifelines_agrees_where_it_can():
    rng = np.random.default_rng(2)
    time, failed, group = np.ceil(rng.exponential(9, 200)), rng.random(200) < 0.6, rng.integers(0, 4, 200)
    ours = log_rank(lives_from_times(time, failed), group)
    theirs = lifelines.statistics.multivariate_logrank_test(time, group, failed)
    assert ours.statistic == pytest.approx(theirs.test_statistic, rel=1e-9)
    assert ours.p == pytest.approx(theirs.p_value, rel=1e-9)


def test_lives_that_die_together_in_one_sinking_count_as_little_more_than_one():
    time, failed, group = np.repeat([3, 5, 8, 9, 4, 6], 10), np.ones(60, bool), np.repeat([0, 0, 0, 1, 1, 1], 10)
    found = log_rank(lives_from_times(time, failed), group, clusters={"sinking": np.repeat(np.arange(6), 10)})
    assert found.robust[0].design_effect > 10
    assert found.robust[0].p > 10 * found.p
    assert found.careful_p == found.robust[0].p


def test_clustered_test_keeps_its_level_where_the_plain_one_does_not():
    rng = np.random.default_rng(3)
    plain, robust = 0, 0  # 60 ships of 5 lives, each ship with its own luck
    for _ in range(150):
        ship = np.repeat(np.arange(60), 5)
        luck = rng.gamma(1.0, 1.0, 60)[ship]
        lives = lives_from_times(rng.exponential(1, 300) / luck)
        found = log_rank(lives, rng.integers(0, 2, 60)[ship], clusters={"ship": ship})
        plain += found.p < 0.05
        robust += found.robust[0].p < 0.05
    assert plain / 150 > 0.12
    assert robust / 150 < 0.08


@pytest.mark.parametrize("key", [key for key in EXPECTED["P14c"] if key.startswith("HR")])
def test_failures_needed_are_those_of_schoenfeld_and_freedman(key):
    ratio, power = (float(part) for part in key.removeprefix("HR").split("_pow"))
    assert events_by_schoenfeld(ratio, power) == pytest.approx(EXPECTED["P14c"][key]["schoenfeld"], rel=1e-6)
    assert events_by_freedman(ratio, power) == pytest.approx(EXPECTED["P14c"][key]["freedman"], rel=1e-6)


def test_unequal_groups_need_more_failures():
    expected = EXPECTED["P14c"]["alloc_2to1_HR.6_pow.8_schoenfeld"]
    assert events_by_schoenfeld(0.6, 0.8, share=2 / 3) == pytest.approx(expected, rel=1e-6)


def test_power_and_detectable_ratio_are_the_two_ways_round_of_one_formula():
    ratio = detectable_hazard_ratio(90, 0.8)
    assert power_of_log_rank(90, ratio) == pytest.approx(0.8, abs=1e-4)
    assert power_of_log_rank(events_by_schoenfeld(0.5, 0.9), 0.5) == pytest.approx(0.9, abs=1e-6)
    assert detectable_hazard_ratio(90, 0.8, design_effect=2) == pytest.approx(detectable_hazard_ratio(45, 0.8))
    assert detectable_hazard_ratio(0) is None


def exact_power(n: int, first: float, second: float) -> float:
    """Chance, summed over all outcomes, that the pooled two-sided z test of two shares rejects at 5 %."""
    dead = np.arange(n + 1)
    gap, middle = (dead[:, None] - dead) / n, (dead[:, None] + dead) / (2 * n)
    rejects = gap**2 > 1.959964**2 * 2 * middle * (1 - middle) / n
    return float(binom.pmf(dead, n, first) @ rejects @ binom.pmf(dead, n, second))


def test_two_failing_shares_need_the_textbook_numbers():
    # R's help page of power.prop.test: p1 = 0.50, p2 = 0.75, power = 0.90 gives n = 76.7.
    assert lives_for_two_shares(0.50, 0.75, 0.90) == pytest.approx(76.7, abs=0.05)
    for first, second in ((0.4, 0.2), (0.5, 0.1), (0.3, 0.15)):
        n = int(np.ceil(lives_for_two_shares(first, second)))
        assert exact_power(n, first, second) == pytest.approx(0.8, abs=0.04)  # few lives: outcomes are coarse
    assert hazard_ratio_of_shares(0.5, 0.75) == pytest.approx(2.0)


def test_the_power_of_a_comparison_counts_its_clusters():
    lives, group, _, ship = crowd(120, seed=4)
    two = group > 0
    alone = compare(lives, two).pairs[0].power
    together = compare(lives, two, clusters={"ship": np.repeat(np.arange(12), 10), "luck": ship}).pairs[0]
    assert together.power.design_effect >= 1
    assert together.power.events_needed >= alone.events_needed
    assert alone.power == pytest.approx(power_of_log_rank(alone.events, 2.0, share=1 - two.mean()))
    assert together.test.careful_p == max(test.p for test in together.test.robust)


def test_a_group_without_failures_is_tested_but_has_no_ratio():
    lives = lives_from_times([1, 2, 3, 4, 5, 9, 9, 9, 9, 9], [True] * 5 + [False] * 5)
    found = compare(lives, ["oil"] * 5 + ["grease"] * 5)
    assert found.overall.p < 0.01
    assert found.pairs[0].power.hazard_ratio is None
    assert found.cautions[0].startswith("grease: no failure among 5 lives")


def test_groups_never_at_risk_together_cannot_be_compared():
    lives = lives_from_times([3, 4, 9, 8], [True, True, True, True], [0, 0, 5, 5])
    with pytest.raises(NotEnoughData, match="no two groups were ever under observation together"):
        log_rank(lives, ["a", "a", "b", "b"])
    late = lives_from_times([3, 4, 9, 8, 9, 9], [True, True, True, True, False, True], [0, 0, 5, 5, 0, 0])
    pairs = {(pair.a, pair.b): pair.test for pair in compare(late, ["a", "a", "b", "b", "c", "c"]).pairs}
    assert pairs["a", "b"] is None
    assert pairs["a", "c"] is not None


def test_an_emptied_early_risk_set_has_no_mean_and_says_so():
    lives = lives_from_times([2, 9, 8, 3, 9], [True, True, False, True, False], [0, 5, 5, 0, 0])
    found = compare(lives, ["a", "a", "a", "b", "b"])
    assert found.pairs[0].mean_difference is None
    assert "a: its curve cannot be followed far enough for a mean" in found.cautions


@pytest.mark.parametrize(
    ("times", "failed", "group", "error", "message"),
    [
        ([1, 2], [True, True], ["a", "a"], NotEnoughData, r"only one group \(a\)"),
        ([1, 2], [False, False], ["a", "b"], NotEnoughData, "no failure among 2 lives"),
        ([1], [True], ["a"], NotEnoughData, "only one group"),
        ([1, 2], [True, True], ["a"], InvalidRecord, "2 lives need 2 labels"),
        ([1, 2], [True, True], np.array(["a", None], dtype=object), InvalidRecord, "missing in row 2"),
    ],
)
def test_what_cannot_be_compared_is_refused_in_a_sentence(times, failed, group, error, message):
    with pytest.raises(error, match=message):
        compare(lives_from_times(times, failed), group)


def test_one_cluster_is_no_basis_for_judging():
    with pytest.raises(InvalidRecord, match="by ship: only 1 in all"):
        log_rank(lives_from_times([1, 2, 3]), ["a", "b", "a"], clusters={"ship": ["x"] * 3})


def test_equal_times_and_tiny_units_change_nothing():
    same = log_rank(lives_from_times([5] * 8, [True, False] * 4), ["a"] * 4 + ["b"] * 4)
    assert same.statistic == pytest.approx(0, abs=1e-12)
    lives, group = freireich()
    tiny = lives_from_times(np.where(lives.failed, lives.upper, lives.lower) * 1e-12, lives.failed)
    assert log_rank(tiny, group).statistic == pytest.approx(log_rank(lives, group).statistic, rel=1e-12)


def test_failures_found_at_a_check_are_tested_when_found_and_have_mean_lives_by_the_middle():
    lives = lives_from_intervals([1, 2, 3, 4], [3, 2, 8, 9])
    found = compare(lives, ["a", "a", "b", "b"], ask=Ask(tau=6))
    said = "3 of 4 failures are known only to an interval; each counts when found"
    assert f"{said}; in mean lives at the middle of its interval" in found.cautions
    # Middles 2, 2 and 5.5, 6.5; the last is cut at 6.
    assert found.pairs[0].mean_difference.estimate.value == pytest.approx((5.5 + 6) / 2 - 2)


def test_groups_in_different_zones_are_called_unfair_and_equal_ones_are_not():
    rng = np.random.default_rng(5)
    group = np.repeat(["oil", "grease"], 200)
    zone = np.where(rng.random(400) < np.where(group == "oil", 0.8, 0.3), "bilge", "dry deck")
    fair = {"water": rng.choice(["pond", "salt"], 400), "age": rng.normal(size=400)}
    found = {one.covariate: one for one in imbalances(group, {"zone": zone, **fair})}
    assert found["zone"].unfair
    assert not found["zone"].never_together
    assert not found["water"].unfair
    assert not found["age"].unfair
    # one number: the gap over the root of the mean variance
    numbers_found = imbalances(["a", "a", "b", "b"], {"age": [1.0, 3.0, 2.0, 6.0]})[0]
    assert numbers_found.difference == pytest.approx(2 / np.sqrt((1 + 4) / 2))


def test_many_labels_in_small_groups_are_not_called_unfair_for_chance_alone():
    rng = np.random.default_rng(8)
    called = [
        imbalances(rng.permutation(40) % 2, {"ship": rng.integers(0, 8, 40).astype(str)})[0].unfair for _ in range(200)
    ]
    assert np.mean(called) < 0.15


def test_numbers_that_do_not_overlap_are_infinitely_far_apart():
    found = imbalances(["a", "a", "b", "b", "c", "c"], {"age": [1, 1, 2, 2, 1, 1]})[0]
    assert (found.a, found.b, found.difference, found.unfair) == ("b", "c", np.inf, True)
    assert imbalances(["a", "b"], {"age": [3, 3]})[0].difference == 0
    with pytest.raises(NotEnoughData, match="only one group"):
        imbalances(["a", "a"], {"age": [1, 2]})


def test_a_mean_up_to_a_time_nobody_reached_is_left_out():
    found = compare(lives_from_times([1, 2, 3, 4], [True, False, True, False]), ["a", "a", "b", "b"], ask=Ask(tau=9))
    assert found.pairs[0].mean_difference is None


def test_means_without_a_failure_before_the_limit_differ_by_nothing_that_can_be_judged():
    found = compare(lives_from_times([5, 6, 7, 8]), ["a", "a", "b", "b"], ask=Ask(tau=3))
    gap = found.pairs[0].mean_difference
    assert (gap.estimate.value, gap.estimate.lower, gap.p) == (0, None, None)


def test_a_missing_covariate_is_named():
    with pytest.raises(InvalidRecord, match="age is missing in row 2"):
        imbalances(["a", "b"], {"age": [1.0, np.nan]})


def test_survivors_are_pointed_out():
    lives = lives_from_times([5, 6, 7, 8], None, [1, 2, 0, 0])
    assert [text[:2] for text in late_entry_cautions(lives, ["a", "a", "b", "b"])] == ["a:"]


def test_design_effect_wants_a_cluster_and_a_correlation():
    assert design_effect(1, 0.5) == 1
    with pytest.raises(InvalidRecord):
        design_effect(0.5, 0.1)
    with pytest.raises(InvalidRecord):
        events_by_schoenfeld(1.0)
    with pytest.raises(InvalidRecord):
        lives_for_two_shares(0.3, 0.3)
