"""`maintain life trial` from the command line: sizes, lots, the club's own means, and looks at a running trial."""

from __future__ import annotations

import csv
import io
import shlex
from collections import Counter
from datetime import timedelta
from pathlib import Path

import pytest
from scipy.stats import norm

from maintain.core.trial import bound_on_looking
from maintain.errors import NotEnoughData
from maintain.records import tables as t
from tests.services.lives.fleet_of_parts import Fleet, day

TODAY = "2025-09-01"
OIL, GREASE = "oil bath", "grease-filled case"


@pytest.mark.parametrize(
    ("usual", "hoped", "per_group"),
    # Fleiss, Levin and Paik (2003), equation 4.14, by hand: 81.2, 19.5 and 120.5 before rounding up.
    [("0.4", "0.2", 82), ("0.5", "0.1", 20), ("0.3", "0.15", 121)],
)
def test_sizes_are_those_of_the_textbook_and_no_club_is_needed(run, tmp_path, usual, hoped, per_group):
    asked = ("--usual", usual, "--hoped", hoped, "--json")
    found = run("life", "trial", *asked, db=tmp_path / "nowhere.db").json
    assert found["per_group"] == per_group
    assert (found["club"], found["lot"], found["analysis"]) == (None, [], None)


def test_the_new_method_is_hoped_to_halve_the_failures_and_ships_make_the_trial_larger(run):
    alone = run("life", "trial", "--usual", "0.4", "--json").json
    together = run("life", "trial", "--usual", "0.4", "--per-ship", "4", "--icc", "0.2", "--json").json
    assert alone["hoped"] == 0.2
    assert together["design_effect"] == pytest.approx(1.6)  # Kish (1965): 1 + 3 * 0.2
    assert together["per_group"] == pytest.approx(1.6 * 81.2, abs=1)


def test_it_says_what_no_failure_would_mean(run):
    answer = run("life", "trial", "--usual", "0.4")
    # 1 - 0.05^(1/n): Clopper and Pearson (1934)
    assert "no failure at all still leaves up to (95 %): 45% of 5; 26% of 10; 14% of 20; 7% of 40" in answer.stdout
    # Success-run tables: 80 % reliability with 95 % confidence takes 14 without a failure, 22 with one.
    assert "to show (95 %) that 20% or fewer fail, takes 14 parts with no failure or 22 parts with 1 failure" in (
        answer.stdout
    )
    assert "one club in one season can find only huge differences" in answer.stdout
    assert "safety officer" in answer.stdout


@pytest.fixture
def fleet(club: Path) -> Fleet:
    """
    Six ships with four gun servos on the dry deck and one rudder servo in the bilge; a seventh is laid up.

    On every ship two gun servos got oil and two grease on 2025-04-01. All with oil are dead by the middle of July,
    those with grease work.
    """
    made = Fleet(str(club))
    family = made.family("micro servo")
    methods = {name: made.add(t.method, name=name) for name in (OIL, GREASE)}
    for number in range(7):
        ship = made.ship(f"Ship {number}", state="in commission" if number < 6 else "dry dock")
        for month in (5, 6, 7):
            made.sail(ship, day(f"2025-0{month}-01"))
        for gun in range(5):
            zone = "bilge" if gun == 4 else "dry deck"
            position = made.position(ship, "rudder-servo" if gun == 4 else f"gun-{gun}", zone=zone)
            made.add(t.position_family, position_id=position, family_id=family)
            part = made.part(f"S{number}{gun}", family)
            made.fit(part, position)
            if gun < 4 and number < 6:
                how = {"kind": "applied", "done_on": day("2025-04-01"), "done_precision": "day"}
                made.add(t.treatment, part_id=part, method_id=methods[(OIL, GREASE)[gun % 2]], **how)
                if gun % 2 == 0:
                    made.fail(part, day("2025-07-02") + timedelta(days=number + gun))
    made.commit()
    made.close()
    return made


PLAN = ("life", "trial", "--family", "micro", "--methods", "oil,grease", "--usual", "0.5", "--on", TODAY)


def test_lots_are_drawn_evenly_within_ship_and_zone_of_ships_in_commission(run, fleet):
    lot = run(*PLAN, "--json").json["lot"]
    assert len(lot) == 30
    assert {each["ship"] for each in lot} == {f"Ship {number}" for number in range(6)}
    drawn = Counter((each["ship"], each["zone"], each["method"]) for each in lot)
    for number in range(6):
        assert [drawn[f"Ship {number}", "dry deck", method] for method in (OIL, GREASE)] == [2, 2]
    assert Counter(each["method"] for each in lot if each["zone"] == "bilge") == {OIL: 3, GREASE: 3}
    assert lot[0]["part"] == "S00"


def test_the_same_seed_draws_the_same_lots_and_another_one_others(run, fleet):
    first, again, other = (run(*PLAN, "--lot", seed, "--csv").stdout for seed in ("7", "7", "8"))
    assert first == again != other
    rows = list(csv.reader(io.StringIO(first)))
    assert rows[0] == ["Ship", "Position", "Zone", "Now fitted", "Method by lot"]
    assert len(rows) == 31


def test_it_says_how_long_the_parts_of_the_club_alone_would_take(run, fleet):
    found = run(*PLAN, "--zone", "dry", "--icc", "0", "--hoped", "0.1", "--json").json
    # Steady hazards with half and a tenth failing in the days of the trial, twelve parts each.
    days = found["club"]["days_needed"] / found["days"]
    assert 12 * (2 - 0.5**days - 0.9**days) == pytest.approx(found["failures_needed"])
    assert "and these parts alone in about" in run(*PLAN, "--zone", "dry", "--icc", "0", "--hoped", "0.1").stdout


def test_it_says_what_the_club_itself_could_find_and_writes_nothing(run, fleet):
    before = run("journal", "--json").json
    found = run(*PLAN, "--zone", "dry", "--icc", "0", "--json").json
    club = found["club"]
    assert (club["positions"], club["ships"], club["per_group"]) == (24, 6, 12)
    assert found["per_group"] == 58
    assert club["trials"] == 5
    assert club["days_needed"] is None  # more failures are needed than it has parts
    assert 0 < club["detectable"] < 0.06
    assert 0.1 < club["chance"] < 0.3
    assert run("journal", "--json").json == before


def test_the_plan_ends_with_the_commands_that_look_and_that_compare(run, fleet):
    found = run(*PLAN, "--zone", "dry", "--start", "2025-04-01", "--days", "200", "--json").json
    assert found["stop"] == "2025-10-18"
    look = run(*shlex.split(found["look"])[1:], "--on", TODAY)
    assert look.exit_code == 0
    compared = run(*shlex.split(found["analysis"])[1:])
    assert compared.exit_code == 0, compared.stderr
    assert OIL in compared.stdout


def test_where_each_ship_holds_one_method_ships_are_clusters_and_the_commands_answer(run, club):
    """Twelve ships with one servo each, fitted for the trial by its lot; those with oil die one after the other."""
    made = Fleet(str(club))
    family = made.family("micro servo")
    methods = {name: made.add(t.method, name=name) for name in (OIL, GREASE)}
    places = []
    for number in range(12):
        ship = made.ship(f"Ship {number:02}")
        for month in (5, 6, 7, 8):
            made.sail(ship, day(f"2025-0{month}-01"))
        places.append(made.position(ship, "rudder-servo", zone="bilge"))
        made.add(t.position_family, position_id=places[-1], family_id=family)
        old = made.part(f"old {number}", family)
        made.fit(old, places[-1], day("2025-01-01"), day("2025-04-01"))
    made.commit()
    found = run(*PLAN, "--start", "2025-04-01", "--days", "153", "--json").json
    assert found["within"] == []
    assert "--cluster ship" in found["analysis"] and "--strata" not in found["analysis"]
    for number, drawn in enumerate(found["lot"]):
        part = made.part(f"S{number}", family)
        made.fit(part, places[number], day("2025-04-01"))
        how = {"kind": "applied", "done_on": day("2025-04-01"), "done_precision": "day"}
        made.add(t.treatment, part_id=part, method_id=methods[drawn["method"]], **how)
        if drawn["method"] == OIL:
            made.fail(part, day("2025-07-02") + timedelta(days=number))
    made.commit()
    made.close()
    compared = run(*shlex.split(found["analysis"])[1:], "--json")
    assert compared.exit_code == 0, compared.stderr
    assert {each["group"]: (each["n"], each["events"]) for each in compared.json["groups"]} == {
        OIL: (6, 6),
        GREASE: (6, 0),
    }
    assert [each["by"] for each in compared.json["logrank"]["clustered"]] == ["ship"]
    look = run(*shlex.split(found["look"])[1:], "--on", TODAY, "--json").json
    assert (look["within"], [each["n"] for each in look["methods"]]) == ([], [6, 6])
    # All of six with oil die before any of six with grease: expected 6/12, 5/11 ... of each next, by hand.
    apart = sum(1 - left / (left + 6) for left in range(1, 7))
    alone = apart / sum(left * 6 / (left + 6) ** 2 for left in range(1, 7)) ** 0.5
    assert 0 < look["z"] <= alone * (1 + 1e-9)


def test_a_lot_over_two_zones_is_compared_within_ships_where_they_hold_both_methods(run, fleet):
    found = run(*PLAN, "--json").json
    assert found["within"] == ["ship", "zone"]
    assert "--strata ship,zone" in found["analysis"] and "--cluster" not in found["analysis"]


def test_the_usual_share_has_its_limits_and_the_size_at_both(run, fleet):
    asked = ("life", "trial", "--family", "micro", "--zone", "dry", "--methods", "oil,grease", "--days", "120")
    found = run(*asked, "--on", TODAY, "--icc", "0", "--json").json
    low, high = found["size_at_limits"]
    assert found["usual_lower"] == low["usual"] < found["usual"] < high["usual"] == found["usual_upper"]
    for at in (low, high):
        again = run("life", "trial", "--usual", str(at["usual"]), "--icc", "0", "--json").json
        assert (again["per_group"], again["failures_needed"]) == (at["per_group"], at["failures_needed"])
    text = run(*asked, "--on", TODAY, "--icc", "0").stdout
    assert f"were it {low['usual']:.0%}, to tell it from {low['hoped']:.0%} takes {low['per_group']} parts" in text
    hoped = run(*asked, "--hoped", str(found["usual"] * 0.99), "--on", TODAY)
    assert "would be no gain" in hoped.stdout
    given = run("life", "trial", "--usual", "0.4", "--json").json
    assert (given["usual_lower"], given["size_at_limits"]) == (None, [])


def test_a_method_that_does_far_worse_stops_the_trial(run, fleet):
    asked = ("--family", "micro", "--zone", "dry", "--methods", "oil,grease", "--start", "2025-04-01")
    found = run("life", "trial", "--check", *asked, "--failures", "12", "--on", TODAY, "--json").json
    assert (found["stop"], found["worse"], found["within"]) == (True, OIL, ["ship"])
    assert [(each["method"], each["n"], each["events"]) for each in found["methods"]] == [
        (OIL, 12, 12),
        (GREASE, 12, 0),
    ]
    # Two of four die one after the other in each ship: expected 1/2 and 1/3 of the next, by hand.
    assert found["methods"][1]["expected"] == pytest.approx(6 * (2 / 4 + 2 / 3))
    assert found["z"] == pytest.approx((12 - 6 * (1 / 2 + 1 / 3)) / (6 * (1 / 4 + 2 / 9)) ** 0.5)
    assert found["bound"] == pytest.approx(2.2414, abs=1e-4)


def test_early_on_the_same_difference_is_no_reason_to_stop(run, fleet):
    asked = ("--family", "micro", "--zone", "dry", "--methods", "oil,grease", "--start", "2025-04-01")
    found = run("life", "trial", "--check", *asked, "--failures", "80", "--on", TODAY, "--json").json
    assert (found["stop"], found["worse"]) == (False, None)
    assert found["bound"] == pytest.approx(2.2414 / (12 / 80) ** 0.5, abs=1e-3)
    none = run("life", "trial", "--check", *asked, "--failures", "80", "--on", "2025-06-01")
    assert "0 of 80 planned failures: go on, can't tell yet" in none.stdout


def test_of_few_failures_every_way_to_deal_the_methods_out_is_counted(run, fleet):
    asked = ("--family", "micro", "--zone", "dry", "--methods", "oil,grease", "--start", "2025-04-01")
    found = run("life", "trial", "--check", *asked, "--failures", "12", "--on", "2025-07-04", "--json").json
    assert found["failures"] == 4
    # By hand: both deaths of one ship had oil, 1 of 6 ways to deal two of four; of two ships one death, 1 of 2 each.
    # As far the other way: with grease. The normal z of that p; the score alone would say 2.2.
    assert found["z"] == pytest.approx(-norm.ppf(2 * (1 / 6) * (1 / 2) ** 2 / 2))


def test_parts_fitted_before_the_trial_are_not_in_it(run, fleet):
    asked = ("--family", "micro", "--methods", "oil,grease", "--start", "2025-04-02", "--failures", "9")
    found = run("life", "trial", "--check", *asked, "--on", TODAY, "--json").json
    assert [each["n"] for each in found["methods"]] == [0, 0]


@pytest.mark.parametrize(
    ("asked", "exit_code", "said"),
    [
        ((), 4, "it is not said how many parts usually fail"),
        (("--usual", "0.4", "--hoped", "0.4"), 4, "no number of lives tells equals apart"),
        (("--usual", "40"), 4, "must be between 0 and 1"),
        (("--usual", "0.4", "--zone", "bilge"), 4, "name the --family as well"),
        (("--usual", "0.4", "--methods", "oil"), 4, "two or more different methods"),
        (("--usual", "0.4", "--days", "0"), 4, "a day or more"),
        (("--usual", "0.4", "--icc", "2"), 4, "correlation from 0 to 1"),
        (("--family", "macro", "--usual", "0.4"), 3, "macro"),
        (("--family", "micro", "--usual", "0.4", "--zone", "external"), 5, "no ship in commission has a position"),
        (("--family", "micro", "--zone", "bilge"), 5, "the records don't say how many usually fail"),
        (("--check", "--family", "micro"), 4, "run the command that the plan of the trial ended with"),
    ],
)
def test_what_cannot_be_planned_is_refused_in_a_sentence(run, fleet, asked, exit_code, said):
    answer = run("life", "trial", *asked, "--on", TODAY)
    assert (answer.exit_code, answer.stdout) == (exit_code, "")
    assert said in answer.stderr


def test_looking_after_every_failure_stops_equal_methods_in_at_most_5_of_100_trials():
    """Simulated scores of 60 failures, with a look after each."""
    import numpy as np

    rng = np.random.default_rng(3)
    share = np.arange(1, 61) / 60
    walks = np.cumsum(rng.normal(size=(20_000, 60)), axis=1) / np.sqrt(np.arange(1, 61))
    bounds = np.array([bound_on_looking(each) for each in share])
    stopped = np.mean(np.any(np.abs(walks) >= bounds, axis=1))
    assert 0.03 < stopped <= 0.05  # fewer looks than without number: a little below the 5 in 100
    with pytest.raises(NotEnoughData):
        bound_on_looking(0.0)
