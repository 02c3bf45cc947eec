"""`maintain life` from the command line: published figures, odd data, and a club of its own."""

from __future__ import annotations

import csv
from pathlib import Path

import pytest

from maintain.records import tables as t
from tests.published.reading import EXPECTED, HERE
from tests.services.lives.fleet_of_parts import Fleet, day

TODAY = "2025-09-01"


def write(path: Path, text: str) -> Path:
    path.write_text(text.replace(" ", ""), encoding="utf-8")
    return path


def figures(document, name="all"):
    return next(group for group in document["groups"] if group["group"] == name)


@pytest.mark.parametrize(("file", "case"), [("ball_bearings_4840", "P02_4840"), ("ball_bearings_4848", "P02_4848")])
def test_ball_bearings_have_the_published_weibull_law(run, file, case):
    # Lieblein and Zelen (1956); Lawless (2003); recomputed with R survreg.
    expected = EXPECTED[case]["weibull"]
    found = run("life", "fit", "--csv", HERE / f"{file}.csv", "--time", "megacycles", "--json").json
    group = figures(found)
    assert found["clock"] == "megacycles"
    assert (group["n"], group["events"], group["model"]) == (23, 23, "weibull")
    for name in ("shape", "scale"):
        limits = group["parameters"][name]
        assert limits["value"] == pytest.approx(expected[name], rel=1e-4)
        assert limits["lower"] == pytest.approx(expected[f"{name}_lo"], rel=1e-3)
        assert limits["upper"] == pytest.approx(expected[f"{name}_hi"], rel=1e-3)
    assert group["log_likelihood"] == pytest.approx(expected["loglik"], rel=1e-6)
    assert group["mean"]["value"] == pytest.approx(expected["mean"], rel=1e-4)
    for name, key in (("b10", "B10"), ("median", "B50")):
        assert group[name]["value"] == pytest.approx(expected[key], rel=1e-4)
        assert group[name]["lower"] == pytest.approx(expected[f"{key}_lo"], rel=1e-3)
        assert group[name]["upper"] == pytest.approx(expected[f"{key}_hi"], rel=1e-3)


def test_the_best_law_of_the_ball_bearings_is_the_lognormal(run):
    expected = EXPECTED["P02_4840"]["lognormal"]
    answer = run(
        "life", "fit", "--csv", HERE / "ball_bearings_4840.csv", "--time", "megacycles", "--model", "best", "--json"
    )
    group = figures(answer.json)
    assert group["model"] == "lognormal"
    assert group["parameters"]["mu"]["value"] == pytest.approx(expected["mu"], rel=1e-4)
    assert group["parameters"]["sigma"]["value"] == pytest.approx(expected["sigma"], rel=1e-4)
    assert [each["model"] for each in group["candidates"]] == ["lognormal", "loglogistic", "weibull", "exponential"]


def test_diesel_fans_have_the_published_mean_life(run):
    # Nelson (1982); total time on test over failures.
    expected = EXPECTED["P03a"]["exponential"]
    asked = ("--csv", HERE / "diesel_fans.csv", "--time", "hours", "--event", "event", "--model", "exponential")
    mean = figures(run("life", "fit", *asked, "--json").json)["mean"]
    assert mean["value"] == pytest.approx(expected["theta"], rel=1e-6)
    assert mean["lower"] == pytest.approx(expected["theta_lo_wald_log"], rel=1e-5)


def test_freireich_has_the_published_curve(run):
    # Freireich et al. (1963), Blood 21; R survfit with log-log limits.
    asked = ("--csv", HERE / "freireich.csv", "--time", "weeks", "--event", "event", "--by", "group")
    found = run("life", "curve", *asked, "--at", "6,7,10,13,16,22,23", "--json").json
    expected, group = EXPECTED["P01"]["6MP"], figures(found, "6MP")
    assert (group["n"], group["events"]) == (21, 9)
    for key, name in (("survival", "S"), ("lower", "lo_loglog"), ("upper", "hi_loglog")):
        assert [each[key] for each in group["at"]] == pytest.approx(expected[name], rel=1e-6)
    assert [each["at_risk"] for each in group["at"]] == [21, 17, 15, 12, 11, 7, 6]
    assert group["median"] == {"value": 23, "lower": 13, "upper": None}
    assert figures(found, "placebo")["median"] == {"value": 8, "lower": 4, "upper": 11}


def test_the_restricted_mean_goes_as_far_as_is_asked_and_else_as_far_as_every_group_was_watched(run):
    lives = ("--csv", HERE / "freireich.csv", "--time", "weeks", "--event", "event", "--by", "group", "--json")
    found = run("life", "curve", *lives, "--tau", "20").json
    for name in ("6MP", "placebo"):
        mean, expected = figures(found, name)["restricted_mean"], EXPECTED["P14a"][name]
        assert (mean["tau"], mean["value"]) == (20, pytest.approx(expected["rmst20"], rel=1e-6))
        assert mean["upper"] - mean["value"] == pytest.approx(1.959964 * expected["se"], rel=1e-5)
    plain, read = (run("life", "curve", *lives, *at).json for at in ((), ("--at", "5,10")))
    means = [figures(each, name)["restricted_mean"] for each in (plain, read) for name in ("6MP", "placebo")]
    assert means[:2] == means[2:]
    assert {mean["tau"] for mean in means} == {23}
    beyond = run("life", "curve", *lives[:-1], "--tau", "24")
    assert (beyond.exit_code, beyond.stdout) == (5, "")
    assert "nobody of placebo was seen for 24: the longest is 23" in beyond.stderr


def test_intervals_give_the_published_turnbull_curve(run):
    # Finkelstein and Wolfe (1985); R npsurv.
    asked = ("--csv", HERE / "breast_cosmesis.csv", "--lower", "lower_months", "--upper", "upper_months")
    found = run("life", "curve", *asked, "--by", "treat", "--at", "20,44", "--json").json
    masses = EXPECTED["P06a"]["RT"]["npmle"]
    failed = sum(p for right, p in zip(masses["right"], masses["p"], strict=True) if right is not None and right <= 20)
    group = figures(found, "RT")
    assert group["at"][0]["survival"] == pytest.approx(1 - failed, abs=1e-6)
    assert group["at"][0]["lower"] < group["at"][0]["survival"] < group["at"][0]["upper"]
    assert group["median"]["value"] == 40
    assert found == run("life", "curve", *asked, "--by", "treat", "--at", "20,44", "--json").json


def test_a_curve_from_intervals_is_not_sure_of_all_or_nothing(run, tmp_path):
    path = write(tmp_path / "lives.csv", "low,high\n" + "10,12\n" * 5 + "20,22\n" * 5)
    asked = ("--csv", path, "--lower", "low", "--upper", "high", "--at", "5,15,25", "--json")
    early, _, late = figures(run("life", "curve", *asked).json)["at"]
    # Clopper and Pearson (1934), none of ten failed: the lower limit is 0.025^(1/10).
    assert (early["survival"], early["lower"], early["upper"]) == (1, pytest.approx(0.025**0.1), 1)
    assert (late["survival"], late["lower"], late["upper"]) == (0, None, None)


def test_clusters_widen_the_limits_where_there_are_five_and_else_it_is_said(run, tmp_path):
    rows = "".join(f"{5 + 10 * (ship % 2) + side / 10},s{ship}\n" for ship in range(6) for side in range(4))
    path = write(tmp_path / "lives.csv", "use,ship\n" + rows)
    asked = ("life", "curve", "--csv", path, "--time", "use", "--at", "8", "--json")
    alone, shared = (run(*asked, *more).json for more in ((), ("--cluster", "ship")))
    (one,), (other,) = figures(alone)["at"], figures(shared)["at"]
    assert one["survival"] == other["survival"] == 0.5
    assert other["upper"] - other["lower"] > 1.5 * (one["upper"] - one["lower"])
    assert "limits allow for the luck that lives of one ship share" in shared["notes"]
    path = write(tmp_path / "few.csv", "use,ship\n5,a\n8,a\n9,b\n")
    notes = run("life", "curve", "--csv", path, "--time", "use", "--cluster", "ship", "--json").json["notes"]
    assert "limits take every life on its own (fewer than 5 to tell ship from ship)" in notes[-1]


def test_one_life_in_two_spells_is_one_and_lives_written_twice_are_refused_by_row(run, tmp_path):
    rows = "0,5,0,a\n5,9,1,a\n0,7,1,b\n2,8,0,c\n"
    heading, columns = "from,use,dead,who\n", ("--time", "use", "--entry", "from", "--event", "dead")
    path = write(tmp_path / "lives.csv", heading + rows)
    told = run("life", "curve", "--csv", path, *columns, "--id", "who", "--json").json
    group = figures(told)
    assert (group["n"], group["events"], told["notes"]) == (3, 2, [])
    whole = write(tmp_path / "whole.csv", heading + "0,9,1,a\n0,7,1,b\n2,8,0,c\n")
    assert run("life", "curve", "--csv", whole, *columns, "--id", "who", "--json").json == told
    fits = [
        figures(run("life", "fit", "--csv", each, *columns, "--id", "who", "--json").json) for each in (path, whole)
    ]
    assert fits[0] == fits[1]
    for more, row in (("4,9,1,a\n", 6), ("0,7,1,b\n", 6), ("7,8,0,b\n", 6)):
        path = write(tmp_path / "lives.csv", heading + rows + more)
        for command in ("curve", "fit", "compare", "causes", "effects"):
            asked = {"compare": ("--by", "who"), "causes": ("--cause", "dead"), "effects": ("--covariates", "who")}
            answer = run("life", command, "--csv", path, *columns, "--id", "who", *asked.get(command, ()), "--json")
            assert answer.exit_code == 4
            assert row in [each["row"] for each in answer.json["error"]["rows"]]


def test_rows_alike_in_every_column_get_a_caution_where_nobody_says_whose_they_are(run, tmp_path):
    path = write(tmp_path / "lives.csv", "use,who\n5,a\n7,b\n5,a\n")
    notes = run("life", "curve", "--csv", path, "--time", "use", "--json").json["notes"]
    assert notes == [
        "row 4 is like an earlier row in every column: if that is a life written twice, name whose it is with --id"
    ]


@pytest.mark.parametrize("option", ["--by", "--cluster", "--id"])
@pytest.mark.parametrize("blank", ["", "NA", "nan"])
def test_lives_whose_label_is_missing_are_left_out_counted_and_named(run, tmp_path, option, blank):
    path = write(tmp_path / "lives.csv", f"use,kind\n5,a\n7,{blank}\n9,b\n11,c\n")
    found = run("life", "curve", "--csv", path, "--time", "use", option, "kind", "--json").json
    assert sum(group["n"] for group in found["groups"]) == 3
    assert found["excluded"] == [{"reason": "kind is missing", "n": 1, "of": 4, "examples": ["row 3"]}]


def test_delayed_entry_is_refused_where_it_is_no_life_and_answered_for_those_that_worked_at_an_age(run, tmp_path):
    # Hyde (1980), Channing House; R survfit.
    columns = ("--time", "exit_months", "--entry", "entry_months", "--event", "event", "--by", "sex")
    refused = run("life", "curve", "--csv", HERE / "channing.csv", *columns, "--json")
    assert refused.exit_code == 4
    assert len(refused.json["error"]["rows"]) == EXPECTED["P05"]["n_bad"]
    with (HERE / "channing.csv").open(encoding="utf-8", newline="") as file:
        heading, *rows = list(csv.reader(file))
    good = [heading, *(row for row in rows if int(row[2]) < int(row[3]))]
    path = tmp_path / "channing.csv"
    path.write_text("\n".join(",".join(row) for row in good), encoding="utf-8")
    raw = run("life", "curve", "--csv", path, *columns, "--json").json
    assert raw["notes"][0] == (
        "Male: few were watched so young: at 781 the only one watched then failed, though others were seen later; from "
        "there the curve is 0 and says nothing. Ask for the parts that worked at a later age: --given 781"
    )
    male = figures(raw, "Male")
    unknown = {"value": None, "lower": None, "upper": None}
    assert male["median"] == male["b10"] == {k: v for k, v in male["restricted_mean"].items() if k != "tau"} == unknown
    assert all(each["survival"] is each["cumulative_hazard"] is None for each in male["at"])
    assert figures(raw, "Female")["median"]["value"] is not None
    said = run("life", "curve", "--csv", path, *columns, "--picture").stdout.splitlines()
    assert next(line for line in said if line.startswith("Male")).endswith(
        "can't tell yet when half are dead: all seen so young had failed, though others were seen later"
    )
    followed = run("life", "curve", "--csv", path, *columns, "--given", "781", "--json").json
    assert not any("few were watched so young" in note for note in followed["notes"])
    expected = EXPECTED["P05"]["Male"]
    asked = ("--given", "816", "--at", "840,900,960,1020,1080")
    group = figures(run("life", "curve", "--csv", path, *columns, *asked, "--json").json, "Male")
    assert group["n"] == expected["km_given_816"]["n"]
    assert [each["survival"] for each in group["at"]] == pytest.approx(expected["km_given_816"]["S"], rel=1e-6)
    law = figures(run("life", "fit", "--csv", path, *columns, "--json").json, "Male")["parameters"]
    assert law["shape"]["value"] == pytest.approx(expected["weibull_lt"]["shape"], rel=1e-4)
    assert law["scale"]["value"] == pytest.approx(expected["weibull_lt"]["scale"], rel=1e-4)


def test_the_conditional_share_is_that_of_the_law(run):
    asked = ("--csv", HERE / "ball_bearings_4840.csv", "--time", "megacycles", "--given", "50", "--at", "40,100")
    group = figures(run("life", "fit", *asked, "--json").json)
    shape, scale = (group["parameters"][name]["value"] for name in ("shape", "scale"))
    before, after = group["at"]
    assert before["conditional"]["value"] == 1
    assert after["conditional"]["value"] == pytest.approx(
        2.718281828459045 ** ((50 / scale) ** shape - (100 / scale) ** shape), rel=1e-9
    )
    assert after["conditional"]["lower"] < after["conditional"]["value"] < after["conditional"]["upper"]


@pytest.mark.parametrize("words", [("1", "0"), ("TRUE", "False"), ("yes", "no"), ("Failed", "censored")])
def test_an_event_may_be_written_in_many_words(run, tmp_path, words):
    path = write(tmp_path / "lives.csv", f"use,dead\n5,{words[0]}\n8,{words[1]}\n9,{words[0]}\n")
    group = figures(run("life", "curve", "--csv", path, "--time", "use", "--event", "dead", "--json").json)
    assert (group["n"], group["events"]) == (3, 2)


def test_all_rows_that_are_no_lives_are_listed_at_once_with_their_line(run, tmp_path):
    path = write(
        tmp_path / "lives.csv",
        "use,from,dead,kind\n-5,0,1,a\n8,8,1,a\n,0,1,a\nx,0,0,a\n9,0,maybe,a\n9,0,1,\n\n9,y,1,a\n9,0,1,a\n",
    )
    asked = ("--csv", path, "--time", "use", "--entry", "from", "--event", "dead", "--by", "kind")
    answer = run("life", "fit", *asked, "--json")
    assert answer.exit_code == 4
    assert answer.json["error"]["rows"] == [
        {"row": 2, "reason": "time is negative"},
        {"row": 3, "reason": "entry is not before the time of exit"},
        {"row": 4, "reason": "time is missing or not a number"},
        {"row": 5, "reason": "time is missing or not a number"},
        {"row": 6, "reason": "dead is neither failed nor not"},
        {"row": 9, "reason": "entry is missing or not a number"},
    ]
    said = run("life", "fit", *asked)
    assert said.stdout == ""
    assert "6 of 8 lives refused" in said.stderr
    assert "heading is row 1" in said.stderr


def test_an_unreadable_end_of_an_interval_is_refused_and_an_open_one_is_not(run, tmp_path):
    path = write(tmp_path / "lives.csv", "low,high\n1,3\n2,\n4,inf\n5,soon\n,7\n")
    answer = run("life", "curve", "--csv", path, "--lower", "low", "--upper", "high", "--json")
    assert [each["row"] for each in answer.json["error"]["rows"]] == [5, 6]


@pytest.mark.parametrize(
    ("asked", "exit_code", "said"),
    [
        (("--csv", "nowhere.csv", "--time", "use"), 3, "no file at"),
        (("--csv", "{file}", "--time", "uses"), 3, "did you mean use?"),
        (("--csv", "{file}"), 4, "it is not said which columns hold the times"),
        (("--csv", "{file}", "--time", "use", "--conf", "95"), 4, "write 95 % as 0.95"),
        (("--csv", "{file}", "--time", "use", "--at", "-3"), 4, "--at takes times of 0 or more"),
        (("--csv", "{file}", "--time", "use", "--at", "soon"), 2, "write times as numbers"),
        (("--csv", "{file}", "--time", "use", "--family", "servo"), 4, "chooses among the club's records"),
        (("--time", "use"), 4, "name the file with --csv"),
        (("--by", "colour"), 3, "no label called 'colour'"),
        ((), 5, "no lives of any part"),
    ],
)
def test_what_cannot_be_asked_is_refused_in_a_sentence(run, tmp_path, asked, exit_code, said):
    file = write(tmp_path / "lives.csv", "use\n5\n8\n")
    answer = run("life", "curve", *(each.format(file=file) for each in asked))
    assert (answer.exit_code, answer.stdout) == (exit_code, "")
    assert said in answer.stderr


def test_without_a_failure_the_curve_answers_and_the_fit_gives_a_bound(run, tmp_path):
    path = write(tmp_path / "lives.csv", "use,dead\n" + "100,0\n" * 10)
    asked = ("--csv", path, "--time", "use", "--event", "dead")
    curve = run("life", "curve", *asked)
    assert "10 lives, no failure: can't tell yet when half are dead; 100% still work at 100 use" in curve.stdout
    # Chi-square bound with no failure in 1000 (NIST/SEMATECH e-Handbook 8.4.5.1).
    group = figures(run("life", "fit", *asked, "--json").json)
    assert group["none_failed"] == {"use": 1000, "mean_at_least": pytest.approx(333.8082, rel=1e-6)}
    assert group["model"] is group["posterior"] is None
    said = run("life", "fit", *asked)
    assert (said.exit_code, said.stdout.splitlines()[0]) == (
        0,
        "10 lives, no failure: none failed in 1000 use together: at the most one in 334 use (95% sure), if failures "
        "come at a steady rate",
    )


def test_groups_that_say_too_little_have_null_and_the_reason(run, tmp_path):
    path = write(tmp_path / "lives.csv", "use,dead,kind\n5,1,a\n8,1,a\n9,0,a\n5,0,b\n7,0,b\n")
    found = run("life", "fit", "--csv", path, "--time", "use", "--event", "dead", "--by", "kind", "--json").json
    assert figures(found, "a")["model"] == "weibull"
    assert figures(found, "b") | {"reason": ""} == {
        "group": "b", "n": 2, "events": 0, "model": None, "parameters": None, "log_likelihood": None, "aicc": None,
        "mean": None, "median": None, "b10": None, "candidates": [], "at": [], "reason": "",
        "mean_at_least": pytest.approx(12 / 2.995732, rel=1e-5), "verdict": None, "failures_to_tell": None,
        "shape_by_likelihood": None, "bootstrap": None, "posterior": None,
        "none_failed": {"use": 12, "mean_at_least": pytest.approx(12 / 2.995732, rel=1e-5)}, "caution": None,
        "second_opinion": None,
    }  # fmt: skip
    assert "no failure among 2 lives" in figures(found, "b")["reason"]


def test_the_documents_have_the_documented_keys(run, tmp_path):
    path = write(tmp_path / "lives.csv", "use\n5\n8\n9\n")
    curve = run("life", "curve", "--csv", path, "--time", "use", "--json").json
    assert list(curve) == ["groups", "clock", "by", "conf", "excluded", "notes"]
    keys = ["group", "n", "events", "median", "at", "restricted_mean", "b10", "estimator", "caution", "second_opinion"]
    assert list(curve["groups"][0]) == keys
    keys = ["time", "survival", "lower", "upper", "at_risk", "cumulative_hazard"]
    assert list(curve["groups"][0]["at"][0]) == keys
    assert list(curve["groups"][0]["restricted_mean"]) == ["tau", "value", "lower", "upper"]
    fit = run("life", "fit", "--csv", path, "--time", "use", "--json").json
    assert list(fit["groups"][0])[:12] == [
        "group", "n", "events", "model", "parameters", "log_likelihood", "aicc", "mean", "median", "b10", "candidates",
        "at",
    ]  # fmt: skip
    assert list(fit["groups"][0]["parameters"]["shape"]) == ["value", "lower", "upper", "se"]
    assert list(fit["groups"][0]["at"][0]) == ["time", "survival", "lower", "upper", "conditional"]


@pytest.fixture
def fleet(club: Path) -> Fleet:
    """Twelve servos in the bilge of six ships, every second dead at a check; one of unknown past; a salt pond."""
    made = Fleet(str(club))
    family = made.family("standard servo")
    venue = made.add(t.venue, name="Quay", water="salt")
    for number in range(6):
        ship = made.ship(f"Ship {number}")
        for month in (5, 6, 7):
            made.sail(ship, day(f"2025-0{month}-01"), 1, "W1" if number else "W3", venue_id=venue)
        for side in range(2):
            part = made.part(f"S{number}{side}", family)
            made.fit(part, made.position(ship, f"servo-{side}", zone=("bilge", "dry deck")[side]))
            if side == 0:
                made.fail(part, day(f"2025-07-{10 + number}"))
    made.fit(made.part("OLD", family, used=True), made.position(1, "gun-servo"))
    made.commit()
    made.close()
    return made


def test_the_records_answer_first_in_a_sentence_and_name_what_is_left_out(run, fleet):
    answer = run("life", "curve", "--family", "standard", "--on", TODAY)
    first = answer.stdout.splitlines()[0]
    assert first.startswith("12 standard servos, 6 failures: half are dead by ") or "can't tell yet" in first
    assert "1 of 13 standard servos left out: unknown prior use (OLD)" in answer.stdout
    assert "each of the 6 failures is known only to an interval" in answer.stdout


def test_the_records_can_be_split_by_any_label(run, fleet):
    found = run("life", "curve", "--by", "zone", "--on", TODAY, "--json").json
    assert {group["group"]: (group["n"], group["events"]) for group in found["groups"]} == {
        "bilge": (6, 6),
        "dry deck": (6, 0),
    }
    assert found["by"] == "zone"
    assert found["excluded"] == [{"reason": "unknown prior use", "n": 1, "of": 13, "examples": ["OLD"]}]
    water = run("life", "curve", "--by", "WATER", "--on", TODAY, "--json").json
    assert [group["group"] for group in water["groups"]] == ["salt"]


def test_the_records_can_be_filtered_and_counted_on_another_clock(run, fleet):
    asked = ("--zone", "bilge", "--ship", "ship 3", "--clock", "wet sorties", "--on", TODAY, "--json")
    group = figures(run("life", "curve", *asked).json)
    assert (group["n"], group["events"]) == (1, 1)
    asked = ("--method", "none recorded", "--category", "servo", "--on", TODAY, "--json")
    assert figures(run("life", "curve", *asked).json)["n"] == 12


def test_the_fit_of_the_records_warns_that_parts_of_a_ship_share_their_luck(run, fleet):
    answer = run("life", "fit", "--on", TODAY)
    assert answer.exit_code == 0
    assert answer.stdout.startswith("12 parts, 6 failures: weibull, mean life ")
    assert "parts of one ship share her sinkings" in answer.stdout


def test_the_same_records_give_the_same_answer(run, fleet):
    first, second = (run("life", "curve", "--on", TODAY, "--json").stdout for _ in range(2))
    assert first == second


def test_a_curve_of_the_records_allows_for_ships_or_says_how_much_too_narrow_its_limits_are(run, fleet):
    notes = run("life", "curve", "--given", "3", "--on", TODAY, "--json").json["notes"]
    assert "limits allow for the luck that lives of one ship share" in notes
    notes = run("life", "curve", "--cluster", "position", "--given", "3", "--on", TODAY, "--json").json["notes"]
    assert any("limits meant to hold 95 times in 100 held 84 times" in note for note in notes)
