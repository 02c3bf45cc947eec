"""`maintain life effects` from the command line: published figures, and data from which no plain answer follows."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from tests.published.reading import EXPECTED, HERE

ROSSI = ("--csv", HERE / "rossi.csv", "--time", "week", "--event", "arrest")
LUNG = ("--csv", HERE / "lung.csv", "--time", "time", "--event", "status")
OVARIAN = ("--csv", HERE / "ovarian.csv", "--time", "futime", "--event", "fustat", "--covariates", "age,ecog_ps,rx")
HEART = ("--csv", HERE / "stanford_heart.csv", "--entry", "start", "--time", "stop", "--event", "event", "--id", "id")


def write(path: Path, text: str) -> Path:
    path.write_text(text.replace(" ", ""), encoding="utf-8")
    return path


def effects(run, *asked):
    return run("life", "effects", *asked, "--json").json


def values(found, key: str = "coef") -> dict[str, float]:
    return {each["name"]: each[key] for each in found["coefficients"]}


def test_cox_on_recidivism_is_that_of_r(run):
    # Rossi, Berk & Lenihan (1980); R coxph, Efron's ties.
    expected = EXPECTED["P08a"]
    found = effects(run, *ROSSI, "--covariates", ",".join(expected["coef"]))
    assert (found["model"], found["n"], found["events"]) == ("cox", expected["n"], expected["events"])
    assert values(found) == pytest.approx(expected["coef"], rel=1e-6)
    assert values(found, "se") == pytest.approx(expected["se"], rel=1e-6)
    assert found["log_likelihood"] == pytest.approx(expected["loglik"], rel=1e-9)
    assert found["concordance"] == pytest.approx(expected["concordance"], rel=1e-9)
    assert any("age: its hazard ratio falls as parts age" in each for each in found["cautions"])


def test_cox_on_lung_leaves_out_and_names_the_row_that_lacks_a_value(run):
    # Loprinzi et al. (1994); R coxph and cox.zph on the 227 complete rows.
    expected = EXPECTED["P08b"]
    found = effects(run, *LUNG, "--covariates", "age,sex,ph_ecog")
    efron = expected["lung_efron"]
    assert (found["n"], found["events"]) == (227, 164)
    assert values(found) == pytest.approx(efron["coef"], rel=1e-6)
    assert values(found, "se") == pytest.approx(efron["se"], rel=1e-6)
    tests = {each["name"]: each["statistic"] for each in found["proportional_hazards"]}
    tests["GLOBAL"] = tests.pop("all")
    assert tests == pytest.approx(expected["zph"], rel=1e-6)
    assert found["excluded"] == [{"reason": "ph_ecog is missing", "n": 1, "of": 228, "examples": ["row 15"]}]
    assert (
        "1 of 228 lives left out: ph_ecog is missing (row 15)"
        in run("life", "effects", *LUNG, "--covariates", "age,sex,ph_ecog").stdout
    )


@pytest.mark.parametrize("law", ["weibull", "lognormal"])
def test_accelerated_life_on_ovarian_is_that_of_r(run, law):
    # Edmunson et al. (1979); R survreg.
    expected = EXPECTED["P08c"][f"ovarian_{law}"]
    found = effects(run, *OVARIAN, "--model", law)
    assert (found["model"], found["ratio_of"]) == (law, "time")
    coefs = {**values(found), "intercept": found["intercept"]["value"]}
    assert coefs == pytest.approx(expected["coef"], rel=1e-5)
    assert found["sigma"]["value"] == pytest.approx(expected["scale"], rel=1e-5)
    assert found["log_likelihood"] == pytest.approx(expected["loglik"], rel=1e-7)
    if "se" in expected:
        assert found["intercept"]["se"] == pytest.approx(expected["se"]["intercept"], rel=1e-4)


def test_the_heart_transplants_that_come_during_a_life_have_the_published_effect(run):
    # Crowley & Hu (1977); R coxph on start and stop.
    expected = EXPECTED["P08d"]["heart"]
    found = effects(run, *HEART, "--covariates", "age,year,surgery,transplant")
    assert values(found) == pytest.approx(expected["coef"], rel=1e-6)
    assert values(found, "se") == pytest.approx(expected["se"], rel=1e-6)
    assert (found["n"], found["rows"], found["events"]) == (103, 172, 75)


def test_what_changes_during_a_life_has_no_place_in_a_law(run):
    answer = run("life", "effects", *HEART, "--covariates", "transplant", "--model", "weibull")
    assert answer.exit_code == 4
    assert "what changes during a life has no place in a weibull law" in answer.stderr


def test_a_part_in_two_rows_at_once_is_refused_with_its_line(run, tmp_path):
    path = write(tmp_path / "lives.csv", "id,from,to,dead,x\n1,0,5,1,0\n2,0,4,0,1\n2,3,8,1,2\n3,0,9,1,0\n")
    asked = ("--csv", path, "--entry", "from", "--time", "to", "--event", "dead", "--id", "id", "--covariates", "x")
    answer = run("life", "effects", *asked, "--json")
    assert answer.exit_code == 4
    assert [each["row"] for each in answer.json["error"]["rows"]] == [4]
    assert (
        "row 4: the same part is already under observation, or had failed, in row 3" in answer.json["error"]["message"]
    )


def test_strata_are_those_of_statsmodels(run):
    from statsmodels.duration.hazard_regression import PHReg

    from tests.published.reading import numbers

    found = effects(run, *LUNG, "--covariates", "age,ph_ecog", "--strata", "sex")
    table = numbers("lung", "time", "status", "age", "ph_ecog", "sex")
    table = table[~np.isnan(table).any(axis=1)]
    other = PHReg(table[:, 0], table[:, 2:4], status=table[:, 1], strata=table[:, 4], ties="efron").fit()
    assert list(values(found).values()) == pytest.approx(other.params, rel=1e-4)
    assert found["strata"] == ["sex"]


def test_clusters_widen_the_errors(run, tmp_path):
    rows = "".join(f"{10 * (place % 2) + step + place},{place % 2},{boat}\n" for place, boat in enumerate("abcdefgh")
                   for step in range(1, 9))  # fmt: skip
    path = write(tmp_path / "lives.csv", f"use,wet,boat\n{rows}")
    asked = ("--csv", path, "--time", "use", "--covariates", "wet")
    found = effects(run, *asked, "--cluster", "boat")
    assert (found["clusters"], found["clustered_by"]) == (8, "boat")
    assert any("only 8 clusters: limits and p come from leaving out each" in each for each in found["cautions"])
    assert values(found, "se")["wet"] > values(effects(run, *asked), "se")["wet"]
    assert "64 lives, 64 failures, 8 boats: " in run("life", "effects", *asked, "--cluster", "boat").stdout


def test_the_answer_speaks_only_of_what_a_corrected_test_of_the_whole_covariate_tells(run):
    # Loprinzi et al. (1994): sex and the ECOG score matter, age does not; Holm (1979) by hand.
    found = effects(run, *LUNG, "--covariates", "age,sex,ph_ecog")
    tests = {each["name"]: each for each in found["factors"]}
    p = {name: each["p"] for name, each in tests.items()}
    assert tests["ph_ecog"]["p_holm"] == pytest.approx(3 * p["ph_ecog"])
    assert tests["sex"]["p_holm"] == pytest.approx(2 * p["sex"])
    assert tests["age"]["p_holm"] == pytest.approx(p["age"])
    lines = run("life", "effects", *LUNG, "--covariates", "age,sex,ph_ecog").stdout.splitlines()
    assert lines[0].startswith("227 lives, 164 failures: ph_ecog: for each one more it fails 1.59 times as often (95% ")
    assert lines[1:3] == [
        "sex: for each one more it fails 0.575 times as often (95% limits 0.414–0.799)",
        "can't tell yet about age",
    ]


def test_one_lucky_value_of_many_is_not_praised(run, tmp_path):
    rng = np.random.default_rng(3)  # twenty equal groups: some value differs from the reference by chance
    rows = "".join(f"{life:.4f},g{place % 20:02}\n" for place, life in enumerate(rng.exponential(10, 400)))
    asked = ("--csv", write(tmp_path / "lives.csv", f"use,batch\n{rows}"), "--time", "use", "--covariates", "batch")
    found = effects(run, *asked)
    assert min(values(found, "p").values()) < 0.05 < found["factors"][0]["p_holm"]
    assert found["factors"][0]["df"] == 19
    assert run("life", "effects", *asked).stdout.startswith("400 lives, 400 failures: can't tell yet about batch\n")


def test_the_level_of_limits_is_named_and_kept(run):
    first = run("life", "effects", *LUNG, "--covariates", "sex", "--conf", "0.8").stdout.splitlines()[0]
    assert "(80% limits " in first


def test_a_number_that_goes_into_hundreds_is_told_by_the_hundred(run, tmp_path):
    rng = np.random.default_rng(3)
    minutes = rng.uniform(0, 900, 80)
    rows = "".join(f"{life:.4f},{use:.1f}\n" for life, use in zip(rng.exponential(np.exp(-minutes / 200)), minutes,
                                                                  strict=True))  # fmt: skip
    asked = ("--csv", write(tmp_path / "lives.csv", f"use,minutes\n{rows}"), "--time", "use", "--covariates", "minutes")
    effect = effects(run, *asked)["coefficients"][0]
    answer = run("life", "effects", *asked).stdout
    assert effect["step"] == 100
    assert f"minutes: for every 100 more it fails {effect['ratio'] ** 100:.3g} times as often" in answer
    assert "minutes, 100 more" in answer


def test_what_is_asked_about_is_not_luck_as_well(run):
    alone, shared = (effects(run, *LUNG, "--covariates", "sex", *more) for more in ((), ("--cluster", "sex")))
    assert values(shared, "se") == values(alone, "se")
    assert shared["clusters"] is None


def test_few_clusters_never_make_surer_than_none(run):
    alone, shared = (effects(run, *LUNG, "--covariates", "age", *more) for more in ((), ("--cluster", "sex")))
    assert shared["coefficients"][0]["p"] >= alone["coefficients"][0]["p"]
    assert shared["coefficients"][0]["upper"] >= alone["coefficients"][0]["upper"]


def test_a_side_without_failures_has_a_penalised_answer_in_words(run, tmp_path):
    rows = "".join(f"{step},{int(step < 9)},{'wet' if step < 9 else 'dry'}\n" for step in range(1, 21))
    path = write(tmp_path / "lives.csv", f"use,dead,place\n{rows}")
    found = effects(run, "--csv", path, "--time", "use", "--event", "dead", "--covariates", "place")
    effect = found["coefficients"][0]
    assert found["penalised"]
    assert (effect["interval"], effect["name"]) == ("profile", "place: wet")
    assert effect["lower"] > 1
    assert any("nothing has failed in place: dry: no finite ratio fits that" in each for each in found["cautions"])


def test_a_covariate_that_says_nothing_new_is_left_out_in_words(run, tmp_path):
    rows = "".join(f"{step},{step % 3},{2 * (step % 3)},7\n" for step in range(1, 31))
    path = write(tmp_path / "lives.csv", f"use,a,b,same\n{rows}")
    found = effects(run, "--csv", path, "--time", "use", "--covariates", "a,b,same")
    assert found["left_out"] == ["b", "same"]
    assert "b left out: it is settled by a" in found["cautions"]


@pytest.mark.parametrize(
    ("rows", "asked", "code", "words"),
    [
        ("5,1,2\n6,1,3\n", (), 4, "it is not said whose effect is asked"),
        ("5,0,2\n6,0,3\n", ("x",), 5, "no failure among 2 lives"),
        ("5,1,2\n6,1,2\n", ("x",), 5, "it never varies where it could count"),
        ("5,1,2\n", ("x",), 5, "it never varies where it could count"),
        ("5,1,\n6,1,NA\n", ("x",), 5, "no row of lives.csv has all of: x"),
        ("5,1,2\n6,1,3\n", ("y",), 3, "has no column 'y'"),
        ("".join(f"{n},1,{n}\n" for n in range(1, 15)) + "15,1,old\n", ("x",), 4, "x is a number elsewhere"),
        ("5,1,2\n6,1,1e308\n7,1,inf\n", ("x",), 4, "row 3: x is too large a number: 1e308\n  row 4: x is too large"),
    ],
)
def test_what_has_no_effects_is_refused_in_a_sentence(run, tmp_path, rows, asked, code, words):
    path = write(tmp_path / "lives.csv", f"use,dead,x\n{rows}")
    covariates = ("--covariates", *asked) if asked else ()
    answer = run("life", "effects", "--csv", path, "--time", "use", "--event", "dead", *covariates)
    assert answer.exit_code == code
    assert words in answer.stderr


@pytest.mark.parametrize("unit", ["1e-9", "1e12"])
def test_the_unit_of_time_changes_nothing(run, tmp_path, unit):
    found = []
    for one in ("1", unit):
        rows = "".join(f"{float(one) * step},{step % 5},{step % 4}\n" for step in range(1, 31))
        path = write(tmp_path / f"{one}.csv", f"use,x,y\n{rows}")
        found.append(values(effects(run, "--csv", path, "--time", "use", "--covariates", "x,y")))
    assert found[0] == pytest.approx(found[1], rel=1e-9)


def test_strata_want_labels(run):
    answer = run("life", "effects", *LUNG, "--covariates", "sex", "--strata", "age")
    assert answer.exit_code == 4
    assert "hardly two lives are alike in it" in answer.stderr
    answer = run("life", "effects", *LUNG, "--covariates", "age", "--strata", "sex", "--model", "weibull")
    assert answer.exit_code == 4
    assert "strata have no place in a weibull law" in answer.stderr


def test_the_answer_comes_first_with_n_and_failures(run):
    first = run("life", "effects", *ROSSI, "--covariates", "fin,prio").stdout.splitlines()[0]
    assert first == (
        "432 lives, 114 failures: prio: for each one more it fails 1.11 times as often (95% limits 1.05–1.17)"
    )


def test_the_document_has_the_documented_keys(run):
    found = effects(run, *ROSSI, "--covariates", "fin")
    assert list(found)[:9] == [
        "model", "ratio_of", "n", "events", "rows", "coefficients", "factors", "concordance", "proportional_hazards",
    ]  # fmt: skip
    assert list(found["coefficients"][0]) == ["name", "coef", "ratio", "lower", "upper", "se", "p", "interval", "step"]
    assert list(found["factors"][0]) == ["name", "statistic", "df", "p", "p_holm", "test"]
    assert list(found["proportional_hazards"][0]) == ["name", "statistic", "df", "p", "grows"]


def test_a_law_of_four_lives_two_of_which_failed_is_refused_rather_than_told_with_narrow_limits(run, tmp_path):
    path = tmp_path / "few.csv"
    path.write_text("use,dead,zone\n100,1,a\n120,0,a\n135,1,b\n150,0,b\n", encoding="utf-8")
    asked = ("--csv", path, "--time", "use", "--event", "dead", "--covariates", "zone", "--model", "weibull")
    refused = run("life", "effects", *asked)
    assert refused.exit_code != 0
    assert "2 failures can't settle the 3 numbers of a weibull law with these covariates" in refused.stderr
