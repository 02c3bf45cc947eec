"""`maintain life fit`: which limits, what few failures say, and limits from lives drawn again."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.stats import chi2

from maintain.records import tables as t
from tests.cli.test_life import figures, write
from tests.published.reading import EXPECTED, HERE
from tests.services.lives.fleet_of_parts import Fleet, day

BEARINGS = ("life", "fit", "--csv", HERE / "ball_bearings_4840.csv", "--time", "megacycles")
TODAY = "2025-09-01"


def test_the_limits_say_how_they_were_made_and_the_shape_has_likelihood_limits_beside(run):
    found = run(*BEARINGS, "--json").json
    assert found["limits"].startswith("Wald limits made on the log scale")
    group = figures(found)
    limits = group["shape_by_likelihood"]
    # The definition: there twice the profile log-likelihood has fallen by chi-square(0.95; 1); profile by scipy.
    from scipy.optimize import minimize_scalar
    from scipy.stats import weibull_min

    times = np.loadtxt(HERE / "ball_bearings_4840.csv", delimiter=",", skiprows=1, ndmin=2)[:, -1]
    for shape in (limits["lower"], limits["upper"]):
        best = minimize_scalar(lambda s, k=shape: -weibull_min.logpdf(times, k, scale=s).sum(), bounds=(40, 160))
        assert 2 * (group["log_likelihood"] + best.fun) == pytest.approx(chi2.ppf(0.95, 1), rel=1e-4)
    assert "Wald limits made on the log scale" in run(*BEARINGS).stdout


def test_the_exponential_has_no_shape_to_give_limits_for(run):
    found = run(*BEARINGS, "--model", "exponential", "--json").json
    assert figures(found)["shape_by_likelihood"] is None
    assert found["limits"] == "Wald limits made on the log scale (shares on the log(-log) scale)"
    lognormal = run(*BEARINGS, "--model", "lognormal", "--given", "40", "--json").json["limits"]
    assert "that worked at an age on the logit scale, mu plainly" in lognormal
    assert lognormal.endswith("likelihood-ratio limits of sigma")


def test_the_headline_names_the_level_of_its_limits_and_that_few_failures_make_them_too_narrow(run, tmp_path):
    assert " megacycles (90%: " in run(*BEARINGS, "--conf", "0.9").stdout.splitlines()[0]
    path = write(tmp_path / "lives.csv", "use\n30\n44\n51\n")
    first = run("life", "fit", "--csv", path, "--time", "use").stdout.splitlines()[0]
    assert "these limits are too narrow with fewer than 10 failures" in first
    assert "(90%: " in run("life", "curve", *BEARINGS[2:], "--conf", "0.9").stdout.splitlines()[0]


def test_a_mean_that_may_not_be_there_has_no_limits(run, tmp_path):
    path = write(tmp_path / "lives.csv", "use\n5\n12\n30\n200\n44\n51\n")
    asked = ("life", "fit", "--csv", path, "--time", "use", "--model", "loglogistic")
    group = figures(run(*asked, "--json").json)
    # A log-logistic of shape 1 or less has no mean (Johnson, Kotz and Balakrishnan 1995, chapter 23).
    assert group["parameters"]["shape"]["lower"] < 1 < group["parameters"]["shape"]["value"]
    assert (group["mean"]["lower"], group["mean"]["upper"]) == (None, None)
    assert "the mean has no limits: its shape may be 1 or less" in run(*asked).stdout.splitlines()[0]


def test_the_law_with_the_least_aicc_comes_first_among_those_tried(run):
    tried = figures(run(*BEARINGS, "--model", "best", "--json").json)["candidates"]
    assert [each["aicc"] for each in tried] == sorted(each["aicc"] for each in tried)
    log_likelihood = EXPECTED["P02_4840"]["lognormal"]["loglik"]
    assert tried[0]["aicc"] == pytest.approx(4 - 2 * log_likelihood + 12 / 20, abs=1e-4)  # Hurvich and Tsai (1989)


def test_drawing_the_lives_again_gives_limits_close_to_those_of_theory_and_the_same_each_time(run):
    first, second = (run(*BEARINGS, "--bootstrap", "500", "--json").stdout for _ in range(2))
    assert first == second
    group = figures(run(*BEARINGS, "--bootstrap", "500", "--json").json)
    drawn = group["bootstrap"]
    assert (drawn["draws"], drawn["settled"], drawn["clusters"]) == (500, 500, None)
    for name in ("median", "b10", "mean"):
        assert drawn[name]["value"] == group[name]["value"]
        assert drawn[name]["lower"] == pytest.approx(group[name]["lower"], rel=0.2)
        assert drawn[name]["upper"] == pytest.approx(group[name]["upper"], rel=0.2)
    assert "by drawing lives 500 times" in run(*BEARINGS, "--bootstrap", "500").stdout


@pytest.mark.parametrize("draws", ["-1", "1000000"])
def test_draws_without_end_are_refused(run, draws):
    answer = run(*BEARINGS, "--bootstrap", draws)
    assert answer.exit_code == 4
    assert "--bootstrap takes up to 100,000 draws" in answer.stderr


def test_few_failures_are_weighed_against_a_prior_that_is_shown(run, tmp_path):
    path = write(tmp_path / "lives.csv", "use,dead\n30,1\n44,1\n51,1\n60,0\n60,0\n60,0\n60,0\n")
    asked = ("life", "fit", "--csv", path, "--time", "use", "--event", "dead")
    found = figures(run(*asked, "--json").json)["posterior"]
    assert found["prior"].startswith("shape about 1.3, with 95 % between 0.49 and 3.5")
    assert (found["kind"], found["borrowed_lives"], found["borrowed_failures"]) == (None, 0, 0)
    narrow, wide = found["shape_80"], found["shape"]
    assert wide["lower"] < narrow["lower"] < wide["value"] < narrow["upper"] < wide["upper"]
    assert 0 < found["b10"]["value"] < found["median"]["value"]
    said = run(*asked).stdout
    assert "believed before: shape about 1.3" in said
    assert "of how long they last next to nothing was believed" in said
    assert "chance of a shape above 1: " in said
    assert figures(run(*asked, "--no-posterior", "--json").json)["posterior"] is None


def test_the_posterior_is_the_integral_of_likelihood_and_prior(run, tmp_path):
    # By brute force: a fine grid over log shape and log scale, the prior as docs/posterior.md states it (one group, so
    # its scale spreads by 2 and by the half-normal between families).
    use, dead = np.array([30, 44, 51, 60, 60, 60, 60.0]), np.array([1, 1, 1, 0, 0, 0, 0])
    path = write(tmp_path / "lives.csv", "use,dead\n" + "".join(f"{u},{d}\n" for u, d in zip(use, dead, strict=True)))
    found = figures(run("life", "fit", "--csv", path, "--time", "use", "--event", "dead", "--json").json)["posterior"]
    log_shape, log_scale = np.meshgrid(
        np.linspace(np.log(0.2), np.log(10), 400), np.linspace(0, 12, 1200), indexing="ij"
    )
    shape = np.exp(log_shape)
    middle = np.log(((use**1.3).sum() / 3.5) ** (1 / 1.3))
    log_prior = -0.5 * ((log_shape - np.log(1.3)) / 0.5) ** 2
    spread = [0, 0.15, 0.3, 0.6, 0.9, 1.2, 1.8]
    edges = np.array([0, 0.075, 0.225, 0.45, 0.75, 1.05, 1.5, 2.1])
    weight = np.exp(-0.5 * (np.array(spread) / 0.6) ** 2) * np.diff(edges)
    sds = [np.sqrt(4 + sd**2) for sd in spread]
    scales = sum(w / s * np.exp(-0.5 * ((log_scale - middle) / s) ** 2) for w, s in zip(weight, sds, strict=True))
    z = np.log(use)[:, None, None] - log_scale
    like = (dead[:, None, None] * (log_shape + shape * z) - np.exp(shape * z)).sum(axis=0)
    mass = np.exp(like - like.max() + log_prior) * scales
    mass /= mass.sum()
    assert found["chance_of_wear"] == pytest.approx(mass[log_shape > 0].sum(), abs=0.01)
    reached = np.cumsum(mass.sum(axis=1))
    middle_shape = np.exp(np.interp(0.5, reached, log_shape[:, 0]))
    assert found["shape"]["value"] == pytest.approx(middle_shape, rel=0.03)
    life = (np.exp(log_scale) * np.log(2) ** (1 / shape)).ravel()
    order = np.argsort(life)
    assert found["median"]["value"] == pytest.approx(
        np.interp(0.5, np.cumsum(mass.ravel()[order]), life[order]), rel=0.03
    )


def test_a_prior_of_ones_own_is_used_and_said(run):
    found = figures(run(*BEARINGS, "--prior", "3,0", "--json").json)["posterior"]
    assert found["prior"].startswith("shape 3, taken as known")
    assert found["shape"] == {"value": pytest.approx(3), "lower": pytest.approx(3), "upper": pytest.approx(3)}
    assert found["chance_of_wear"] == 1
    assert "chance of a shape above 1: >99%; they wear out" in run(*BEARINGS, "--prior", "3,0").stdout


def test_a_posterior_gives_no_verdict_where_the_lives_themselves_settle_none(run, tmp_path):
    for rows in ("30,1\n", "30,0\n44,0\n"):
        path = write(tmp_path / "lives.csv", "use,dead\n" + rows)
        asked = ("life", "fit", "--csv", path, "--time", "use", "--event", "dead", "--posterior", "--prior", "3,0")
        group = figures(run(*asked, "--json").json)
        assert (group["model"], group["posterior"]["verdict"]) == (None, None)
        assert "they wear out" not in run(*asked).stdout


@pytest.mark.parametrize("prior", ["2", "soon,1", "0,1", "50,1", "2,-1", "2,9", "nan,1"])
def test_a_prior_that_is_none_is_refused(run, prior):
    answer = run(*BEARINGS, "--prior", prior)
    assert answer.exit_code == 2
    assert "write a shape from 0.2 to 10" in answer.stderr


@pytest.fixture
def two_families(club) -> Fleet:
    """Metal servos of which two failed, standard ones of which ten failed old, and pumps."""
    made = Fleet(str(club))
    metal, standard = made.family("metal servo"), made.family("standard servo")
    kind = {"category": "pump", "tracking": "tagged", "hidden": False, "ages_on_shelf": False}
    pump = made.add(t.family, name="bilge pump", **kind)
    for number in range(12):
        ship = made.ship(f"Ship {number}")
        for place, (family, name) in enumerate(((metal, "M"), (standard, "S"), (pump, "P"))):
            part = made.part(f"{name}{number}", family)
            made.fit(part, made.position(ship, f"place-{place}"))
            died = number < 2 if family == metal else number < 10
            if died:
                made.fail(part, day(f"2025-{7 + number % 2:02d}-{10 + number}"))
    made.commit()
    made.close()
    return made


def test_families_of_the_records_borrow_from_their_category(run, two_families):
    asked = ("life", "fit", "--family", "metal servo", "--on", TODAY, "--json")
    alone = figures(run(*asked).json)["posterior"]
    assert (alone["kind"], alone["borrowed_lives"], alone["borrowed_failures"]) == ("servo", 12, 10)
    grouped = run("life", "fit", "--category", "servo", "--by", "family", "--on", TODAY, "--json").json
    assert figures(grouped, "metal servo")["posterior"] == alone
    assert "every servo" in run(*asked[:-1]).stdout


def test_a_family_of_which_none_failed_is_bounded_by_how_others_of_its_kind_age(run, two_families, club):
    made = Fleet(str(club))
    plastic = made.family("plastic servo")
    ship = made.ship("Spared", records_from=None)
    for number in range(5):
        made.fit(made.part(f"L{number}", plastic), made.position(ship, f"plastic {number}"), day("2025-06-03"))
    made.commit()
    made.close()
    asked = ("life", "fit", "--family", "plastic servo", "--on", TODAY)
    found = figures(run(*asked, "--json").json)["posterior"]
    shapes = found["shape_80"]["lower"], found["shape_80"]["upper"]
    # Nelson's bound for a known shape: five lives of 90 days, none failed; the worse of both ends of the shape.
    bounds = [(5 * 90**b / -math.log(0.05)) ** (1 / b) * (-math.log(0.9)) ** (1 / b) for b in shapes]
    assert found["b10_at_least"] == pytest.approx(min(bounds), rel=1e-6)
    assert "if they age as other servos do: a tenth dead no sooner than" in run(*asked).stdout
    others = figures(run("life", "fit", "--family", "metal servo", "--on", TODAY, "--json").json)["posterior"]
    assert others["b10_at_least"] is None


def test_whole_ships_are_drawn_of_the_records(run, two_families):
    asked = ("life", "fit", "--on", TODAY, "--model", "exponential", "--bootstrap", "50")
    assert figures(run(*asked, "--json").json)["bootstrap"]["clusters"] == 12
    said = run(*asked).stdout
    assert "by drawing clusters 50 times" in said
    assert "parts of one ship share her sinkings" not in said


def test_lifelines_is_asked_only_if_wished_and_says_to_how_many_digits_it_agrees(run):
    assert figures(run(*BEARINGS, "--json").json)["second_opinion"] is None
    found = figures(run(*BEARINGS, "--second-opinion", "--json").json)["second_opinion"]
    assert (found["library"], found["reason"]) == ("lifelines", None)
    assert found["parameters"]["shape"] == pytest.approx(EXPECTED["P02_4840"]["weibull"]["shape"], rel=1e-4)
    assert found["log_likelihood"] == pytest.approx(EXPECTED["P02_4840"]["weibull"]["loglik"], abs=1e-3)
    assert found["largest_difference"] < 1e-6
    told = [line for line in run(*BEARINGS, "--second-opinion").stdout.splitlines() if "lifelines" in line]
    assert told == [f"lifelines {found['version']}, asked too, finds the same to {found['digits']} digits"]


def test_a_curve_has_a_second_opinion_or_the_reason_why_not(run, tmp_path):
    asked = ("life", "curve", *BEARINGS[2:], "--second-opinion")
    found = figures(run(*asked, "--json").json)["second_opinion"]
    assert (found["parameters"], found["reason"]) == ({"median": pytest.approx(67.8)}, None)
    early = write(tmp_path / "late.csv", "use,come\n5,0\n30,10\n44,10\n51,10\n")
    late = ("life", "curve", "--csv", early, "--time", "use", "--entry", "come", "--second-opinion")
    assert "gives no second opinion: it refuses lives of which all watched so early had failed" in run(*late).stdout
    seen = ("--csv", HERE / "breast_cosmesis.csv", "--lower", "lower_months", "--upper", "upper_months")
    assert "gives no second opinion: its curve from intervals" in run("life", "curve", *seen, "--second-opinion").stdout
