"""`maintain life compare` from the command line: published figures, honest sentences, odd data."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from scipy.stats import f as f_distribution

from tests.published.reading import EXPECTED, HERE

FREIREICH = ("--csv", HERE / "freireich.csv", "--time", "weeks", "--event", "event", "--by", "group")


def write(path: Path, text: str) -> Path:
    path.write_text(text.replace(" ", ""), encoding="utf-8")
    return path


def compare(run, *asked):
    return run("life", "compare", *asked, "--json").json


def lung_by_ecog(tmp_path: Path) -> Path:
    heading, *rows = (HERE / "lung.csv").read_text(encoding="utf-8").splitlines()
    kept = [row for row in rows if row.rsplit(",", 1)[1] in ("0", "1", "2")]
    return write(tmp_path / "lung.csv", "\n".join((heading, *kept)))


def test_freireich_has_the_published_tests(run):
    # Freireich et al. (1963), Blood 21; R survdiff.
    found = compare(run, *FREIREICH)
    assert (found["logrank"]["statistic"], found["logrank"]["df"]) == (pytest.approx(16.79294, abs=5e-6), 1)
    assert found["logrank"]["p"] == pytest.approx(4.168809e-05, rel=1e-6)
    assert found["early"]["statistic"] == pytest.approx(14.45715, abs=5e-6)
    assert [(each["group"], each["n"], each["events"]) for each in found["groups"]] == [
        ("6MP", 21, 9),
        ("placebo", 21, 21),
    ]
    assert [each["expected"] for each in found["groups"]] == pytest.approx([19.2505, 10.7495], abs=5e-5)


def test_the_difference_of_restricted_means_is_the_first_less_the_second(run):
    expected = EXPECTED["P14a"]
    gap = compare(run, *FREIREICH, "--at", "20")["restricted_mean_difference"][0]
    assert (gap["a"], gap["b"], gap["tau"]) == ("6MP", "placebo", 20)
    assert gap["value"] == pytest.approx(expected["diff"], rel=1e-6)
    assert gap["upper"] - gap["value"] == pytest.approx(1.959964 * expected["se_diff"], rel=1e-6)
    assert gap["p"] == pytest.approx(1.6e-5, rel=0.05)


def test_lung_pairs_are_corrected_as_published(run, tmp_path):
    # Loprinzi et al. (1994); pairs and Holm by R, lifelines and statsmodels.
    expected = EXPECTED["P14b"]
    found = compare(run, "--csv", lung_by_ecog(tmp_path), "--time", "time", "--event", "status", "--by", "ph_ecog")
    assert (found["logrank"]["statistic"], found["logrank"]["df"]) == (pytest.approx(expected["all"], rel=1e-6), 2)
    assert [(each["a"], each["b"]) for each in found["pairs"]] == [("0", "1"), ("0", "2"), ("1", "2")]
    statistics = [expected["0v1"], expected["0v2"], expected["1v2"]]
    assert [each["statistic"] for each in found["pairs"]] == pytest.approx(statistics, rel=1e-6)
    assert [each["p"] for each in found["pairs"]] == pytest.approx(expected["p"], rel=1e-6)
    assert [each["p_holm"] for each in found["pairs"]] == pytest.approx(expected["holm"], rel=1e-6)


def test_the_answer_comes_first_with_n_and_failures(run):
    first = run("life", "compare", *FREIREICH).stdout.splitlines()[0]
    assert first.startswith("6MP outlasts placebo: 21 lives, 9 failures against 21 lives, 21 failures; placebo fails ")
    assert "times as often as 6MP" in first


def test_what_cannot_be_told_says_how_many_more_it_takes(run, tmp_path):
    # Freedman (1982): 70.64 failures in all for a ratio of 2 with 80 %; Schoenfeld (1981) wants 65.35 of equal groups.
    rows = "".join(f"{5 + row},{row % 2},{'ab'[row // 2 % 2]}\n" for row in range(20))
    path = write(tmp_path / "lives.csv", f"use,dead,kind\n{rows}")
    asked = ("--csv", path, "--time", "use", "--event", "dead", "--by", "kind")
    first = run("life", "compare", *asked).stdout.splitlines()[0]
    assert first.startswith(
        "can't tell yet which lasts longer, a or b: 10 lives, 5 failures against 10 lives, 5 failures"
    )
    power = compare(run, *asked)["power"][0]
    assert (power["events"], power["events_needed"], power["more_events"]) == (10, 71, 61)
    took = "; it would take about 61 more failures (122 more lives) to see one fail twice as often as the other"
    assert first.endswith(took)
    assert power["more_seasons"] is None
    sharper = compare(run, *asked, "--worth", "4", "--power", "0.9")["power"][0]
    assert sharper["more_events"] < power["more_events"]


def test_many_failures_and_no_difference_are_no_sign_of_one(run, tmp_path):
    rows = "".join(f"{5 + row},{'ab'[row // 2 % 2]}\n" for row in range(120))
    path = write(tmp_path / "lives.csv", f"use,kind\n{rows}")
    said = run("life", "compare", "--csv", path, "--time", "use", "--by", "kind").stdout.splitlines()
    assert said[0] == "no sign that a and b differ: 60 lives, 60 failures against 60 lives, 60 failures"
    assert "the chance of seeing it was 9" in said[1]


def lives_of(tmp_path: Path, each: int) -> tuple[object, ...]:
    """Two groups of so many lives; all of b outlast all of a."""
    rows = [f"{time},{kind}\n" for kind, begin in (("a", 10), ("b", 100)) for time in range(begin, begin + each)]
    return ("--csv", write(tmp_path / "lives.csv", f"use,kind\n{''.join(rows)}"), "--time", "use", "--by", "kind")


def test_the_verdict_on_eight_lives_counts_all_ways_to_deal_them_out(run, tmp_path):
    # 8 lives in two groups of 4: 70 ways, of which 2 differ as much (as in Fisher's exact test of 4 of 4 and 0 of 4).
    asked = lives_of(tmp_path, 4)
    found = compare(run, *asked)
    verdict = found["pairs"][0]["verdict"]
    assert (verdict["method"], verdict["deals"], verdict["p"]) == ("exact", 70, pytest.approx(2 / 70))
    assert found["logrank"]["verdict"] == verdict
    assert found["pairs"][0]["p_holm"] == pytest.approx(2 / 70)
    assert (found["differs"][0]["longer"], found["pairs"][0]["too_few"]) == ("b", True)
    first = run("life", "compare", *asked).stdout.splitlines()[0]
    assert first.startswith("b outlasts a: 4 lives, 4 failures against 4 lives, 4 failures; a fails")
    assert first.endswith("p = 0.029 (of all 70 ways to deal out so few lives, each life on its own)")


def test_six_lives_tell_nothing_whatever_happens_to_them(run, tmp_path):
    asked = lives_of(tmp_path, 3)
    found = compare(run, *asked)
    assert found["logrank"]["p"] < 0.05  # a chi-square would be trusted too far
    assert (found["pairs"][0]["verdict"]["least_p"], found["differs"]) == (pytest.approx(0.1), [])
    said = run("life", "compare", *asked).stdout.splitlines()
    assert said[0].startswith("can't tell yet which lasts longer, a or b: 3 lives, 3 failures against 3 lives")
    assert "too few to tell whatever had happened to them; it would take about " in said[0]
    assert "so few could not show less than 0.1" in said[1]


def test_ships_of_one_group_each_are_dealt_out_whole(run, tmp_path):
    rows = "".join(f"{3 + 2 * ship},{'ab'[ship % 2]},{ship}\n" for ship in range(6) for _ in range(3))
    asked = ("--csv", write(tmp_path / "lives.csv", f"use,kind,boat\n{rows}"), "--time", "use", "--by", "kind")
    verdict = compare(run, *asked, "--cluster", "boat")["logrank"]["verdict"]
    assert (verdict["by"], verdict["deals"]) == ("boat", 20)


def test_no_sign_of_a_difference_wants_limits_within_the_worth_either_way(run, tmp_path):
    rows = "".join(f"{5 + row},{'ab'[row // 2 % 2]}\n" for row in range(120))
    asked = ("--csv", write(tmp_path / "lives.csv", f"use,kind\n{rows}"), "--time", "use", "--by", "kind")
    ratio = compare(run, *asked)["pairs"][0]["hazard_ratio"]
    assert 1 / 2 < ratio["lower"] < ratio["upper"] < 2
    assert run("life", "compare", *asked).stdout.startswith("no sign that a and b differ")
    # So small a chance asked that no more failures are wanted: only the limits keep it from saying so.
    closer = run("life", "compare", *asked, "--worth", "1.3", "--power", "0.25").stdout
    assert closer.startswith("can't tell yet which lasts longer, a or b")
    assert "one may still fail 1.3 times as often as the other" in closer.splitlines()[0]


def test_the_ratio_of_a_pair_is_named_and_that_of_cox(run):
    # Freireich et al. (1963): R coxph with Efron's ties, coefficient 1.5721 (limits 0.7640 to 2.3802 of the log).
    pair = compare(run, *FREIREICH)["pairs"][0]
    assert pair["estimator"] == "Cox"
    assert pair["hazard_ratio"]["value"] == pytest.approx(4.817, abs=0.001)
    said = run("life", "compare", *FREIREICH).stdout
    assert "placebo fails 4.82 times as often as 6MP (95%: 2.15–10.8)" in said


def test_lives_that_share_their_luck_are_told_apart_less_surely(run, tmp_path):
    rows = "".join(f"{time},{'ab'[ship % 2]},{ship}\n" for ship in range(6) for time in [3 + 2 * ship] * 8)
    path = write(tmp_path / "lives.csv", f"use,kind,boat\n{rows}")
    asked = ("--csv", path, "--time", "use", "--by", "kind")
    alone, together = compare(run, *asked), compare(run, *asked, "--cluster", "boat")
    assert alone["logrank"]["p_careful"] == alone["logrank"]["p"] < 0.05 < together["logrank"]["p_careful"]
    robust = together["logrank"]["clustered"][0]
    assert (robust["by"], robust["df"], robust["denominator_df"]) == ("boat", 1, 5)
    assert robust["p"] == pytest.approx(f_distribution.sf(robust["f"], 1, 5))
    said = run("life", "compare", *asked, "--cluster", "boat").stdout
    assert "on 1 and 5 df, lives of one boat taken together" in said
    mean, own = (each["restricted_mean_difference"][0] for each in (together, alone))
    assert (own["by"], mean["by"]) == (None, "boat")
    assert mean["value"] == own["value"]
    assert mean["upper"] - mean["lower"] > 2 * (own["upper"] - own["lower"])
    assert together["differs"] == []
    assert any("only 6 to judge by" in note for note in together["notes"])
    assert any("name how with --cluster" in note for note in alone["notes"])


def unfair(tmp_path: Path) -> tuple[object, ...]:
    """The bilge kills; b only seems worse because most of it sits there."""
    wet = [f"{10 + step},{'a' if step < 4 else 'b'},bilge\n" for step in range(20)]
    dry = [f"{60 + 3 * step},{'b' if step < 4 else 'a'},deck\n" for step in range(20)]
    path = write(tmp_path / "lives.csv", "use,kind,place\n" + "".join(wet + dry))
    return ("--csv", path, "--time", "use", "--by", "kind", "--adjust", "place")


def test_an_unfair_comparison_is_named_and_set_right_beside_the_raw_one(run, tmp_path):
    found = compare(run, *unfair(tmp_path))
    assert found["differs"] == [{"longer": "a", "shorter": "b", "adjusted_too": False, "unlike": []}]
    assert [(each["covariate"], each["held_equal"]) for each in found["unfair"]] == [("place", True)]
    assert found["adjusted"]["logrank"]["p"] > 0.05 > found["logrank"]["p"]
    pair = found["adjusted"]["pairs"][0]
    assert pair["hazard_ratio"]["lower"] < 1 < pair["hazard_ratio"]["upper"]
    assert pair["time_ratio"]["lower"] < 1 < pair["time_ratio"]["upper"]
    said = run("life", "compare", *unfair(tmp_path)).stdout
    assert "with place held equal that is no longer sure" in said
    assert "not alike in place: a and b differ by" in said


def test_the_adjusted_ratio_is_that_of_cox(run, tmp_path):
    asked = unfair(tmp_path)
    pair = compare(run, *asked)["adjusted"]["pairs"][0]
    shared = [each for each in asked if each not in ("--by", "kind", "--adjust", "place")]
    cox = run("life", "effects", *shared, "--covariates", "kind,place", "--json").json
    effect = next(each for each in cox["coefficients"] if each["name"].startswith("kind"))
    ratio = effect["ratio"] if effect["name"] == "kind: b" else 1 / effect["ratio"]
    assert pair["hazard_ratio"]["value"] == pytest.approx(ratio)


def test_groups_that_are_never_alike_are_said_to_be_so(run, tmp_path):
    path = write(tmp_path / "lives.csv", "use,kind,place\n5,a,x\n6,a,x\n7,a,x\n8,b,y\n9,b,y\n4,b,y\n")
    answer = run("life", "compare", "--csv", path, "--time", "use", "--by", "kind", "--adjust", "place")
    assert "have none in common, so of these two nothing can tell it from kind" in answer.stdout
    found = compare(run, "--csv", path, "--time", "use", "--by", "kind", "--adjust", "place")
    assert found["unfair"][0]["never_together"]
    assert found["unfair"][0]["held_equal"] is False
    assert found["unfair"][0]["difference"] is None


def test_groups_can_be_chosen_by_the_beginning_of_their_names(run, tmp_path):
    path = write(tmp_path / "lives.csv", "use,kind\n5,grease\n6,grease\n7,oil\n8,oil\n9,tape\n4,tape\n")
    found = compare(run, "--csv", path, "--time", "use", "--by", "kind", "--between", "gr,oil")
    assert [each["group"] for each in found["groups"]] == ["grease", "oil"]
    missing = run("life", "compare", "--csv", path, "--time", "use", "--by", "kind", "--between", "gr,wax")
    assert missing.exit_code == 3
    assert "no kind called 'wax'" in missing.stderr


def test_a_group_without_failures_has_a_bound_not_a_zero(run, tmp_path):
    path = write(tmp_path / "lives.csv", "use,dead,kind\n5,1,a\n6,1,a\n7,1,a\n8,0,b\n9,0,b\n9,0,b\n9,0,b\n9,0,b\n")
    ratio = compare(run, "--csv", path, "--time", "use", "--event", "dead", "--by", "kind")["pairs"][0]["hazard_ratio"]
    assert 0 < ratio["value"] < 1
    assert ratio["upper"] is not None
    said = run("life", "compare", "--csv", path, "--time", "use", "--event", "dead", "--by", "kind").stdout
    assert "b: no failure among 5 lives" in said


@pytest.mark.parametrize(
    ("rows", "code", "words"),
    [
        ("5,0,a\n6,0,b\n", 5, "no failure among 2 lives"),
        ("5,1,a\n6,1,a\n", 5, "only one group (a)"),
        ("5,1,a\n", 5, "only one group (a)"),
        ("-5,1,a\n0,1,b\n,1,b\nx,1,b\n6,perhaps,a\n7,1,\n", 4, "5 of 6 lives refused"),
    ],
)
def test_what_is_no_comparison_is_refused_in_a_sentence(run, tmp_path, rows, code, words):
    path = write(tmp_path / "lives.csv", f"use,dead,kind\n{rows}")
    answer = run("life", "compare", "--csv", path, "--time", "use", "--event", "dead", "--by", "kind")
    assert answer.exit_code == code
    assert answer.stdout == ""
    assert words in answer.stderr


@pytest.mark.parametrize(
    "rows",
    [
        "5,1,a\n5,1,a\n5,1,b\n5,1,b\n",  # all at one time
        "1e-9,1,a\n2e-9,1,a\n3e-9,1,b\n4e-9,0,b\n",
        "1e15,1,a\n2e15,1,a\n3e15,1,b\n4e15,0,b\n",
        "5,1,a\n6,0,b\n",  # one life a group
    ],
)
def test_odd_lives_are_answered_with_a_caution(run, tmp_path, rows):
    path = write(tmp_path / "lives.csv", f"use,dead,kind\n{rows}")
    asked = ("--csv", path, "--time", "use", "--event", "dead", "--by", "kind")
    answer = run("life", "compare", *asked)
    assert answer.exit_code == 0 or (answer.exit_code == 5 and "under observation together" in answer.stderr)
    if answer.exit_code == 0:
        assert "can't tell yet" in answer.stdout
        assert "to deal out so few lives" in answer.stdout
        assert answer.stderr == ""


def test_what_to_compare_must_be_said(run, tmp_path):
    path = write(tmp_path / "lives.csv", "use,kind\n5,a\n6,b\n")
    for asked, words in (
        ((), "it is not said what to compare"),
        (("--by", "kind", "--adjust", "kind"), "can't be compared and held equal at once"),
        (("--by", "kind", "--power", "1"), "--power must be between 0 and 1"),
        (("--by", "kind", "--worth", "1"), "a hazard ratio worth finding is positive and not 1"),
    ):
        answer = run("life", "compare", "--csv", path, "--time", "use", *asked)
        assert answer.exit_code == 4
        assert words in answer.stderr


def test_too_many_groups_are_refused(run, tmp_path):
    path = write(tmp_path / "lives.csv", "use,kind\n" + "".join(f"{row + 1},k{row}\n" for row in range(31)))
    answer = run("life", "compare", "--csv", path, "--time", "use", "--by", "kind")
    assert answer.exit_code == 4
    assert "31 groups by kind" in answer.stderr


def test_the_document_has_the_documented_keys(run):
    found = compare(run, *FREIREICH)
    assert list(found) == [
        "groups", "logrank", "early", "pairs", "restricted_mean_difference", "power", "differs", "unfair", "adjusted",
        "clock", "noun", "by", "conf", "excluded", "notes",
    ]  # fmt: skip
    assert list(found["logrank"]) == ["statistic", "df", "p", "p_careful", "clustered", "verdict"]
    assert list(found["logrank"]["verdict"]) == [
        "p", "method", "by", "statistic", "df", "denominator_df", "deals", "least_p",
    ]  # fmt: skip
    assert list(found["pairs"][0]) == [
        "a", "b", "statistic", "p", "p_careful", "verdict", "p_holm", "hazard_ratio", "estimator", "too_few",
    ]  # fmt: skip
    assert list(found["restricted_mean_difference"][0]) == ["a", "b", "tau", "value", "lower", "upper", "p", "by", "df"]


def test_a_place_where_nothing_failed_is_left_out_of_the_adjusted_answer_and_named(run, tmp_path):
    """It says nothing of the ratio: that is Cox's without those lives, not a penalised one."""
    path = unfair(tmp_path)[1]
    known = path.read_text(encoding="utf-8")
    asked = unfair(tmp_path)
    without = compare(run, *asked)["adjusted"]["pairs"][0]["hazard_ratio"]
    rows = "".join(f"{row.rstrip()},{0 if row.endswith('box') else 1}\n" for row in known.splitlines()[1:])
    path.write_text("use,kind,place,dead\n" + rows + "70,a,box,0\n80,b,box,0\n", encoding="utf-8")
    found = compare(run, *asked, "--event", "dead")["adjusted"]
    assert found["pairs"][0]["hazard_ratio"] == pytest.approx(without)
    assert "place box: no failure among 2 lives, which say nothing here" in found["cautions"]


def test_limits_below_nothing_are_told_in_words(run, tmp_path):
    said = run("life", "compare", *lives_of(tmp_path, 12)).stdout
    assert re.search(r"−[\d.]+ \(from −[\d.]+ to −[\d.]+\)", said)
    assert "–−" not in said


def test_tables_fit_a_narrow_window(run, tmp_path):
    names = ("corrosion inhibitor", "grease-filled case", "none recorded")
    rows = [f"{5 + (7 * row) % 31},{names[row % 3]},{'xy'[row % 2]}\n" for row in range(60)]
    path = tmp_path / "lives.csv"
    path.write_text("use,kind,place\n" + "".join(rows), encoding="utf-8")
    asked = ("--csv", path, "--time", "use", "--by", "kind", "--adjust", "place")
    said = run("life", "compare", *asked, columns=80).stdout
    tables = [line for line in said.splitlines() if line.startswith(" ")]
    assert max(map(len, tables)) <= 80
    assert "  Second:" not in said  # the form for tables that do not fit
