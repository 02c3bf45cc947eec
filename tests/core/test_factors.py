"""Joint tests of a covariate's columns against R and statsmodels, and what few clusters do to them."""

from __future__ import annotations

import numpy as np
import pytest

from maintain.core.at_risk import observed
from maintain.core.covariates import covariates_of
from maintain.core.cox import maximise, risk_sets
from maintain.core.effects import accelerated_effects, cox_effects
from maintain.core.factors import LARGEST, RATIO, WALD, wald_tests
from maintain.core.left_out import Watched, left_out_covariance
from maintain.core.lives import lives_from_times
from tests.core.effect_samples import columns, crowd, lung
from tests.coverage_study.clubs import parts
from tests.published.reading import EXPECTED, numbers


def test_all_columns_of_lung_together_have_the_wald_statistic_of_r():
    # Loprinzi et al. (1994); R coxph: Wald test = 29.93 on 3 df.
    lives, given = lung()
    sets = risk_sets(observed(lives), np.column_stack(list(given.values())))
    fitted = maximise(sets)
    covariance = np.linalg.inv(fitted.partial.information) / np.outer(sets.scale, sets.scale)
    whole = covariates_of({"all": np.array(list("abcd"), dtype=object)})
    test = wald_tests(whole, fitted.coefficients / sets.scale, covariance, None)[0]
    assert (test.df, test.test) == (3, WALD)
    assert test.statistic == pytest.approx(EXPECTED["P08b"]["lung_efron"]["wald"], abs=0.005)


def test_a_label_has_one_test_of_all_its_values_as_in_statsmodels():
    from statsmodels.duration.hazard_regression import PHReg

    lives, given = lung()
    ecog = given["ph_ecog"]
    found = cox_effects(lives, {"age": given["age"], "ecog": ecog.astype(int).astype(str)})
    values = np.unique(ecog)
    reference = float(dict(found.references)["ecog"])
    table = np.column_stack([given["age"], *(ecog == value for value in values if value != reference)]).astype(float)
    seen = observed(lives)
    other = PHReg(seen.exit, table, status=seen.failed, ties="efron").fit().wald_test(np.eye(4)[1:], scalar=True)
    age, ecog_test = found.factors
    assert (age.name, age.df, ecog_test.name, ecog_test.df) == ("age", 1, "ecog", 3)
    assert ecog_test.statistic == pytest.approx(float(other.statistic), rel=1e-3)
    assert ecog_test.p == pytest.approx(float(other.pvalue), rel=1e-2)


def test_a_number_has_the_square_of_its_z():
    lives = lives_from_times(numbers("rossi", "week"), numbers("rossi", "arrest") == 1)
    found = cox_effects(lives, columns("rossi", *EXPECTED["P08a"]["coef"]))
    expected = {name: (EXPECTED["P08a"]["coef"][name] / se) ** 2 for name, se in EXPECTED["P08a"]["se"].items()}
    assert {test.name: test.statistic for test in found.factors} == pytest.approx(expected, rel=1e-5)
    assert [test.p for test in found.factors] == pytest.approx([effect.p for effect in found.effects], rel=1e-9)


def test_which_value_is_the_reference_changes_no_test():
    rng = np.random.default_rng(21)
    zone = np.repeat([0, 1, 2], 60)  # of equally frequent values the first by name is the reference
    lives = lives_from_times(rng.exponential(1 + zone) + 0.01)
    first, other = (cox_effects(lives, {"zone": np.array(list(names))[zone]}) for names in ("abc", "cba"))
    assert first.effects[0].coef != pytest.approx(other.effects[0].coef, abs=0.1)
    assert other.factors[0].statistic == pytest.approx(first.factors[0].statistic, rel=1e-6)


def test_leaving_out_each_cluster_comes_near_refitting_without_it():
    lives, table, _, ship = crowd(300, 22, ties=True)
    ship = ship % 12
    seen = observed(lives)
    sets = risk_sets(seen, table)
    whole = maximise(sets).coefficients / sets.scale
    found, lonely = left_out_covariance(Watched(seen, table, None, ship), whole)
    left = []
    for one in range(12):
        part = risk_sets(observed(lives.take(ship != one)), table[ship != one])
        left.append(maximise(part).coefficients / part.scale - whole)
    assert found == pytest.approx(11 / 12 * np.array(left).T @ np.array(left), rel=0.05, abs=1e-4)
    assert not lonely.any()


def test_a_value_of_which_only_one_cluster_tells_is_named():
    lives, _, _, _ = crowd(60, 23, ties=False)
    ship = np.arange(60) % 6
    found = cox_effects(lives, {"coat": np.where(ship == 2, "wax", "oil")}, cluster=ship)
    assert any(each.startswith("only one cluster tells of coat: wax") for each in found.cautions)
    alone = cox_effects(lives, {"coat": np.where(ship == 2, "wax", "oil")})
    assert found.effects[0].se >= alone.effects[0].se


def test_many_values_on_few_clusters_are_judged_by_the_largest():
    lives, _, _, _ = crowd(160, 24, ties=False)
    ship, label = np.arange(160) % 10, np.array(list("abcde"))[(np.arange(160) // 10) % 5]
    for found in (
        cox_effects(lives, {"label": label}, cluster=ship),
        accelerated_effects(lives, {"label": label}, cluster=ship),
    ):
        test = found.factors[0]
        assert (test.test, test.df) == (LARGEST, 4)
        assert test.p == pytest.approx(min(1.0, 4 * min(effect.p for effect in found.effects)))


def test_a_penalised_answer_tests_by_its_likelihood_and_clusters_never_make_it_surer():
    lives = lives_from_times(np.arange(1.0, 19.0), np.array([True] * 6 + [False] * 12))
    treated, ship = np.repeat([0, 1], [10, 8]), np.repeat(np.arange(9), 2)
    plain, shared = (cox_effects(lives, {"treated": treated}, cluster=each) for each in (None, ship))
    assert (plain.factors[0].test, plain.factors[0].p) == (RATIO, pytest.approx(plain.effects[0].p))
    assert shared.effects[0].upper >= plain.effects[0].upper
    assert shared.factors[0].p >= plain.factors[0].p


def test_limits_of_a_penalised_answer_widen_where_ships_differ():
    rng = np.random.default_rng(25)
    ship = np.repeat(np.arange(10), 6)
    bad = ship >= 5  # ships either lose all or none; oil stands on both, wax only where nothing fails
    wax = (ship < 3).astype(float)
    lives = lives_from_times(np.where(bad, rng.uniform(1, 9, 60), 10.0), bad)
    plain, shared = (cox_effects(lives, {"wax": wax}, cluster=each) for each in (None, ship))
    assert plain.penalised and shared.penalised
    assert shared.effects[0].upper > 1.2 * plain.effects[0].upper


def _sure(clubs: int, ships: int, seed: int) -> float:
    """Share of clubs of unlike ships in which two truly equal methods seem to differ."""
    rng, sure = np.random.default_rng(seed), []
    for _ in range(clubs):
        club = parts(rng, ships, 5, luck=0.5)
        method = rng.permutation(np.arange(ships) % 2)[club.ship].astype(float)
        sure.append(cox_effects(club.lives, {"method": method}, cluster=club.ship).factors[0].p < 0.05)
    return float(np.mean(sure))


def test_equal_methods_seldom_seem_to_differ_on_few_ships():
    assert _sure(60, 16, 26) <= 0.1


@pytest.mark.slow
@pytest.mark.parametrize("ships", [8, 16, 40])
def test_equal_methods_seem_to_differ_no_oftener_than_promised(ships):
    assert _sure(1000, ships, 27) <= 0.065
