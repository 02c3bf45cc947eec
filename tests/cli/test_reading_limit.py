"""maintain reading limit and limits: what readings are held against."""

from __future__ import annotations

from typing import Any

import pytest

from maintain.services.unit import Desk
from tests.conftest import Run

SLOW = "pump seconds per litre"
PUMP = "gannet/pump"


@pytest.fixture(autouse=True)
def fitted(run: Run, pond: Desk) -> None:
    """A pump in Gannet, and a reading of it."""
    run("part", "add", "--family", "pump", "--tag", "P-1", "--into", PUMP, "--from", "2026-01-01")
    run("reading", "add", PUMP, SLOW, "25")


def held_against(run: Run) -> Any:
    (series,) = run("reading", "trend", PUMP, "--json").json["series"]
    return series["limit"]


def set_limit(run: Run, *options: str, source: str = "club rule") -> str:
    answer = run("reading", "limit", SLOW, *options, "--source", source)
    assert answer.exit_code == 0, answer.stderr
    return answer.stdout


def test_the_closest_limit_holds_and_the_next_one_when_it_is_taken_back(run: Run) -> None:
    assert held_against(run)["value"] == 30
    assert set_limit(run, "--at-most", "28") == f"{SLOW}: at most 28 s/L (club rule)\n"
    set_limit(run, "--at-most", "26", "--category", "pump")
    told = set_limit(run, "--at-most", "22", "--family", "pump", source="the maker's sheet")
    assert told == f"{SLOW} of pump: at most 22 s/L (the maker's sheet)\n"
    assert (held_against(run)["value"], held_against(run)["source"]) == (22, "the maker's sheet")
    for options, next_one in ((("--family", "pump"), 26), (("--category", "pump"), 28), ((), 30)):
        assert "limit taken back" in run("reading", "limit", SLOW, *options, "--remove").stdout
        assert held_against(run)["value"] == next_one
    answer = run("reading", "limit", SLOW, "--remove")
    assert answer.exit_code == 4 and f"the club set no limit for {SLOW}" in answer.stderr


def test_a_limit_set_again_replaces_the_one_before_and_can_be_undone(run: Run) -> None:
    set_limit(run, "--at-most", "28")
    set_limit(run, "--at-most", "27")
    assert held_against(run)["value"] == 27
    run("undo")
    assert held_against(run)["value"] == 28


def test_a_limit_of_the_club_is_shown_wherever_the_figure_is(run: Run) -> None:
    set_limit(run, "--at-most", "22")
    run("battle", "add", "June", "--from", "2026-06-10")
    (step,) = (each for each in run("check", "show", "gannet", "--json").json["steps"] if each["measure"] == SLOW)
    assert (step["limit"]["value"], step["limit"]["source"]) == (22, "club rule")
    (line,) = (each for each in run("due", "--json").json["lines"] if SLOW in each["action"])
    assert line["source"] == "club rule" and line["overdue"]
    told = run("reading", "add", PUMP, SLOW, "23").stdout
    assert "23 s/L is not at most 22 s/L (club rule)" in told
    told = run("check", "answer", "gannet", str(step["step"]), "pass", "--figure", "24").stdout
    assert "24 s/L is not at most 22 s/L (club rule)" in told


def test_a_limit_may_be_a_share_of_the_first_reading(run: Run) -> None:
    told = set_limit(run, "--at-most", "120", "--of-first")
    assert told == f"{SLOW}: at most 120 % of the first (club rule)\n"
    assert held_against(run)["value"] == pytest.approx(30)
    assert held_against(run)["source"] == "120 % of its first 25 s/L; club rule"


def test_limits_are_listed_with_who_says_so(run: Run) -> None:
    set_limit(run, "--at-most", "22", "--family", "pump")
    run("reading", "limit", "servo current", "--at-most", "900", "--category", "servo", "--source", "printed on it")
    run("reading", "limit", "range", "--at-least", "60", "--source", "club rule")
    answer = run("reading", "limits", "--json").json
    found = [(row["measure"], row["of"], row["value"], row["set_by"]) for row in answer["rows"]]
    assert found == [
        (SLOW, "pump", 22, "club"),
        (SLOW, "others", 30, "common practice"),
        ("downstream pressure", "all", 10, "common practice"),
        ("range", "all", 60, "club"),
        ("servo current", "servos", 900, "club"),
        ("battery capacity", "all", 80, "common practice"),
    ]
    assert all(row["source"] for row in answer["rows"])
    assert answer["notes"] == [
        "nobody set a limit for: regulator creep, rest volts, loaded volts, bottle weight, leak test, line pull"
    ]


@pytest.mark.parametrize(
    ("options", "said"),
    [
        (("--source", "rule"), "which way does it bind?"),
        (("--at-most", "3", "--at-least", "2", "--source", "rule"), "which way does it bind?"),
        (("--at-most", "25"), "who says so?"),
        (("--at-most", "25", "--source", "rule", "--family", "pump", "--category", "pump"), "of a family or of"),
        (("--at-most", "0.01", "--source", "rule"), f"{SLOW} can't be 0.01 s/L"),
        (("--at-most", "nan", "--source", "rule"), f"{SLOW} can't be nan"),
        (("--at-most", "0", "--of-first", "--source", "rule"), "0 % of the first reading is no limit"),
    ],
)  # fmt: skip
def test_what_is_no_limit_is_refused(run: Run, options: tuple[str, ...], said: str) -> None:
    answer = run("reading", "limit", SLOW, *options)
    assert answer.exit_code == 4 and said in answer.stderr


def test_what_is_no_quantity_has_no_limit(run: Run) -> None:
    answer = run("reading", "limit", "demand test", "--at-least", "1", "--source", "rule")
    assert answer.exit_code == 2


def test_limits_come_back_from_a_file(run: Run, tmp_path: Any) -> None:
    set_limit(run, "--at-most", "22", "--family", "pump")
    run("export", tmp_path / "out")
    run("reading", "limit", SLOW, "--family", "pump", "--remove")
    assert run("import", tmp_path / "out").exit_code == 0
    assert held_against(run)["value"] == 22
