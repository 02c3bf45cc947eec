"""Lives that are hardly any: answered with a caution, or refused in a sentence; never with a library's own words."""

from __future__ import annotations

import json
import os
import subprocess
import sys

import pytest

from tests.cli.test_life import figures, write

HEADING = "use,from,dead,kind\n"
ODD = {
    "all censored": "5,0,0,a\n8,0,0,a\n9,0,0,b\n",
    "one failure": "5,0,0,a\n8,0,0,a\n9,0,1,b\n",
    "one failure among older ones": "5,0,1,a\n8,0,0,a\n9,0,0,b\n",
    "no failures in a group": "5,0,1,a\n8,0,1,a\n6,0,0,b\n9,0,0,b\n",
    "one life": "5,0,1,a\n",
    "one life, still working": "5,0,0,a\n",
    "all times equal": "5,0,1,a\n5,0,1,a\n5,0,1,b\n",
    "equal times, some still working": "5,0,1,a\n5,0,0,a\n5,0,1,b\n",
    "in a large unit": "1e12,0,1,a\n2e12,0,1,a\n3e12,0,0,b\n7e12,0,1,b\n",
    "in a small unit": "1e-9,0,1,a\n2e-9,0,1,a\n3e-9,0,0,b\n7e-9,0,1,b\n",
    "huge": "1e270,0,1,a\n2e270,0,1,a\n3e270,0,0,b\n7e270,0,1,b\n",
    "tiny": "1e-270,0,1,a\n2e-270,0,1,a\n3e-270,0,0,b\n7e-270,0,1,b\n",
    "far apart": "1e-270,0,1,a\n2e270,0,1,a\n3,0,0,b\n7,0,1,b\n",
    "an early risk set that empties": "5,4,1,a\n9,6,1,a\n12,6,1,b\n15,6,0,b\n",
    "everybody enters late": "105,100,1,a\n109,100,1,a\n112,101,0,b\n",
    "many failures, all at two times": "5,0,1,a\n" * 30 + "9,0,1,b\n" * 30,
}


@pytest.mark.parametrize("name", ODD)
@pytest.mark.parametrize(
    "asked",
    [
        ("curve", "--hazard"),
        ("curve", "--hazard", "--by", "kind", "--plot", "{folder}/curve.svg"),
        ("fit", "--posterior", "--bootstrap", "20"),
        ("fit", "--model", "best", "--by", "kind", "--plot", "{folder}/law.png"),
    ],
)
def test_hardly_any_lives_are_answered_without_a_warning(run, tmp_path, name, asked):
    # In the tests every warning is an error, so that one from a library would end the run.
    path = write(tmp_path / "lives.csv", HEADING + ODD[name])
    words = ["life", *(each.format(folder=tmp_path) for each in asked)]
    columns = ("--csv", path, "--time", "use", "--entry", "from", "--event", "dead", "--picture")
    answer = run(*words, *columns)
    assert (answer.exit_code, answer.stderr) == (0, "")
    assert "nan" not in answer.stdout.replace("--", "") and "inf" not in answer.stdout
    drawn = [word for word in words if word.startswith(str(tmp_path))]
    assert [json.loads(run(*words, *columns, "--json").stdout).get("plot")] == (drawn or [None])


@pytest.mark.parametrize("command", ["curve", "fit"])
def test_the_program_itself_says_nothing_on_stderr_even_if_warnings_are_asked_for(tmp_path, command):
    path = write(tmp_path / "lives.csv", HEADING + ODD["far apart"])
    words = ["life", command, "--csv", path, "--time", "use", "--entry", "from", "--event", "dead", "--picture"]
    program = [sys.executable, "-W", "default", "-m", "maintain", *words, "--plot", tmp_path / "picture.png"]
    env = {**os.environ, "MPLCONFIGDIR": str(tmp_path / "nowhere" / "at all"), "HOME": str(tmp_path)}
    done = subprocess.run(program, capture_output=True, text=True, env=env, timeout=120, check=False)
    assert (done.returncode, done.stderr) == (0, "")
    assert (tmp_path / "picture.png").stat().st_size > 1000


@pytest.mark.parametrize(
    ("rows", "said"),
    [
        ("0,0,1,a\n5,0,1,a\n", "row 2: time is zero: nothing was observed"),
        ("5,0,1,a\n-3,0,1,a\n", "row 3: time is negative"),
        ("5,5,1,a\n8,0,1,a\n", "row 2: entry is not before the time of exit"),
        ("5,0,1,a\n,0,1,a\n", "row 3: time is missing or not a number"),
        ("5,0,dead,a\n8,0,1,a\n", "row 2: dead is neither failed nor not"),
        ("5,0,1,a\n1,000,0,1,a\n", "row 3: it has 5 cells, the heading 4"),
        ("5,0,alive,a\n8,0,1,a\n", "row 2: dead is neither failed nor not"),
        ('5,0,1,a\n"1,000",0,1,a\n', "row 3: use is 1,000: write decimals with a point, and thousands without a comma"),
        ("5,0,1,a\n1e300,0,1,a\n", "row 3: time is too large or small a number: choose a unit"),
        ("5,0,1,a\n1e-300,0,1,a\n", "row 3: time is too large or small a number: choose a unit"),
    ],
)
def test_rows_that_are_no_lives_are_named(run, tmp_path, rows, said):
    path = write(tmp_path / "lives.csv", HEADING + rows)
    for command in ("curve", "fit"):
        answer = run("life", command, "--csv", path, "--time", "use", "--entry", "from", "--event", "dead")
        assert (answer.exit_code, answer.stdout) == (4, "")
        assert said in answer.stderr


@pytest.mark.parametrize(
    ("rows", "said"),
    [
        ("2,4,a\n5,3,a\n", "row 3: lower is after upper"),
        ("2,4,a\n-1,3,a\n", "row 3: time is negative"),
        ("2,4,a\n0,0,a\n", "row 3: time is zero: nothing was observed"),
        ("2,4,a\n,,a\n", "row 3: time is missing or not a number"),
        ('2,4,a\n"2,5",3,a\n', "row 3: low is 2,5: write decimals with a point"),
    ],
)
@pytest.mark.parametrize(
    "command", [("curve",), ("fit",), ("compare", "--by", "kind"), ("effects", "--covariates", "kind")]
)
def test_intervals_that_are_none_are_named(run, tmp_path, command, rows, said):
    path = write(tmp_path / "lives.csv", "low,high,kind\n" + rows)
    answer = run("life", *command, "--csv", path, "--lower", "low", "--upper", "high")
    assert (answer.exit_code, answer.stdout) == (4, "")
    assert said in answer.stderr


def test_a_file_of_a_spreadsheet_is_read_and_its_decimal_commas_are_named(run, tmp_path):
    path = tmp_path / "lives.csv"
    path.write_bytes("\ufeffuse;kind\r\n5.5;a\r\n7.25;b\r\n9;a\r\n".encode())
    found = run("life", "curve", "--csv", path, "--time", "use", "--json").json
    assert (figures(found)["n"], figures(found)["median"]["value"]) == (3, 7.25)
    path.write_bytes("\ufeffuse;kind\r\n5,5;a\r\n7,25;b\r\n9;a\r\n".encode())
    answer = run("life", "curve", "--csv", path, "--time", "use")
    assert (answer.exit_code, answer.stdout) == (4, "")
    assert "row 2: use is 5,5: write decimals with a point" in answer.stderr
    assert "row 3: use is 7,25: write decimals with a point" in answer.stderr
    assert "row 4" not in answer.stderr


def test_a_row_that_lacks_several_labels_is_left_out_once(run, tmp_path):
    path = write(tmp_path / "lives.csv", "use,kind,ship\n5,a,x\n6,,\n7,b,\n8,b,y\n")
    found = run("life", "curve", "--csv", path, "--time", "use", "--by", "kind", "--cluster", "ship", "--json").json
    assert [(each["reason"], each["examples"]) for each in found["excluded"]] == [
        ("kind is missing", ["row 3"]),
        ("ship is missing", ["row 4"]),
    ]
    empty = write(tmp_path / "empty.csv", "use,kind\n5,\n6,NA\n")
    answer = run("life", "curve", "--csv", empty, "--time", "use", "--by", "kind")
    assert (answer.exit_code, answer.stdout) == (5, "")
    assert "no row of empty.csv has all of: kind" in answer.stderr


@pytest.mark.parametrize("word", ["", "NA"])
def test_a_failure_whose_cause_is_missing_is_never_left_out_but_refused(run, tmp_path, word):
    path = write(tmp_path / "lives.csv", f"use,dead,why\n5,1,wear\n6,1,{word}\n7,0,none\n")
    answer = run("life", "causes", "--csv", path, "--time", "use", "--event", "dead", "--cause", "why")
    assert (answer.exit_code, answer.stdout) == (4, "")
    assert "row 3: " in answer.stderr
    assert "write unknown" in answer.stderr or "unknown if nobody knows" in answer.stderr


def test_two_failures_are_no_proof_of_wear(run, tmp_path):
    # Wald's limits of the shape are 1.61 to 16.2; likelihood and prior together allow shapes below 1.
    said = asked(run, tmp_path, "fit", "5,0,1,a\n8,0,1,a\n")
    assert "can't tell yet whether they wear out" in said.stdout
    assert "they wear out: " not in said.stdout


def test_a_heading_that_stands_twice_is_refused_if_it_is_used(run, tmp_path):
    path = write(tmp_path / "lives.csv", "use,use,kind,kind\n5,6,a,b\n7,8,a,b\n")
    answer = run("life", "curve", "--csv", path, "--time", "use")
    assert (answer.exit_code, answer.stdout) == (4, "")
    assert "lives.csv has more than one column headed 'use'" in answer.stderr
    path = write(tmp_path / "lives.csv", "use,kind,kind\n5,a,b\n7,a,b,\n")
    assert run("life", "curve", "--csv", path, "--time", "use").exit_code == 0


def asked(run, tmp_path, command, rows, *words):
    path = write(tmp_path / "lives.csv", HEADING + rows)
    columns = ("--csv", path, "--time", "use", "--entry", "from", "--event", "dead")
    return run("life", command, *columns, *words)


def test_next_to_nothing_comes_with_a_caution(run, tmp_path):
    for rows, caution in (
        (ODD["one life"], "one life says next to nothing of others"),
        (ODD["one failure"], "one failure: the curve rests on it alone"),
        (ODD["all censored"], "none of 3 failed: how long they can last is not known"),
    ):
        assert caution in asked(run, tmp_path, "curve", rows).stdout


def test_a_unit_of_any_size_gives_the_same_answer_in_that_unit(run, tmp_path):
    # An invariance: lives counted in another unit are the same lives.
    found = {}
    for unit in ("", "e270", "e-270"):
        rows = "".join(f"{use}{unit},0,{dead},a\n" for use, dead in ((1, 1), (2, 1), (3, 0), (7, 1)))
        found[unit] = figures(asked(run, tmp_path, "curve", rows, "--json").json)
    for unit in ("e270", "e-270"):
        mean, plain = found[unit]["restricted_mean"], found[""]["restricted_mean"]
        for key in ("value", "lower", "upper", "tau"):
            assert mean[key] / float(f"1{unit}") == pytest.approx(plain[key], rel=1e-9)


def test_an_emptied_curve_is_explained_and_the_later_age_it_offers_answers(run, tmp_path):
    rows = ODD["an early risk set that empties"]
    said = asked(run, tmp_path, "curve", rows).stdout
    assert "few were watched so young: at 5 the only one watched then failed" in said
    assert "--given 5" in said
    later = asked(run, tmp_path, "curve", rows, "--given", "5", "--at", "9,12", "--json").json
    # Kaplan-Meier by hand: three at risk at 9, two at 12.
    assert [each["survival"] for each in figures(later)["at"]] == pytest.approx([2 / 3, 1 / 3])
    assert not any("few were watched" in note for note in later["notes"])


def test_an_age_that_nobody_reached_is_refused_by_name(run, tmp_path):
    answer = asked(run, tmp_path, "curve", ODD["no failures in a group"], "--by", "kind", "--given", "8")
    assert answer.exit_code == 5
    assert "nobody of a was seen beyond 8" in answer.stderr


def test_a_nul_byte_is_refused_with_its_line(run, tmp_path):
    path = tmp_path / "lives.csv"
    path.write_bytes(b"use,group\n5,a\n7,b\0\n9,a\n")
    refused = run("life", "curve", "--csv", path, "--time", "use", "--by", "group")
    assert refused.exit_code != 0
    assert "lives.csv: line 3 holds a NUL byte, which is no text" in refused.stderr
    members = tmp_path / "members.csv"
    members.write_bytes(b"name\nAvery\n\0Blake\n")
    answer = run("import", members, "--agree")
    assert answer.exit_code == 8
    assert "row 3, name" in answer.stderr
    assert "holds control characters" in answer.stderr


def test_a_day_from_which_no_life_is_left_asks_for_an_earlier_one(run, tmp_path):
    for option in ("--since", "--fitted-since"):
        refused = run("life", "curve", option, "2025-01-01")
        assert refused.exit_code != 0
        assert f"name an earlier day with {option}, or leave it out" in refused.stderr
    assert "record when parts were fitted" in run("life", "curve").stderr
