"""Effects of covariates against R, lifelines, statsmodels and likelihoods done the long way."""

from __future__ import annotations

import numpy as np
import pytest

from maintain.core.at_risk import observed, refuse_overlaps
from maintain.core.concordance import concordance
from maintain.core.covariates import covariates_of, gram_of, redundant
from maintain.core.cox import maximise, partial_likelihood, risk_sets
from maintain.core.cox_residuals import sandwich, score_residuals
from maintain.core.effects import accelerated_effects, cox_effects
from maintain.core.firth import maximise_penalised, profile_limits
from maintain.core.lives import Lives, lives_from_times
from maintain.errors import InvalidRecord, NotEnoughData, NotFound
from tests.core.effect_samples import channing, coefs, columns, crowd, errors, heart, lung
from tests.published.reading import EXPECTED, column, numbers


def test_cox_on_recidivism_is_that_of_r():
    # Rossi, Berk & Lenihan (1980); values by R coxph (Efron).
    expected = EXPECTED["P08a"]
    lives = lives_from_times(numbers("rossi", "week"), numbers("rossi", "arrest") == 1)
    found = cox_effects(lives, columns("rossi", *expected["coef"]))
    assert coefs(found) == pytest.approx(expected["coef"], rel=1e-6)
    assert errors(found) == pytest.approx(expected["se"], rel=1e-6)
    assert found.log_likelihood == pytest.approx(expected["loglik"], rel=1e-9)
    assert 2 * (found.log_likelihood - found.null_log_likelihood) == pytest.approx(expected["lr"], rel=1e-6)
    assert found.concordance == pytest.approx(expected["concordance"], rel=1e-9)
    assert any("age: its hazard ratio falls as parts age" in caution for caution in found.cautions)


def test_cox_on_lung_and_its_proportionality_test_are_those_of_r():
    expected, (lives, given) = EXPECTED["P08b"], lung()
    found = cox_effects(lives, given)
    efron = expected["lung_efron"]
    assert coefs(found) == pytest.approx(efron["coef"], rel=1e-6)
    assert errors(found) == pytest.approx(efron["se"], rel=1e-6)
    assert found.log_likelihood == pytest.approx(efron["loglik"], rel=1e-9)
    assert found.null_log_likelihood == pytest.approx(efron["loglik0"], rel=1e-9)
    assert found.concordance == pytest.approx(efron["concordance"], rel=1e-9)
    tests = {test.name: test.statistic for test in found.proportional}
    tests["GLOBAL"] = tests.pop("all")
    assert tests == pytest.approx(expected["zph"], rel=1e-6)
    assert maximise(risk_sets(observed(lives), np.column_stack(list(given.values())))).score_statistic == pytest.approx(
        efron["score"], rel=1e-6
    )


def test_covariates_that_change_with_time_give_the_stanford_answer():
    # Crowley & Hu (1977) as data set heart of R's survival.
    expected, (rows, given, _) = EXPECTED["P08d"]["heart"], heart()
    found = cox_effects(rows, given)
    assert coefs(found) == pytest.approx(expected["coef"], rel=1e-6)
    assert errors(found) == pytest.approx(expected["se"], rel=1e-6)
    assert found.log_likelihood == pytest.approx(expected["loglik"], rel=1e-9)


def test_late_entry_gives_the_channing_answer():
    expected, (lives, sex) = EXPECTED["P05"]["cox_sex"], channing()
    found = cox_effects(lives, {"sex": sex})
    assert found.references == (("sex", "Female"),)
    assert coefs(found)["sex: Male"] == pytest.approx(expected["coef_male"], rel=1e-6)
    assert errors(found)["sex: Male"] == pytest.approx(expected["se"], rel=1e-6)


def test_placebo_against_6mp_gives_the_published_hazard_ratio():
    lives = lives_from_times(numbers("freireich", "weeks"), numbers("freireich", "event") == 1)
    effect = cox_effects(lives, {"placebo": column("freireich", "group") == "placebo"}).effects[0]
    assert (effect.coef, effect.se) == pytest.approx((1.572125, 0.4123967), rel=1e-6)
    assert effect.ratio == pytest.approx(np.exp(1.572125), rel=1e-6)


@pytest.mark.parametrize("ties", [False, True])
def test_strata_and_late_entry_agree_with_statsmodels(ties):
    from statsmodels.duration.hazard_regression import PHReg

    lives, table, zone, _ = crowd(300, 1, ties=ties)
    found = cox_effects(lives, dict(zip("abc", table.T, strict=True)), strata=zone)
    seen = observed(lives)
    other = PHReg(seen.exit, table, status=seen.failed, entry=seen.entry, strata=zone, ties="efron").fit()
    # statsmodels stops a little short of the maximum
    assert list(coefs(found).values()) == pytest.approx(other.params, rel=1e-4, abs=1e-5)
    assert list(errors(found).values()) == pytest.approx(other.bse, rel=1e-4)


def test_clustered_errors_with_late_entry_agree_with_statsmodels_where_nothing_is_tied():
    from statsmodels.duration.hazard_regression import PHReg

    lives, table, _, ship = crowd(300, 2, ties=False)
    found = cox_effects(lives, dict(zip("abc", table.T, strict=True)), cluster=ship)
    seen = observed(lives)
    other = PHReg(seen.exit, table, status=seen.failed, entry=seen.entry).fit(groups=ship)
    assert list(errors(found).values()) == pytest.approx(other.bse, rel=1e-4)
    assert found.clusters == 25


def test_robust_errors_without_entry_agree_with_lifelines():
    import lifelines
    import pandas as pd

    lives, given = lung()
    untied = np.where(lives.failed, lives.upper, lives.lower) + np.arange(lives.n) * 1e-7
    frame = pd.DataFrame({**given, "time": untied, "failed": lives.failed})
    theirs = lifelines.CoxPHFitter().fit(frame, "time", "failed", robust=True)
    ours = cox_effects(lives_from_times(untied, lives.failed), given, cluster=np.arange(lives.n))
    assert errors(ours) == pytest.approx(theirs.standard_errors_.to_dict(), rel=1e-4)


def test_score_residuals_with_ties_are_each_rows_part_of_the_score():
    lives, table, _, _ = crowd(120, 3, ties=True)
    seen, sets = observed(lives), risk_sets(observed(lives), table)
    coefficients = np.array([0.3, -0.2, 0.1])
    partial = partial_likelihood(sets, coefficients * sets.scale)
    parts, risk = np.zeros_like(table), np.exp(table @ coefficients)
    for time in np.unique(seen.exit[seen.failed]):  # Therneau & Grambsch (2000), section 3.3, tie by tie
        watched = (seen.entry < time) & (seen.exit >= time)
        dead = watched & seen.failed & (seen.exit == time)
        for step in range(dead.sum()):
            weight = risk * watched * np.where(dead, 1 - step / dead.sum(), 1)
            mean = weight @ table / weight.sum()
            parts -= (weight / weight.sum())[:, None] * (table - mean)
            parts[dead] += (table[dead] - mean) / dead.sum()
    residuals = score_residuals(sets, partial)
    assert residuals * sets.scale == pytest.approx(parts, abs=1e-10)
    assert residuals.sum(axis=0) == pytest.approx(partial.score, abs=1e-10)


def test_robust_errors_come_near_leaving_out_each_cluster():
    lives, table, _, ship = crowd(1000, 4, ties=True)
    sets = risk_sets(observed(lives), table)
    robust = np.sqrt(np.diag(sandwich(sets, maximise(sets).partial, ship))) / sets.scale
    left = []
    for one in range(25):
        part = risk_sets(observed(lives.take(ship != one)), table[ship != one])
        left.append(maximise(part).coefficients / part.scale)
    jackknife = np.sqrt(24 / 25 * np.sum((np.array(left) - np.mean(left, axis=0)) ** 2, axis=0))
    assert robust == pytest.approx(jackknife, rel=0.1)


def test_units_of_covariates_and_time_change_nothing():
    lives, given = lung()
    plain = cox_effects(lives, given)
    big = Lives(lives.entry * 1e9, lives.lower * 1e9, lives.upper * 1e9)
    scaled = cox_effects(big, {"age": given["age"] * 1e-9, "sex": given["sex"], "ph_ecog": given["ph_ecog"] * 1e6})
    assert scaled.effects[0].coef == pytest.approx(plain.effects[0].coef * 1e9, rel=1e-6)
    assert scaled.effects[2].p == pytest.approx(plain.effects[2].p, rel=1e-6)


def test_the_firth_answer_is_the_top_of_the_penalised_likelihood_and_its_limits_where_it_has_fallen():
    failed = np.array([True] * 6 + [False] * 12)
    lives, treated = lives_from_times(np.arange(1.0, 19.0), failed), np.repeat([0, 1], [10, 8])
    found = cox_effects(lives, {"treated": treated})
    effect = found.effects[0]
    grid = np.linspace(-9, 2, 11001)
    values = []
    for coefficient in grid:  # Firth (1993), written out for one two-valued covariate
        risk, value, information = np.exp(coefficient * treated), 0.0, 0.0
        for row in range(6):
            share = risk[row:] @ treated[row:] / risk[row:].sum()
            value += coefficient * treated[row] - np.log(risk[row:].sum())
            information += share * (1 - share)
        values.append(value + 0.5 * np.log(information))
    values = np.array(values)
    inside = grid[values > values.max() - 1.959964**2 / 2]
    assert effect.coef == pytest.approx(grid[values.argmax()], abs=2e-3)
    assert (np.log(effect.lower), np.log(effect.upper)) == pytest.approx((inside[0], inside[-1]), abs=2e-3)
    assert (effect.interval, found.penalised, found.proportional) == ("profile", True, ())
    assert found.cautions[0].startswith("nothing has failed where treated is 1: no finite ratio fits that")


def test_a_group_without_failures_beside_other_covariates_is_answered_not_refused():
    rng = np.random.default_rng(5)
    method = np.repeat(["grease", "oil"], [15, 25])
    lives = lives_from_times(rng.exponential(10, 40) + 0.1, (method == "oil") & (rng.random(40) < 0.6))
    found = cox_effects(lives, {"method": method, "age": rng.normal(size=40)}, cluster=np.arange(40) % 8)
    by_name = {effect.name: effect for effect in found.effects}
    assert by_name["method: grease"].upper < 1
    assert (by_name["method: grease"].interval, by_name["age"].interval) == ("profile", "jackknife")
    assert found.cautions[0].startswith("nothing has failed in method: grease: no finite ratio fits that")
    assert any("its limits are widened" in caution for caution in found.cautions)


def test_a_limit_farther_than_any_effect_is_no_limit():
    sets = risk_sets(
        observed(lives_from_times([1, 2, 3, 4], [True, True, False, False])), np.array([[0.0], [0], [1], [1]])
    )
    lower, upper = profile_limits(sets, maximise_penalised(sets), 0, z=50.0)
    assert (lower, upper) == (-np.inf, np.inf)


def test_separation_by_a_number_is_noticed_in_the_search():
    rng = np.random.default_rng(6)
    depth = rng.normal(size=30)
    lives = lives_from_times(np.argsort(np.argsort(-depth)) + 1.0)  # the deepest always fails first
    found = cox_effects(lives, {"depth": depth})
    assert found.penalised
    assert np.isfinite(found.effects[0].coef)
    assert found.cautions[0].startswith(
        "depth: of lives otherwise alike, those with the most of it always failed first"
    )


def test_covariates_that_say_the_same_are_left_out_in_words():
    rng = np.random.default_rng(7)
    lives = lives_from_times(rng.exponential(5, 60) + 0.1)
    age = rng.normal(size=60)
    found = cox_effects(
        lives, {"age": age, "months": age * 12, "one": np.ones(60), "nearly": age + 1e-2 * rng.normal(size=60)}
    )
    assert found.left_out == ("months", "one")
    assert "months left out: it is settled by age" in found.cautions
    assert "one left out: it never varies where it could count" in found.cautions
    assert "age and nearly go together so closely that their effects can hardly be told apart" in found.cautions


def test_a_covariate_that_varies_only_between_strata_has_no_effect_to_see():
    lives, table, zone, _ = crowd(60, 8, ties=True)
    assert cox_effects(lives, {"a": table[:, 0], "zone": zone * 1.0}, strata=zone).left_out == ("zone",)
    with pytest.raises(NotEnoughData, match="no effect can be seen: zone left out"):
        cox_effects(lives, {"zone": zone * 1.0}, strata=zone)


@pytest.mark.parametrize("entry", [False, True])
def test_concordance_counts_the_pairs_that_counting_one_by_one_does(entry):
    rng = np.random.default_rng(9)
    begin = rng.integers(0, 3, 200) * float(entry)
    end, failed, risk = begin + rng.integers(1, 9, 200), rng.random(200) < 0.7, rng.integers(0, 6, 200) * 1.0
    won = drawn = pairs = 0
    for row in np.flatnonzero(failed):
        other = (begin < end[row]) & ((end > end[row]) | ((end == end[row]) & ~failed))
        won, drawn = won + np.sum(risk[other] < risk[row]), drawn + np.sum(risk[other] == risk[row])
        pairs += other.sum()
    found = concordance(observed(lives_from_times(end, failed, begin)), risk)
    assert found == pytest.approx((won + drawn / 2) / pairs, abs=1e-12)


@pytest.mark.parametrize("estimate", [cox_effects, accelerated_effects])
def test_what_cannot_be_estimated_is_refused_in_a_sentence(estimate):
    with pytest.raises(NotEnoughData, match="no failure among 2 lives"):
        estimate(lives_from_times([1, 2], [False, False]), {"age": [1, 2]})
    with pytest.raises(InvalidRecord, match="age is missing in row 2"):
        estimate(lives_from_times([1, 2]), {"age": [1, np.nan]})
    with pytest.raises(InvalidRecord, match="2 lives need 2 values"):
        estimate(lives_from_times([1, 2]), {"age": [1, 2, 3]})
    with pytest.raises(InvalidRecord, match="no covariate given"):
        estimate(lives_from_times([1, 2]), {})
    with pytest.raises(NotEnoughData, match="never varies"):
        estimate(lives_from_times([1, 2, 3]), {"age": [4, 4, 4]})
    with pytest.raises(InvalidRecord, match="every life has the same zone"):
        estimate(lives_from_times([1, 2, 3]), {"zone": ["bilge"] * 3})


def test_one_failure_is_answered_with_a_wide_interval_and_a_caution():
    found = cox_effects(lives_from_times([3, 4, 5, 6], [True, False, False, False]), {"wet": [1, 1, 0, 0]})
    assert found.penalised
    assert found.effects[0].lower < 1 < found.effects[0].upper
    assert any("fewer than 10 each" in caution for caution in found.cautions)


def test_equal_times_are_one_tie():
    found = cox_effects(lives_from_times([5.0] * 8, [True, True, False, False] * 2), {"a": [0, 1] * 4})
    assert found.effects[0].coef == pytest.approx(0, abs=1e-9)


def test_few_clusters_are_pointed_out():
    lives, table, _, _ = crowd(80, 12, ties=True)
    found = cox_effects(lives, {"a": table[:, 0]}, cluster=np.arange(80) % 6)
    assert any(caution.startswith("only 6 clusters: limits and p come from") for caution in found.cautions)
    assert found.effects[0].interval == "jackknife"


def test_a_part_that_is_in_two_rows_at_once_or_goes_on_after_failing_is_named():
    rows, _, patients = heart()
    refuse_overlaps(rows, patients)
    with pytest.raises(InvalidRecord, match="row 2: the same part"):
        refuse_overlaps(lives_from_times([5, 9], [False, True], [0, 4]), ["S7", "S7"])
    with pytest.raises(InvalidRecord, match="row 1: the same part"):
        refuse_overlaps(lives_from_times([9, 5, 3], [True, True, True], [5, 0, 0]), ["S7", "S7", "S8"])


def test_an_unknown_law_is_named():
    with pytest.raises(NotFound, match="no model named 'gamma'"):
        accelerated_effects(lives_from_times([1, 2, 3]), {"a": [1, 2, 3]}, model="gamma")


def test_redundancy_names_all_that_settle_a_column():
    a, b = np.arange(6.0), np.array([1.0, 0, 1, 0, 0, 1])
    given = covariates_of({"a": a, "b": b, "sum": a + b})
    assert redundant(given.names, *gram_of(given.table)) == {"sum": ("a", "b")}


def test_columns_of_different_lengths_are_refused():
    with pytest.raises(InvalidRecord, match="different lengths"):
        covariates_of({"a": [1, 2], "b": [1, 2, 3]})
