"""What was wetted is tried again after a day and a week: what worked wet is dead by spring (common practice)."""

from __future__ import annotations

from typing import Any

import pytest

from maintain.services.unit import Desk
from tests.conftest import Run

NEXT_DAY, TWO_DAYS, NEXT_WEEK = "2026-06-02", "2026-06-03", "2026-06-08"


@pytest.fixture
def wetted(pond: Desk, run: Run) -> Run:
    """Halberd sank today; her rudder servo was full of water and dried, her pump damp; a battle lies ahead."""
    for tag, family, where in (("S-01", "standard servo", "rudder-servo"), ("P-01", "pump", "pump")):
        into = ("--into", f"halberd/{where}", "--from", "2026-01-02", "--origin", "new")
        assert run("part", "add", "--family", family, "--tag", tag, *into).exit_code == 0
    run("battle", "add", "July Balls", "--from", "2026-07-05", "--planned-sorties", "2")
    run("sortie", "log", "halberd=W3:damage:4min")
    for part, found in (("S-01", "water"), ("P-01", "damp")):
        assert _answer(run, "look", part, found, "--opened", "--dried", "warm air") == 0
    return run


def _answer(run: Run, topic: str, part: str, *said: str) -> int:
    steps = run("salvage", "show", "halberd", "--json").json["steps"]
    number = next(str(step["step"]) for step in steps if (step["topic"], step["part"]) == (topic, part))
    return run("salvage", "answer", "halberd", number, *said).exit_code


def _due(run: Run, on: str, *more: str) -> dict[str, Any]:
    """Parts to be tried by the end of the next battle, as `due` has them."""
    lines = run("due", "--json", "--on", on, *more).json["lines"]
    return {line["part"]: line for line in lines if line["action"].startswith(("try ", "retest "))}


def test_each_part_has_one_retest_at_a_time_and_says_why(wetted: Run) -> None:
    due = _due(wetted, NEXT_DAY)
    assert {part: line["due_on"] for part, line in due.items()} == {"S-01": NEXT_DAY, "P-01": NEXT_DAY}
    assert due["S-01"]["action"] == "try S-01 again, a day later"
    assert "found water after she sank on 2026-06-01: worked wet, dead by spring" in due["S-01"]["why"]
    assert due["S-01"]["source"] == "common practice, no source"


def test_that_nobody_tried_it_leaves_it_due(wetted: Run) -> None:
    assert _answer(wetted, "24 h", "S-01", "not done", "--on", NEXT_DAY) == 0
    assert _due(wetted, NEXT_DAY)["S-01"]["due_on"] == NEXT_DAY
    page = wetted("salvage", "show", "halberd", "--json", "--on", NEXT_DAY).json
    assert ("S-01", NEXT_DAY) in [(each["part"], each["due_on"]) for each in page["retests"]]


def test_a_pass_after_a_day_leaves_the_one_after_a_week(wetted: Run) -> None:
    assert _answer(wetted, "24 h", "S-01", "pass", "--on", NEXT_DAY) == 0
    assert _due(wetted, NEXT_DAY)["S-01"]["due_on"] == NEXT_WEEK
    assert _answer(wetted, "7 days", "S-01", "pass", "--on", NEXT_WEEK) == 0
    assert set(_due(wetted, NEXT_WEEK)) == {"P-01"}


def test_a_test_before_its_day_shows_nothing_but_a_failure_is_one_on_any_day(wetted: Run) -> None:
    assert _answer(wetted, "7 days", "S-01", "pass", "--on", NEXT_DAY) == 4
    assert _answer(wetted, "7 days", "S-01", "fail", "--on", NEXT_DAY) == 0


def test_one_test_after_a_week_answers_for_the_day_as_well(wetted: Run) -> None:
    assert _answer(wetted, "7 days", "S-01", "pass", "--on", "2026-06-10") == 0
    assert set(_due(wetted, "2026-06-10")) == {"P-01"}


@pytest.mark.parametrize(
    "shown",
    [
        ("reading", "add", "halberd/rudder-servo", "demand test", "1"),
        ("rollcall", "answer", "halberd/rudder-servo", "works"),
        ("check", "answer", "halberd", "{rudder}", "pass"),
    ],
    ids=lambda words: words[0],
)
def test_whatever_else_shows_that_it_works_answers_too(wetted: Run, shown: tuple[str, ...]) -> None:
    steps = wetted("check", "show", "halberd", "--json").json["steps"]
    rudder = next(str(step["step"]) for step in steps if step["topic"] == "rudder")
    words = [word.format(rudder=rudder) for word in shown]
    assert wetted(*words, "--on", NEXT_DAY).exit_code == 0
    assert _due(wetted, NEXT_DAY)["S-01"]["due_on"] == NEXT_WEEK
    page = wetted("salvage", "show", "halberd", "--json", "--on", NEXT_DAY).json
    (seen,) = [step["stands"] for step in page["steps"] if (step["topic"], step["part"]) == ("24 h", "S-01")]
    assert seen == "seen to work on 2026-06-02"


def test_what_showed_it_to_work_on_the_day_itself_does_not_answer(wetted: Run) -> None:
    assert _answer(wetted, "bench", "S-01", "pass") == 0
    assert _due(wetted, NEXT_DAY)["S-01"]["due_on"] == NEXT_DAY


@pytest.mark.parametrize(
    "gone",
    [
        ("part", "pull", "S-01", "--reason", "suspect", "--mode", "erratic"),
        ("failure", "log", "S-01", "--mode", "dead", "--cause", "water", "--to", "stays"),
        ("ship", "state", "halberd", "lost"),
    ],
    ids=lambda words: " ".join(words[:2]),
)
def test_a_part_that_is_out_or_failed_is_not_tried_again(wetted: Run, gone: tuple[str, ...]) -> None:
    assert wetted(*gone, "--on", NEXT_DAY).exit_code == 0
    action = _due(wetted, TWO_DAYS).get("S-01", {"action": ""})["action"]
    assert not action.startswith("try ")


def test_a_ship_in_dry_dock_is_still_looked_after(wetted: Run) -> None:
    wetted("ship", "state", "halberd", "dry dock", "--since", NEXT_DAY, "--on", NEXT_DAY)
    assert set(_due(wetted, TWO_DAYS)) == {"S-01", "P-01"}


def test_a_look_taken_back_and_found_dry_ends_the_retests(wetted: Run) -> None:
    assert _answer(wetted, "look", "S-01", "dry") == 0
    assert set(_due(wetted, NEXT_DAY)) == {"P-01"}


def test_a_part_nobody_looked_at_is_taken_to_be_as_wet_as_its_zone(wetted: Run) -> None:
    assert _answer(wetted, "look", "S-01", "not seen") == 0
    assert "taken to be wet, nobody looked" in _due(wetted, NEXT_DAY)["S-01"]["why"]


def test_a_retest_that_fails_dates_the_death_between_the_last_test_and_the_finding(wetted: Run) -> None:
    assert _answer(wetted, "24 h", "S-01", "pass", "--on", NEXT_DAY) == 0
    assert _answer(wetted, "7 days", "S-01", "fail", "--opens", "failure", "--cause", "water", "--on", NEXT_WEEK) == 0
    failure = wetted("failure", "list", "--json").json["rows"][0]
    assert (failure["part"], failure["cause"], failure["found_by"]) == ("S-01", "water", "bench")
    assert (failure["last_good_on"], failure["found_on"]) == (NEXT_DAY, NEXT_WEEK)


def test_without_a_test_since_the_sinking_nobody_says_when_it_last_worked(wetted: Run) -> None:
    assert _answer(wetted, "7 days", "S-01", "fail", "--opens", "failure", "--on", NEXT_WEEK) == 0
    assert wetted("failure", "list", "--json").json["rows"][0]["last_good_on"] is None


def test_a_suspect_of_the_salvage_is_followed_up_and_its_pass_sends_it_home(wetted: Run) -> None:
    assert _answer(wetted, "24 h", "P-01", "fail", "--on", NEXT_DAY) == 0
    assert "retest the suspect" in _due(wetted, NEXT_DAY)["P-01"]["action"]
    assert wetted("retest", "P-01", "pass", "--on", TWO_DAYS).exit_code == 0
    assert _due(wetted, TWO_DAYS)["P-01"]["due_on"] == NEXT_WEEK


def test_the_check_and_the_sheet_show_what_is_to_be_tried_again(wetted: Run) -> None:
    page = wetted("check", "show", "halberd", "--json", "--on", NEXT_DAY).json
    (rudder,) = [step for step in page["steps"] if step["topic"] == "rudder"]
    assert any(line.startswith("try S-01 again, a day later") for line in rudder["due"])
    sheet = wetted("sheet", "--ship", "halberd", "--on", NEXT_DAY)
    assert sheet.exit_code == 0
    assert "try S-01 again, a day later" in sheet.stdout


def test_the_walk_goes_on_the_next_morning(wetted: Run) -> None:
    shown = wetted(
        "salvage", "run", "halberd", "--json", "--on", NEXT_DAY, input="y\n" * 5 + "d\ny\ny\np\np\ny\np\np\n"
    )
    assert shown.exit_code == 0, shown.stderr
    page = shown.json
    assert (page["answered"], page["asked"]) == (page["asked"], page["asked"])
    assert [(each["part"], each["due_on"]) for each in page["retests"]] == [("S-01", NEXT_WEEK), ("P-01", NEXT_WEEK)]
    assert page["verdict"].startswith("2 parts to be tried again, the first from 2026-06-08 on; 0 suspects open")


def test_what_due_said_of_an_earlier_day_does_not_know_of_later_answers(wetted: Run) -> None:
    assert _answer(wetted, "24 h", "S-01", "pass", "--on", TWO_DAYS) == 0
    assert _due(wetted, NEXT_DAY)["S-01"]["due_on"] == NEXT_DAY
