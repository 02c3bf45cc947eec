"""Published values that no other file holds the mathematics against; each with its source."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats

from maintain.core.at_risk import observed
from maintain.core.causes import causes_of_failure
from maintain.core.concordance import concordance
from maintain.core.curve import survival_curve
from maintain.core.effects import accelerated_effects, cox_effects
from maintain.core.fit import fit
from maintain.core.lives import Lives, lives_from_intervals, lives_from_times
from maintain.core.shape import profile_limits
from maintain.core.turnbull import interval_curve
from tests.core.effect_samples import coefs, columns, errors, heart, lung
from tests.core.published_lives import ball_bearings, cosmesis, diesel_fans, freireich, heat_exchanger, nist_hours
from tests.published.reading import EXPECTED, column, numbers


def both_groups() -> tuple[Lives, np.ndarray]:
    lives = lives_from_times(numbers("freireich", "weeks"), numbers("freireich", "event") == 1)
    return lives, column("freireich", "group") == "placebo"


def test_leukaemia_remissions_have_the_accelerated_life_of_r_survreg() -> None:
    # Freireich et al. (1963), Blood 21, 699-716: time to relapse, placebo against 6-MP.
    expected, (lives, placebo) = EXPECTED["P01"]["weibull_aft"], both_groups()
    found = accelerated_effects(lives, {"placebo": placebo})
    assert np.log(found.scale.value) == pytest.approx(expected["intercept"], rel=1e-6)
    assert coefs(found)["placebo"] == pytest.approx(expected["x"], rel=1e-6)
    assert found.sigma.value == pytest.approx(expected["scale"], rel=1e-6)
    assert found.log_likelihood == pytest.approx(expected["loglik"], rel=1e-9)


def test_leukaemia_remissions_have_the_hazard_ratio_and_likelihood_of_r_coxph() -> None:
    # Ties by Efron; Breslow's 1.509 and the exact 1.628 are other definitions, which this project does not offer.
    expected, (lives, placebo) = EXPECTED["P01"]["cox_efron"], both_groups()
    found = cox_effects(lives, {"placebo": placebo})
    assert (coefs(found)["placebo"], errors(found)["placebo"]) == pytest.approx(
        (expected["coef"], expected["se"]), rel=1e-6
    )
    assert found.log_likelihood == pytest.approx(expected["loglik"], rel=1e-9)


@pytest.mark.parametrize("copy", ["4840", "4848"])
def test_the_exponential_of_the_ball_bearings_has_the_published_likelihood(copy: str) -> None:
    # Lieblein and Zelen (1956), J. Research NBS 57.
    expected, found = EXPECTED[f"P02_{copy}"]["exponential"], fit(ball_bearings(copy), "exponential")
    assert found.log_likelihood == pytest.approx(expected["loglik"], rel=1e-8)
    scale = found.parameters["scale"]
    assert (scale.value, scale.lower, scale.upper) == pytest.approx(
        (expected["theta"], expected["theta_lo_wald_log"], expected["theta_hi_wald_log"]), rel=1e-6
    )


def test_the_exponential_of_the_fans_has_the_published_likelihood() -> None:
    # Nelson (1969), J. Quality Technology 1, 27-52.
    expected = EXPECTED["P03a"]["exponential"]["loglik"]
    assert fit(diesel_fans(), "exponential").log_likelihood == pytest.approx(expected, rel=1e-8)


def test_ignoring_the_cause_makes_wear_and_surges_look_like_a_steady_hazard() -> None:
    # Meeker and Escobar (1998), chapter 15: device G. Each cause has its own ageing; together they hide it.
    shapes = {}
    for name, causes in (("surge", ["surge"]), ("wearout", ["wearout"]), ("all", ["surge", "wearout"])):
        lives = lives_from_times(numbers("device_g", "kilocycles"), np.isin(column("device_g", "cause"), causes))
        shapes[name] = fit(lives).parameters["shape"]
    assert (shapes["wearout"].lower or 0) > 1
    assert shapes["surge"].value == pytest.approx(0.6709927, rel=1e-5)
    assert (shapes["all"].lower or 0) < 1 < (shapes["all"].upper or 0)


def test_the_laws_of_the_nist_handbook_have_its_printed_digits() -> None:
    # NIST/SEMATECH e-Handbook, 8.4.1.3. The spread follows from shape and scale; the program itself shows none.
    found, lives = EXPECTED["P04a"]["weibull"], nist_hours("nist_weibull_8413")
    weibull, lognormal = fit(lives), fit(lives, "lognormal")
    shape, scale = (weibull.parameters[name].value or 0.0 for name in ("shape", "scale"))
    assert (round(scale, 3), round(shape, 4)) == (606.528, 1.7208)
    assert round(weibull.mean.value or 0.0, 3) == 540.737
    law = stats.weibull_min(shape, scale=scale)
    assert round(law.std(), 3) == 323.806
    assert law.std() == pytest.approx(found["sd"], rel=1e-6)
    assert (round(weibull.aic, 2), round(lognormal.aic, 2)) == (154.27, 154.39)
    assert round(weibull.log_likelihood, 3) == -75.135
    assert profile_limits(lives, weibull) == pytest.approx(EXPECTED["P04a"]["weibull_shape_LR_ci95"], rel=1e-6)


def test_the_curve_of_the_nist_handbook_has_the_limits_of_r_survfit() -> None:
    # NIST/SEMATECH e-Handbook, 8.2.1.5; limits on the log(-log) scale.
    expected, curve = EXPECTED["P04b"], survival_curve(nist_hours("nist_km_8215"))
    found = curve.survival_at(expected["times"])
    assert found.lower == pytest.approx(expected["lo"], rel=1e-6)
    assert found.upper == pytest.approx(expected["hi"], rel=1e-6)


@pytest.mark.parametrize("group", ["RT", "RT_CT"])
def test_the_curve_from_intervals_is_that_of_r_survfit_at_four_times(group: str) -> None:
    # Finkelstein and Wolfe (1985), Biometrics 41, 933-945. R stops short of the top: its values add up to the published
    # masses to three digits only, which the masses themselves (R's npsurv, in test_turnbull.py) do to six.
    expected = EXPECTED["P06a"][group]["survfit_turnbull"]
    found = interval_curve(cosmesis(group)).survival_at(expected["times"])
    assert found.value == pytest.approx(expected["S"], abs=4e-4)
    assert found.lower.tolist() == found.upper.tolist() == found.value.tolist()


def test_cosmesis_has_the_accelerated_life_of_r_survreg() -> None:
    expected = EXPECTED["P06a"]["aft"]
    lower, upper = numbers("breast_cosmesis", "lower_months", "upper_months").T
    lives = lives_from_intervals(lower, np.where(np.isnan(upper), np.inf, upper))
    found = accelerated_effects(lives, {"both": column("breast_cosmesis", "treat") == "RT_CT"})
    assert np.log(found.scale.value) == pytest.approx(expected["intercept"], rel=1e-6)
    assert coefs(found)["both"] == pytest.approx(expected["beta_RT_CT"], rel=1e-5)
    assert errors(found)["both"] == pytest.approx(expected["se_beta"], rel=1e-4)
    assert found.sigma.value == pytest.approx(expected["scale"], rel=1e-6)
    assert found.log_likelihood == pytest.approx(expected["loglik"], rel=1e-8)


def test_the_first_plant_of_the_heat_exchangers_has_the_published_shares() -> None:
    # Meeker and Escobar (1998), chapter 1: one tube cracked in the first year, two more in each of the next.
    lower, upper = [0, 1, 1, 2, 2] + [3] * 95, [1, 2, 2, 3, 3] + [np.inf] * 95
    found = interval_curve(lives_from_intervals(lower, upper)).survival_at([1, 2, 3])
    assert 1 - found.value == pytest.approx([0.01, 0.03, 0.05], abs=1e-9)


def test_the_exponential_of_the_heat_exchangers_has_the_published_likelihood() -> None:
    expected = EXPECTED["P06b"]["exponential_loglik"]
    assert fit(heat_exchanger(), "exponential").log_likelihood == pytest.approx(expected, rel=1e-6)


def test_a_curve_that_censors_other_causes_overstates_a_cause_as_published() -> None:
    # Kyle et al. (2002): one less Kaplan-Meier is not the share taken; the program answers the Aalen-Johansen share.
    expected, cause = EXPECTED["P07"], column("mgus2_competing", "cause")
    months = numbers("mgus2_competing", "months")
    censored = survival_curve(lives_from_times(months, cause == "progression")).survival_at(expected["times"])
    assert 1 - censored.survival == pytest.approx(expected["naive_1mKM_wrong"], rel=1e-6)
    both = causes_of_failure(lives_from_times(months, cause != "censored"), cause, at=expected["times"])
    taken = next(curve.incidence for curve in both.curves if curve.cause == "progression")
    assert np.all(taken < 1 - censored.survival)


@pytest.mark.parametrize("case", ["P08a", "P08b"])
def test_likelihood_ratios_of_the_cox_models_are_those_of_r(case: str) -> None:
    # Rossi, Berk and Lenihan (1980); Loprinzi et al. (1994) as data set lung of R's survival.
    if case == "P08a":
        expected = EXPECTED[case]
        lives = lives_from_times(numbers("rossi", "week"), numbers("rossi", "arrest") == 1)
        given = columns("rossi", *expected["coef"])
    else:
        expected, (lives, given) = EXPECTED[case]["lung_efron"], lung()
    found = cox_effects(lives, given)
    assert 2 * (found.log_likelihood - found.null_log_likelihood) == pytest.approx(expected["lr"], rel=1e-6)


def test_the_accelerated_life_on_lung_has_the_scale_of_r() -> None:
    lives, given = lung()
    found = accelerated_effects(lives, given)
    assert found.sigma.value == pytest.approx(EXPECTED["P08b"]["lung_weibull_aft"]["scale"], rel=1e-6)


def test_the_empty_model_of_the_stanford_hearts_has_the_published_likelihood() -> None:
    rows, given, _ = heart()
    found = cox_effects(rows, given)
    assert found.null_log_likelihood == pytest.approx(EXPECTED["P08d"]["heart"]["loglik0"], rel=1e-9)


@pytest.mark.parametrize(("aircraft", "key"), [("7", "weib7"), ("9", "weib9")])
def test_gaps_between_failures_of_air_conditioning_have_the_published_law(aircraft: str, key: str) -> None:
    # Proschan (1963), Technometrics 5, 375-383; Cox and Snell (1981). The gaps are sorted: they carry no trend.
    published, expected = EXPECTED["P09b"], EXPECTED["P09b"][key]
    hours = numbers("aircondit_sorted", "hours")[column("aircondit_sorted", "aircraft") == aircraft]
    assert (hours.size, hours.mean()) == (published[f"n{aircraft}"], pytest.approx(published[f"mean{aircraft}"]))
    found = fit(lives_from_times(hours))
    for name in ("shape", "scale"):
        each = found.parameters[name]
        limits = expected[name], expected[f"{name}_lo"], expected[f"{name}_hi"]
        assert (each.value, each.lower, each.upper) == pytest.approx(limits, rel=1e-5)
    assert found.log_likelihood == pytest.approx(expected["loglik"], rel=1e-9)
    assert (found.mean.value, found.aic) == pytest.approx((expected["mean"], expected["AIC"]), rel=1e-6)
    assert (found.b10.value, found.b10.lower, found.b10.upper) == pytest.approx(
        (expected["B10"], expected["B10_lo"], expected["B10_hi"]), rel=1e-5
    )
    assert found.median.value == pytest.approx(expected["B50"], rel=1e-6)


def test_the_medians_of_remissions_have_the_published_limits() -> None:
    medians = [survival_curve(freireich(group)).median for group in ("6MP", "placebo")]
    assert [(each.value, each.lower, each.upper) for each in medians] == [(23, 13, None), (8, 4, 11)]


def test_concordance_of_lung_predictions_counts_the_published_pairs() -> None:
    # Harrell's C of stored predictions, R's concordance: pairs won, lost and tied in risk.
    published = EXPECTED["P16"]
    time, died, risk = numbers("lung_cox_predictions", "time", "status", "lp").T
    pairs = published["concordant"] + published["discordant"] + published["tied_risk"]
    found = concordance(observed(lives_from_times(time, died == 1)), risk)
    assert found == pytest.approx(published["harrell"], rel=1e-8)
    assert found == pytest.approx((published["concordant"] + published["tied_risk"] / 2) / pairs, rel=1e-12)


def test_calibration_of_lung_predictions_by_thirds_of_risk_is_the_published_one() -> None:
    # Observed shares by Kaplan-Meier, as R's survfit gives them.
    time, died, risk, alive = numbers("lung_cox_predictions", "time", "status", "lp", "S365").T
    third = np.digitize(risk, np.quantile(risk, [1 / 3, 2 / 3]), right=True)
    for place, row in enumerate(EXPECTED["P16"]["calibration_365"]):
        mine = third == place
        curve = survival_curve(lives_from_times(time[mine], died[mine] == 1))
        assert (mine.sum(), alive[mine].mean()) == (row["n"], pytest.approx(row["pred"], rel=1e-6))
        assert curve.survival_at([365.0]).survival[0] == pytest.approx(row["obs"], rel=1e-6)
