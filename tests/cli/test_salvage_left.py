"""What a sinking leaves to do: safety steps, lithium out of salt water, parts that moved on, sinkings put right."""

from __future__ import annotations

from typing import Any

import pytest

from maintain.services.unit import Desk
from tests.conftest import Run

NEXT_DAY, TWO_DAYS, NEXT_WEEK = "2026-06-02", "2026-06-03", "2026-06-08"


@pytest.fixture
def salty(pond: Desk, run: Run) -> Run:
    """Halberd sank today in salt water, with a receiver and a LiPo aboard."""
    run("venue", "add", "Quarry", "--water", "salt")
    run("battle", "add", "July Balls", "--from", "2026-07-05", "--planned-sorties", "2")
    for family, category in (("receiver", "receiver"), ("LiPo 2S", "battery")):
        assert run("family", "add", family, "--category", category).exit_code == 0
    _fit(run, "R-01", "receiver", "receiver")
    _fit(run, "LP1", "LiPo 2S", "main-battery")
    assert run("sortie", "log", "halberd=W3:damage:4min", "--venue", "Quarry").exit_code == 0
    return run


def _fit(run: Run, tag: str, family: str, where: str, *more: str) -> None:
    into = ("--into", f"halberd/{where}", "--from", "2026-01-02", "--origin", "new", *more)
    assert run("part", "add", "--family", family, "--tag", tag, *into).exit_code == 0


def _page(run: Run, *more: str) -> Any:
    return run("salvage", "show", "halberd", "--day", "2026-06-01", "--json", *more).json


def _answer(run: Run, topic: str, part: str | None, *said: str) -> Any:
    numbers = {(step["topic"], step["part"]): str(step["step"]) for step in _page(run)["steps"]}
    return run("salvage", "answer", "halberd", numbers[topic, part], *said)


def _tasks(run: Run, on: str, *more: str) -> list[Any]:
    lines = run("due", "--json", "--on", on, *more).json["lines"]
    return [line for line in lines if line["advice"] == "task"]


def _of(run: Run, part: str, on: str, *more: str) -> Any:
    return next((line for line in _tasks(run, on, *more) if line["part"] == part), None)


def test_lithium_out_of_salt_water_is_kept_apart_and_never_tried(salty: Run) -> None:
    told = _answer(salty, "look", "LP1", "water")
    assert "LP1 stays apart: not charged, not tried" in told.stdout
    line = _of(salty, "LP1", NEXT_WEEK)
    assert line["action"].startswith("keep LP1 apart until it is decided on: not charged, not tried")
    assert (line["decider"], line["ship"], line["overdue"]) == ("safety officer", "Halberd", True)
    asked = [step for step in _page(salty)["steps"] if step["part"] == "LP1" and step["topic"] != "look"]
    assert {step["stands"] for step in asked} == {"is lithium that lay in salt water: not charged, not tried"}
    refused = _answer(salty, "bench", "LP1", "pass")
    assert refused.exit_code == 4
    assert "club's safety officer decides" in refused.stderr


def test_a_suspect_that_is_kept_apart_is_not_asked_to_be_retested(salty: Run) -> None:
    _answer(salty, "look", "LP1", "water")
    pulled = salty("part", "pull", "LP1", "--reason", "suspect", "--mode", "won't hold charge", "--on", NEXT_DAY)
    assert "not charged, not tried" in pulled.stdout
    assert "test it" not in pulled.stdout
    assert [line["action"][:10] for line in _tasks(salty, NEXT_DAY) if line["part"] == "LP1"] == ["keep LP1 a"]
    assert salty("retest", "LP1", "fail", "--on", TWO_DAYS).exit_code == 0
    assert _of(salty, "LP1", TWO_DAYS) is None


def test_a_battery_found_dry_is_not_kept_apart(salty: Run) -> None:
    _answer(salty, "look", "LP1", "dry")
    assert _of(salty, "LP1", NEXT_WEEK) is None


@pytest.mark.parametrize(
    ("model", "apart"), [("LiPo 7.4 V", True), ("NiMH 7.2 V", False), ("6 V lead", False), (None, True)]
)
def test_a_battery_of_an_unknown_kind_may_be_lithium(salty: Run, model: str | None, apart: bool) -> None:
    salty("family", "add", "pack", "--category", "battery")
    _fit(salty, "B-01", "pack", "receiver-battery", *(("--model", model) if model else ()))
    _answer(salty, "look", "B-01", "water")
    line = _of(salty, "B-01", NEXT_DAY)
    assert line["action"].startswith("keep B-01 apart") == apart
    assert ("may be lithium (its model does not say)" in line["why"]) == (model is None)
    assert apart or "caution: swollen, hot, smelling or salt-soaked: not charged" in line["why"]


def test_safety_steps_that_were_left_are_due_first_and_in_the_next_check(salty: Run) -> None:
    for topic in ("pins", "gas"):
        _answer(salty, topic, None, "done")
    _answer(salty, "power", None, "not done")
    _answer(salty, "batteries", None, "not done")
    power, batteries = _tasks(salty, NEXT_DAY)[:2]
    assert (power["action"], power["decider"]) == (
        "after the sinking: main-battery, receiver-battery: every battery disconnected?",
        "safety officer",
    )
    assert "outdoors on sand or tile" in batteries["action"]
    due = salty("check", "show", "halberd", "--json", "--on", NEXT_DAY).json["due"]
    assert [line.startswith("after the sinking: ") for line in due[:2]] == [True, True]
    _answer(salty, "power", None, "done", "--on", NEXT_DAY)
    assert "every battery disconnected" not in str(_tasks(salty, NEXT_DAY))


def test_a_retest_follows_its_part_through_the_pool_into_another_ship(salty: Run) -> None:
    _answer(salty, "look", "R-01", "water", "--opened")
    pulled = salty("part", "pull", "R-01", "--to", "pool", "--on", NEXT_DAY)
    assert "R-01 was under water when Halberd sank on 2026-06-01: to be tried again" in pulled.stdout
    in_pool = _of(salty, "R-01", NEXT_DAY)
    assert (in_pool["ship"], in_pool["due_on"]) == (None, NEXT_DAY)
    assert "it is in the pool" in in_pool["why"]
    fitted = salty("part", "install", "R-01", "gannet/receiver", "--on", NEXT_DAY)
    assert "R-01 was under water when Halberd sank" in fitted.stdout
    aboard = _of(salty, "R-01", NEXT_DAY, "--ship", "gannet")
    assert (aboard["ship"], aboard["position"]) == ("Gannet", "receiver")
    assert _of(salty, "R-01", NEXT_DAY, "--ship", "halberd") is None
    assert _answer(salty, "24 h", "R-01", "pass", "--on", TWO_DAYS).exit_code == 0
    assert _of(salty, "R-01", TWO_DAYS)["due_on"] == NEXT_WEEK


@pytest.mark.parametrize("opens", ["failure", "suspect"])
def test_a_part_that_fails_in_the_pool_is_put_away(salty: Run, opens: str) -> None:
    _answer(salty, "look", "R-01", "water")
    salty("part", "pull", "R-01", "--to", "pool", "--on", NEXT_DAY)
    failed = _answer(salty, "24 h", "R-01", "fail", "--opens", opens, "--on", TWO_DAYS)
    assert failed.exit_code == 0, failed.stderr
    place = salty("part", "show", "R-01", "--json", "--on", TWO_DAYS).json
    assert ("scrapped" if opens == "failure" else "suspect") in str(place)


def test_a_roll_call_in_the_new_ship_answers_the_retest(salty: Run) -> None:
    _answer(salty, "look", "R-01", "water")
    salty("part", "pull", "R-01", "--to", "pool", "--on", NEXT_DAY)
    salty("part", "install", "R-01", "gannet/receiver", "--on", NEXT_DAY)
    assert salty("rollcall", "answer", "gannet/receiver", "works", "--on", TWO_DAYS).exit_code == 0
    assert _of(salty, "R-01", TWO_DAYS)["due_on"] == NEXT_WEEK


def test_a_sinking_corrected_away_leaves_the_findings_and_says_so(salty: Run) -> None:
    _answer(salty, "look", "R-01", "water")
    told = salty("sortie", "correct", "halberd=W1", "--day", "2026-06-01", "--number", "1")
    assert "what it found of her parts stays, and so do their retests" in told.stdout
    assert _of(salty, "R-01", NEXT_DAY)["due_on"] == NEXT_DAY
    assert "the log no longer says that she sank" in _page(salty)["notes"][0]
    assert salty("salvage", "show", "halberd").exit_code == 0
    found = salty("db", "check")
    assert found.exit_code != 0
    assert "has a salvage after sortie 1 of 2026-06-01, which did not sink her" in found.stdout + found.stderr


def test_a_wrong_key_in_a_piped_walk_says_what_was_kept(salty: Run) -> None:
    walked = salty("salvage", "run", "halberd", input="y\ny\nx\ny\n")
    assert walked.exit_code == 4
    assert "stopped after 2 answers, which are kept; no line after this one was read" in walked.stderr
    assert _page(salty)["answered"] == 2


def test_a_number_without_a_day_is_of_today_else_the_days_she_sank_are_named(salty: Run) -> None:
    salty("sortie", "log", "halberd=W3:damage:4min")
    assert salty("salvage", "show", "halberd", "--number", "1", "--json").json["number"] == 1
    later = salty("salvage", "show", "halberd", "--number", "2", "--on", NEXT_DAY)
    assert later.exit_code == 4
    assert "Halberd sank on 2026-06-01" in later.stderr


@pytest.mark.parametrize(("begun_on", "due_on"), [(TWO_DAYS, NEXT_DAY), ("2026-06-06", "2026-06-07")])
def test_retests_count_from_the_sinking_unless_the_salvage_begins_late(salty: Run, begun_on: str, due_on: str) -> None:
    salty("salvage", "answer", "halberd", "1", "done", "--on", begun_on)
    (first,) = [step for step in _page(salty)["steps"] if (step["topic"], step["part"]) == ("24 h", "R-01")]
    assert first["due_on"] == due_on


def test_a_new_sinking_that_nobody_looked_into_is_brought_up(salty: Run) -> None:
    asked = "look her over after the sinking: maintain salvage run Halberd --day 2026-06-01 --number 1"
    assert [line["action"] for line in _tasks(salty, NEXT_WEEK)] == [asked]
    assert _tasks(salty, "2026-06-09") == []
    salty("sortie", "log", "gannet=W3:damage:4min")
    salty("salvage", "answer", "gannet", "1", "done")
    assert asked in [line["action"] for line in _tasks(salty, "2026-06-15")]
    assert asked not in [line["action"] for line in _tasks(salty, "2026-06-16")]
