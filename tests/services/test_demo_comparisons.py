"""What builders ask of the demo club, held against the truth from which its records were drawn."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from maintain.services import demo
from maintain.services.unit import Desk

TRUTH = json.loads((demo.fleet_folder() / "truth.json").read_text(encoding="utf-8"))
METHODS = {**TRUTH["method_ratios"], "none recorded": TRUTH["method_ratios"]["untreated"]}
ZONES = TRUTH["zone_ratios"]


@pytest.fixture(scope="module")
def desk(tmp_path_factory: pytest.TempPathFactory) -> Desk:
    return demo.build(tmp_path_factory.mktemp("demo") / "club.db", "tester")


@pytest.fixture
def ask(desk: Desk, run: Any) -> Any:
    def asked(*words: str) -> Any:
        return run("life", *words, "--on", TRUTH["today"], "--json", db=Path(desk.db)).json

    return asked


@pytest.fixture
def say(desk: Desk, run: Any) -> Any:
    def said(*words: str) -> str:
        return run("life", *words, "--on", TRUTH["today"], db=Path(desk.db)).stdout.splitlines()[0]

    return said


def holds(limits: Any, truth: float) -> bool:
    """Whether an interval holds a value; an open end holds everything beyond the other."""
    return (limits["lower"] or 0) <= truth <= (limits["upper"] or float("inf"))


def test_does_grease_really_beat_oil_in_the_wet_position(ask, say):
    """The truth says that oil fails 1.5 times as often as grease; so few in the bilge can't show it, and say so."""
    asked = ("compare", "--category", "servo", "--zone", "bilge", "--by", "waterproofing", "--between", "grease,oil")
    found = ask(*asked)
    pair = found["pairs"][0]
    assert (pair["a"], pair["b"]) == ("grease-filled case", "oil bath")
    assert holds(pair["hazard_ratio"], METHODS["oil bath"] / METHODS["grease-filled case"])
    assert found["differs"] == []
    assert found["power"][0]["more_events"] > 0
    assert found["power"][0]["more_seasons"] > 1
    first = say(*asked)
    assert first.startswith("can't tell yet which lasts longer, grease-filled case or oil bath: 12 servos, ")
    assert "it would take about" in first
    assert "seasons as this club goes" in first


def test_how_sure_are_we(say, ask):
    """How many lived and died, and the chance that so few would have shown a difference worth having."""
    asked = ("compare", "--category", "servo", "--by", "waterproofing")
    first, found = say(*asked), ask(*asked)
    assert "87 servos, 40 failures" in first
    assert all(0 < each["power"] < 0.8 for each in found["power"])
    assert all(each["sinkings"] > each["n"] for each in found["groups"])  # "how many sank?"


def test_every_method_has_its_true_ratio_with_the_zone_held_equal(ask):
    found = ask("compare", "--category", "servo", "--by", "waterproofing", "--adjust", "zone")
    pairs = found["adjusted"]["pairs"]
    assert len(pairs) == 10
    for pair in pairs:
        assert holds(pair["hazard_ratio"], METHODS[pair["b"]] / METHODS[pair["a"]]), pair
    assert {each["covariate"] for each in found["unfair"] if each["held_equal"]} == {"zone"}


def test_the_worst_method_is_found_to_be_the_worst(ask):
    """Liquid tape lets servos fail 1.6 times as often as none at all; the truth's order ends there."""
    found = ask("effects", "--category", "servo", "--covariates", "waterproofing,zone")
    methods = [each for each in found["coefficients"] if each["name"].startswith("waterproofing")]
    worst = max(methods, key=lambda each: each["coef"])
    assert worst["name"] == "waterproofing: liquid tape dip"
    assert worst["p"] < 0.05
    reference = next(each["value"] for each in found["references"] if each["covariate"] == "waterproofing")
    for each in methods:
        assert holds(each, METHODS[each["name"].removeprefix("waterproofing: ")] / METHODS[reference]), each


def test_do_boxed_parts_live_longer(ask):
    """No family sits both in a box and outside one, so nobody can tell the box from what is in it; that is said."""
    found = ask("compare", "--by", "zone")
    family = next(each for each in found["unfair"] if each["covariate"] == "family")
    assert family["never_together"]
    assert {"bilge", "sealed box"} not in [{each["longer"], each["shorter"]} for each in found["differs"]]


def test_are_boxed_servos_better_is_refused_because_there_are_none(desk, run):
    asked = ("--category", "servo", "--by", "zone", "--between", "sealed box,bilge", "--on", TRUTH["today"])
    answer = run("life", "compare", *asked, db=Path(desk.db))
    assert answer.exit_code == 3
    assert "no zone called 'sealed box'" in answer.stderr


def test_the_bilge_is_worse_than_the_dry_deck(ask):
    found = ask("compare", "--category", "servo", "--by", "zone", "--adjust", "waterproofing")
    pair = found["adjusted"]["pairs"][0]
    assert (pair["a"], pair["b"]) == ("bilge", "dry deck")
    assert holds(pair["hazard_ratio"], ZONES["dry deck"] / ZONES["bilge"])
    assert pair["hazard_ratio"]["upper"] < 1


def test_what_kills_servos_here(ask, say):
    """Blame is an opinion; that water and wear are at work, sinkings too, is the truth."""
    found = ask("causes", "--category", "servo")
    assert {"water", "wear", "ball hit"} <= {each["cause"] for each in found["causes"]}
    assert found["n"] == 87
    assert "can't tell yet whether wear or water takes most" in say("causes", "--category", "servo")
    sinkings = ask("effects", "--category", "servo", "--covariates", "immersions,zone,waterproofing")
    effect = next(each for each in sinkings["coefficients"] if each["name"] == "immersions")
    assert effect["lower"] > 1


def test_causes_count_every_end_that_something_brought_about(ask):
    found = ask("causes")
    ended = {each["cause"]: each["events"] for each in found["causes"]}
    assert ended["ball hit"] == 14
    assert ended["another part's failure"] == 5
    assert sum(ended.values()) == found["events"] == 170


def test_which_batch_is_bad(ask, say):
    """The truth says none."""
    assert ask("compare", "--category", "servo", "--by", "batch")["differs"] == []
    assert say("compare", "--category", "servo", "--by", "batch").startswith("can't tell yet which of 8 lasts longest")


def test_does_treating_again_every_season_help(ask):
    """The truth says no: among parts with one method the interval of one more renewal holds 1."""
    found = ask("effects", "--category", "servo", "--covariates", "renewals", "--strata", "waterproofing")
    assert found["model"] == "grouped"
    assert found["rows"] > found["n"] == 87
    assert holds(found["coefficients"][0], 1.0)


def test_a_sinking_counts_and_renewals_and_water_are_not_praised(ask, say):
    """The truth says that sinkings and the bilge wear, renewals and the kind of water do nothing."""
    asked = ("effects", "--category", "servo", "--covariates", "waterproofing,zone,water,sinkings,renewals")
    found = ask(*asked)
    sure = {each["name"] for each in found["factors"] if each["p_holm"] < 0.05}
    assert sure == {"sinkings"}
    assert "water: brackish" in found["left_out"]
    assert say(*asked).startswith("87 servos, 40 failures, 16 ships: sinkings: for each one more it fails 1.")


def test_no_answer_rests_on_what_is_reckoned_over_the_life_itself(ask, say):
    asked = ("effects", "--category", "servo", "--covariates", "minutes afloat a season")
    assert ask(*asked)["no_cause"] == ["minutes afloat a season"]
    assert say(*asked).endswith("can't tell from minutes afloat a season, reckoned over the life itself")


def test_ships_are_not_judged_by_ships(ask):
    found = ask("compare", "--family", "micro", "--by", "ship")
    assert [each["by"] for each in found["logrank"]["clustered"]] == ["sinking"]
    assert found["logrank"]["p_careful"] > 0.05


def test_what_grows_during_a_life_is_no_ground_for_a_comparison(desk, run):
    answer = run("life", "compare", "--by", "zone", "--adjust", "immersions", "--on", TRUTH["today"], db=Path(desk.db))
    assert answer.exit_code == 4
    assert "ask: maintain life effects" in answer.stderr


def test_which_position_is_worst(ask):
    """The rudder servo sits in the bilge; every other servo on the dry deck."""
    found = ask("compare", "--category", "servo", "--by", "position", "--adjust", "waterproofing")
    worst = max(found["groups"], key=lambda each: each["events"] / each["expected"])
    assert worst["group"] == "rudder-servo"
    for pair in found["adjusted"]["pairs"]:
        truth = ZONES["bilge"] if pair["b"] == "rudder-servo" else 1.0
        assert holds(pair["hazard_ratio"], truth), pair


@pytest.mark.parametrize("covariate", ["water", "waterproofing"])
def test_effects_over_the_whole_fleet_hold_the_truth(ask, covariate):
    waters = dict.fromkeys(("fresh", "treated-fresh", "brackish"), TRUTH["water_ratio"])
    truths = {"water": waters, "waterproofing": METHODS}[covariate]
    found = ask("effects", "--covariates", covariate, "--strata", "family")
    reference = next(each["value"] for each in found["references"] if each["covariate"] == covariate)
    for each in found["coefficients"]:
        assert holds(each, truths[each["name"].removeprefix(f"{covariate}: ")] / truths[reference]), each
