"""`maintain life causes` from the command line: published figures, ties, groups and pictures."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.published.reading import EXPECTED, HERE

MGUS = ("--csv", HERE / "mgus2_competing.csv", "--time", "months", "--cause", "cause")


def write(path: Path, text: str) -> Path:
    path.write_text(text.replace(" ", ""), encoding="utf-8")
    return path


def causes(run, *asked):
    return run("life", "causes", *asked, "--json").json


def of(found, name: str):
    return next(each for each in found["causes"] if each["cause"] == name)


def test_mgus_has_the_published_incidence_and_errors(run):
    # Kyle et al. (2002); R survfit (infinitesimal jackknife).
    expected = EXPECTED["P07"]
    found = causes(run, *MGUS, "--at", ",".join(map(str, expected["times"])))
    for name in ("progression", "death"):
        assert [each["incidence"] for each in of(found, name)["at"]] == pytest.approx(expected[name], rel=1e-6)
        assert [each["se"] for each in of(found, name)["at"]] == pytest.approx(expected[f"{name}_se"], rel=1e-3)
        assert all(each["lower"] < each["incidence"] < each["upper"] for each in of(found, name)["at"])
    assert [each["share"] for each in found["working"]] == pytest.approx(expected["event_free"], rel=1e-6)


def test_shares_are_tested_between_groups_near_grays_published_statistic(run):
    # R cmprsk cuminc; our variance is another, within two per cent here.
    expected = EXPECTED["P07"]["gray_test"]
    found = causes(run, *MGUS, "--by", "sex")
    tests = {each["cause"]: each for each in found["tests"]}
    for name in ("progression", "death"):
        assert tests[name]["statistic"] == pytest.approx(expected[f"{name}_stat"], rel=0.02)
    assert [each["group"] for each in found["groups"]] == ["F", "M"]
    assert sum(each["n"] for each in found["groups"]) == found["n"]


@pytest.mark.parametrize("none", ["0", "", "censored", "None"])
def test_ties_between_causes_and_a_censoring_give_the_sum_done_by_hand(run, tmp_path, none):
    expected = EXPECTED["P07b"]
    path = write(tmp_path / "lives.csv", f"use,why\n1,one\n2,one\n2,two\n2,{none}\n3,one\n4,{none}\n")
    asked = ("--csv", path, "--time", "use", "--cause", "why", "--at", "1,2,3")
    found = causes(run, *asked)
    assert [each["incidence"] for each in of(found, "one")["at"]] == pytest.approx(expected["cif1"], rel=1e-9)
    assert [each["incidence"] for each in of(found, "two")["at"]] == pytest.approx(expected["cif2"], abs=1e-9)
    assert found == causes(run, *asked)


def test_shock_absorbers_have_the_published_incidence(run):
    # O'Connor (1985) through Meeker & Escobar (1998), Appendix C; R survfit.
    expected = EXPECTED["P03b"]["cif"]
    times = ",".join(map(str, expected["times"]))
    found = causes(run, "--csv", HERE / "shock_absorber.csv", "--time", "km", "--cause", "mode", "--at", times)
    assert (found["n"], found["events"]) == (38, 11)
    for name in ("1", "2"):
        assert [each["incidence"] for each in of(found, name)["at"]] == pytest.approx(
            expected[f"mode{name}"], rel=1e-6, abs=1e-9
        )


def test_the_cause_specific_hazard_is_that_of_nelson_and_aalen(run, tmp_path):
    path = write(tmp_path / "lives.csv", "use,why\n1,a\n2,b\n3,a\n4,0\n")
    hazard = of(causes(run, "--csv", path, "--time", "use", "--cause", "why", "--at", "3"), "a")["at"][0]
    assert hazard["cumulative_hazard"]["value"] == pytest.approx(1 / 4 + 1 / 2)


def test_the_answer_names_the_foremost_cause_or_says_that_nothing_tells(run, tmp_path):
    first = run("life", "causes", *MGUS).stdout.splitlines()[0]
    assert first.startswith("1384 lives, 975 ended: death 860, progression 115; death takes most; by ")
    path = write(tmp_path / "lives.csv", "use,why\n1,water\n2,wear\n3,water\n4,0\n")
    first = run("life", "causes", "--csv", path, "--time", "use", "--cause", "why").stdout.splitlines()[0]
    assert "can't tell yet whether water or wear takes most" in first


@pytest.mark.parametrize("suffix", ["svg", "png", "pdf"])
def test_the_picture_is_stacked_and_the_same_each_time(run, tmp_path, suffix):
    paths = [tmp_path / f"{place}.{suffix}" for place in range(2)]
    for path in paths:
        assert causes(run, *MGUS, "--by", "sex", "--plot", path)["plot"] == str(path)
    assert paths[0].read_bytes() == paths[1].read_bytes()
    assert paths[0].stat().st_size > 1000


def test_a_picture_can_be_drawn_in_the_terminal(run):
    assert "each cause on top of the one before" in run("life", "causes", *MGUS, "--picture").stdout
    assert "each cause on top of the one before" not in run("life", "causes", *MGUS).stdout


@pytest.mark.parametrize(
    ("rows", "code", "words"),
    [
        ("5,1,\n6,1,wear\n", 4, "row 2: it failed, but why names no cause (write unknown)"),
        ("5,0,\n6,0,\n", 5, "nothing has ended any of 2 lives"),
        ("-5,1,a\n0,1,b\n", 4, "2 of 2 lives refused"),
        ("".join(f"{n},1,c{n}\n" for n in range(1, 40)), 4, "39 different causes"),
    ],
)
def test_what_has_no_causes_is_refused_in_a_sentence(run, tmp_path, rows, code, words):
    path = write(tmp_path / "lives.csv", f"use,dead,why\n{rows}")
    answer = run("life", "causes", "--csv", path, "--time", "use", "--event", "dead", "--cause", "why")
    assert answer.exit_code == code
    assert words in answer.stderr


def test_the_column_of_causes_must_be_named(run, tmp_path):
    path = write(tmp_path / "lives.csv", "use\n5\n")
    answer = run("life", "causes", "--csv", path, "--time", "use")
    assert answer.exit_code == 4
    assert "name it with --cause" in answer.stderr


@pytest.mark.parametrize("rows", ["5,a\n", "5,a\n5,b\n5,a\n", "1e-9,a\n2e-9,0\n", "1e15,a\n2e15,0\n"])
def test_odd_lives_are_answered(run, tmp_path, rows):
    path = write(tmp_path / "lives.csv", f"use,why\n{rows}")
    answer = run("life", "causes", "--csv", path, "--time", "use", "--cause", "why")
    assert (answer.exit_code, answer.stderr) == (0, "")


def test_a_lone_life_is_not_sure_of_its_share(run, tmp_path):
    path = write(tmp_path / "lives.csv", "use,why\n5,a\n")
    last = of(causes(run, "--csv", path, "--time", "use", "--cause", "why"), "a")["at"][-1]
    assert (last["incidence"], last["lower"], last["upper"]) == (1, None, None)


def test_the_document_has_the_documented_keys(run):
    found = causes(run, *MGUS)
    assert list(found) == [
        "causes", "working", "n", "events", "unknown", "caution", "groups", "tests", "foremost",
        "clock", "noun", "by", "conf", "excluded", "notes",
    ]  # fmt: skip
    assert list(found["causes"][0]) == ["cause", "events", "at"]
    assert list(found["causes"][0]["at"][0]) == [
        "time",
        "incidence",
        "lower",
        "upper",
        "se",
        "cumulative_hazard",
        "with_unknown",
    ]


FEW = "use,why,fleet\n" + "".join(f"{n},{why},{'red' if n % 2 else 'blue'}\n" for n, why in enumerate(
    ["water", "wear", "water", "unknown", "water", "wear", "unknown", "0", "0", "0", "water", "0"], start=1
))  # fmt: skip


def test_a_cause_that_took_none_of_a_group_has_a_limit_and_words(run, tmp_path):
    path = write(tmp_path / "lives.csv", FEW)
    asked = ("--csv", path, "--time", "use", "--cause", "why", "--by", "fleet", "--at", "4")
    blue = next(each for each in causes(run, *asked)["groups"] if each["group"] == "blue")
    none = next(each for each in blue["causes"] if each["cause"] == "water")["at"][0]
    # of six, all watched until one failed by wear at 2: Clopper and Pearson's limit of none of six
    assert (none["incidence"], none["lower"], none["upper"]) == (0, 0, pytest.approx(1 - 0.025 ** (1 / 6)))
    answer = run("life", "causes", *asked).stdout
    assert "none (up to 46%)" in answer
    assert "the limit of a cause that took none is Clopper and Pearson's" in answer


def test_a_group_of_which_nothing_ended_has_limits_too(run, tmp_path):
    path = write(tmp_path / "lives.csv", "use,why,kind\n1,water,a\n2,0,a\n" + "5,0,b\n" * 20)
    asked = ("--csv", path, "--time", "use", "--cause", "why", "--by", "kind", "--at", "2,9")
    spared = next(each for each in causes(run, *asked)["groups"] if each["group"] == "b")
    assert [point["upper"] for point in spared["causes"][0]["at"]] == [pytest.approx(1 - 0.025 ** (1 / 20)), None]
    assert "b: 20 lives, none ended" in run("life", "causes", *asked).stdout


def test_unknown_causes_are_counted_and_the_most_that_each_known_one_took_is_told(run, tmp_path):
    path = write(tmp_path / "lives.csv", FEW)
    asked = ("--csv", path, "--time", "use", "--cause", "why", "--at", "7")
    found = causes(run, *asked)
    water, unknown = of(found, "water")["at"][0], of(found, "unknown")["at"][0]
    assert water["with_unknown"]["value"] == pytest.approx(water["incidence"] + unknown["incidence"])
    assert water["with_unknown"]["upper"] > water["upper"]
    assert unknown["with_unknown"] is None
    assert (found["unknown"], found["foremost"]["surely"]) == (2, False)
    answer = run("life", "causes", *asked).stdout
    assert "By 7 use, 2 of 8 causes being unknown" in answer
    assert "nobody knows what ended 2 of 8" in answer


def test_a_lead_that_the_unknown_could_undo_is_not_sure(run, tmp_path):
    rows = ["water"] * 20 + ["wear"] * 5
    for unknown, surely in ((0, True), (14, True), (15, False)):
        path = write(
            tmp_path / "lives.csv", "use,why\n" + "".join(f"1,{why}\n" for why in rows + ["unknown"] * unknown)
        )
        foremost = causes(run, "--csv", path, "--time", "use", "--cause", "why")["foremost"]
        assert (foremost["cause"], foremost["surely"]) == ("water", surely)


def test_groups_are_not_tested_by_a_cause_of_a_few_failures(run, tmp_path):
    path = write(tmp_path / "lives.csv", FEW)
    asked = ("--csv", path, "--time", "use", "--cause", "why", "--by", "fleet")
    assert causes(run, *asked)["tests"] == []
    assert (
        "too few lives ended, fewer than 5, to compare groups by: unknown, water, wear"
        in run("life", "causes", *asked).stdout
    )


def test_the_picture_has_counts_and_runs_to_the_end_of_observation(run, tmp_path):
    path, drawn = write(tmp_path / "lives.csv", "use,why\n1,water\n2,wear\n40,0\n50,0\n"), tmp_path / "causes.svg"
    causes(run, "--csv", path, "--time", "use", "--cause", "why", "--plot", drawn)
    text = drawn.read_text("utf-8")
    for words in ("2 of 4 ended", "watched", "<!-- 40 -->", "<!-- use -->"):
        assert words in text


def test_once_all_watched_so_early_have_failed_no_share_is_told_and_it_is_said_why(run, tmp_path):
    # The two seen from new fail at 2 and 3; ten others are seen from 5 on: of new ones nothing is known from 3 on.
    late = "".join(f"{9 + n},5,{'wear' if n < 4 else ''}\n" for n in range(10))
    path = write(tmp_path / "late.csv", f"use,come,why\n2,0,water\n3,0,wear\n{late}")
    asked = ("--csv", path, "--time", "use", "--entry", "come", "--cause", "why", "--at", "2,3,10")
    found = causes(run, *asked)
    shares = [(each["incidence"], each["upper"]) for each in of(found, "water")["at"]]
    assert shares[0][0] == pytest.approx(1 / 2)
    assert shares[1:] == [(None, None), (None, None)]
    assert [each["share"] for each in found["working"]] == [pytest.approx(1 / 2), None, None]
    assert found["caution"].startswith("few were watched so young: at 3 all watched then had failed")
    told = run("life", "causes", *asked)
    assert "from there on the shares say nothing" in told.stdout
    assert "100%" not in told.stdout
    assert run("life", "causes", *asked, "--plot", tmp_path / "late.svg").exit_code == 0
