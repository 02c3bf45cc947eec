"""What failed at the check of the morning is the first thing to be done, and no clearance is read out of its end."""

from __future__ import annotations

from typing import Any

import pytest

from maintain.services.unit import Desk
from tests.conftest import Answer, Run, told
from tests.pond import send_plover

SERVO = "Plover/rudder-servo"


@pytest.fixture
def ask(run: Run, pond: Desk) -> Run:
    """Asks of a ship with a battle ahead."""
    send_plover(run, pond)
    return run


def step_of(run: Run, topic: str) -> str:
    page = told(run("check", "show", "Plover", "--json")).json
    return str(next(step["step"] for step in page["steps"] if step["topic"] == topic))


def give(run: Run, topic: str, answer: str, *more: str) -> Answer:
    return told(run("check", "answer", "Plover", step_of(run, topic), answer, *more))


def steering(run: Run, *more: str) -> float:
    ready = told(run("ready", "Plover", "--json", *more)).json
    found: float = next(line for line in ready["systems"] if line["system"] == "steering")["works"]["value"]
    return found


def first(run: Run, *more: str) -> list[Any]:
    due = told(run("due", "--ship", "Plover", "--json", *more)).json
    return [line["part"] for line in due["lines"] if line["first"]]


def test_a_failed_step_stands_first_in_due_and_counts_in_ready(ask: Run) -> None:
    assert (first(ask), steering(ask) > 0.5) == ([], True)
    give(ask, "rudder", "fail")
    assert (first(ask), steering(ask)) == (["S-01"], 0)
    shown = told(ask("due", "--ship", "Plover")).stdout.splitlines()
    assert shown[1].startswith("rudder-servo: S-01 failed at the check before a battle (rudder) and is aboard")
    assert told(ask("ready", "Plover")).stdout.splitlines()[1].startswith("rudder-servo: S-01 failed at the check")


def test_it_stands_until_the_step_is_answered_anew(ask: Run) -> None:
    give(ask, "rudder", "fail")
    give(ask, "rudder", "pass")
    assert (first(ask), steering(ask) > 0.5) == ([], True)
    give(ask, "rudder", "fail")
    assert first(ask) == ["S-01"]


def test_it_stands_until_a_later_test_shows_that_the_part_works(ask: Run) -> None:
    told(ask("reading", "add", SERVO, "demand test", "1"))
    give(ask, "rudder", "fail")
    assert first(ask) == ["S-01"]  # the test had come before
    told(ask("reading", "add", SERVO, "demand test", "1"))
    assert first(ask) == []


def test_another_step_of_the_same_check_does_not_clear_it(ask: Run) -> None:
    give(ask, "rudder", "fail")
    for topic in ("transmitter", "leak", "pump"):
        give(ask, topic, "pass")
    assert first(ask) == ["S-01"]


def test_it_goes_with_the_part_that_is_taken_out_and_does_not_fall_on_the_next(ask: Run) -> None:
    give(ask, "rudder", "fail")
    told(ask("part", "add", "--family", "standard servo", "--tag", "S-02", "--origin", "new"))
    told(ask("part", "pull", "S-01", "--to", "pool"))
    assert first(ask) == []
    told(ask("part", "install", "S-02", SERVO))
    assert first(ask) == []


def test_a_fail_that_opened_a_failure_is_told_once(ask: Run) -> None:
    give(ask, "rudder", "fail")
    told(ask("failure", "log", SERVO, "--mode", "dead", "--cause", "wear", "--to", "stays"))
    assert first(ask) == ["S-01"]
    assert told(ask("due", "--ship", "Plover")).stdout.splitlines()[1].startswith("rudder-servo: S-01 is dead")
    [line] = [row for row in told(ask("check", "fleet", "--json")).json["rows"] if row["ship"] == "Plover"]
    assert line["failed_aboard"] == 1


def test_a_failed_question_of_safety_names_who_decides(ask: Run) -> None:
    told(ask("family", "add", "bottle 100 g", "--category", "cylinder"))
    told(ask("part", "add", "--family", "bottle 100 g", "--tag", "C-01", "--into", "Plover/bottle"))
    give(ask, "bottle", "fail")
    [line] = [each for each in told(ask("due", "--json")).json["lines"] if each["part"] == "C-01"]
    assert (line["first"], line["decider"]) == (True, "licensed cylinder inspector")


def test_the_end_of_a_check_says_first_what_did_not_pass(ask: Run) -> None:
    steps = told(ask("check", "show", "Plover", "--json")).json["steps"]
    said = {"rudder": "fail", "pump": "fail", "transmitter": "not done"}
    for step in steps:
        last = told(ask("check", "answer", "Plover", str(step["step"]), said.get(step["topic"], "pass")))
    short = "2 failed, 1 not done: rudder-servo, pump, transmitter; no open safety item is recorded"
    assert f"all {len(steps)} answered: {short}" in " ".join(last.stdout.split())
    assert told(ask("check", "show", "Plover")).stdout.splitlines()[-1].startswith(f"Plover: {short}")
    board = told(ask("check", "fleet", "--json")).json
    [line] = [row for row in board["rows"] if row["ship"] == "Plover"]
    assert line["what"] == "2 failed, 1 not done: rudder-servo, pump, transmitter"
    assert (line["failed"], line["not_done"], line["failed_aboard"]) == (2, 1, 2)
    assert "failed or not done in part: Plover" in told(ask("check", "fleet")).stdout
