"""`due`, `ready` and `life renew` go by one rule when they say whether a working part is worth replacing."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from maintain.services import demo
from tests.conftest import Run

TODAY = ("--on", demo.today().isoformat())


def asked(run: Run, db: Path, *words: str) -> Any:
    answer = run(*words, "--json", *TODAY, db=db)
    assert answer.exit_code == 0, answer.stderr
    return answer.json


def test_a_working_part_is_replaced_only_where_its_group_is_worth_renewing_by_age(demo_club: Path, run: Run) -> None:
    lines = [each for each in asked(run, demo_club, "due", "--all")["lines"] if each["failing"] and not each["first"]]
    policy = {each["group"]: each["policy"] for each in asked(run, demo_club, "life", "renew")["lines"]}
    replaced = [each for each in lines if each["advice"] == "replace"]
    assert replaced
    assert {policy[each["evidence"]["group"]] for each in replaced} == {"renew at an age"}
    assert all("it is that old" in each["why"] for each in replaced)
    likely = [each for each in lines if each["advice"] == "carry a spare" and each["evidence"]["verdict"] == "wear-out"]
    untold = [each for each in likely if policy[each["evidence"]["group"]] == "can't tell yet"]
    assert untold
    assert all("can't tell yet whether renewing one that works pays" in each["why"] for each in untold)
    young = [each for each in likely if policy[each["evidence"]["group"]] == "renew at an age"]
    assert young
    assert all("it is younger" in each["why"] or "ship does without" in each["why"] for each in young)


def test_the_explanation_tells_the_age_and_the_costs_that_life_renew_tells(demo_club: Path, run: Run) -> None:
    part = next(each for each in asked(run, demo_club, "due")["lines"] if each["advice"] == "replace")
    reasons = {
        each["about"]: each["told"] for each in asked(run, demo_club, "due", "--explain", part["part"])["reasons"]
    }
    lines = asked(run, demo_club, "life", "renew", "--family", part["family"])["lines"]
    group = next(each for each in lines if each["group"] == part["evidence"]["group"])
    assert f"cheapest at {group['age']['value']:.0f} days fitted" in reasons["when to renew"]
    assert f"a failure in battle {group['failure_cents'] / 100:.2f} EUR" in reasons["when to renew"]


def test_what_failed_already_is_told_as_points_of_the_chance(demo_club: Path, run: Run) -> None:
    part = next(each for each in asked(run, demo_club, "due")["lines"] if each["advice"] == "replace")
    told = asked(run, demo_club, "due", "--explain", part["part"])["reasons"]
    [failed] = [each["told"] for each in told if each["about"] == "failed already"]
    silent, _, _, whole, *_ = failed.split()
    assert float(whole) == pytest.approx(100 * part["failing"]["value"], abs=0.06)
    assert float(silent) < float(whole)


def test_the_curve_of_an_explanation_has_the_keys_of_a_life_curve(demo_club: Path, run: Run) -> None:
    part = next(each for each in asked(run, demo_club, "due")["lines"] if each["advice"] == "replace")
    curve = asked(run, demo_club, "due", "--explain", part["part"])["curve"]
    [group] = asked(run, demo_club, "life", "curve", "--family", part["family"])["groups"]
    assert curve.keys() == group.keys()


def test_the_explanation_counts_the_spares_that_due_counts(demo_club: Path, run: Run) -> None:
    part = next(each for each in asked(run, demo_club, "due")["lines"] if each["advice"] == "replace")
    assert asked(run, demo_club, "due", "--explain", part["part"])["line"] == part
