"""A failure that is on record already is completed by whoever meets it again, and never logged twice."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from maintain.services.unit import Desk
from tests.conftest import Run
from tests.handovers import BEA, DAY, announce, handed_over, sortie, symptom
from tests.pond import SERVO

DEAD = ("--mode", "dead", "--cause", "water")


@pytest.fixture(autouse=True)
def fleet(pond: Desk, run: Run) -> None:
    """A battle on 30 May, S1 in Halberd's rudder since January, S2 in the pool."""
    announce(run)
    assert run("part", "add", "--family", "standard", "--tag", "S2", "--acquired", "2026-02-01").exit_code == 0


def _failures(run: Run) -> list[Any]:
    return run("failure", "list", "--json").json["rows"]


def _from_phone(run: Run, folder: Path, mode: str = "dead") -> None:
    file = handed_over(folder / "ana.json", sortie("Halberd", "W3"), symptom("Halberd", "rudder-servo", mode))
    assert run("import", file).exit_code == 0


def test_a_swap_takes_the_failure_that_a_phone_told_of_and_needs_no_symptoms(run: Run, tmp_path: Path) -> None:
    _from_phone(run, tmp_path)
    answer = run("swap", SERVO, "--cause", "water", "--effect", "sank", "--note", "water in the horn")
    assert answer.exit_code == 0, answer.stderr
    assert "takes S1's failure No. 1 (dead), found 2026-05-30 after sortie 1, logged by Ana" in answer.stdout
    (failure,) = _failures(run)
    assert (failure["found_on"], failure["found_sortie"], failure["mode"]) == (DAY, 1, "dead")
    assert (failure["cause"], failure["effect"], failure["found_by"]) == ("water", "sank", "in battle")
    assert "by Ana" in failure["note"] and failure["note"].endswith("water in the horn")
    places = run("part", "show", "S1", "--json").json["places"]
    assert [(row["where"], row["from"]) for row in places] == [(SERVO, "2026-01-02"), ("scrapped", "2026-06-01")]
    assert run("undo").exit_code == 0
    assert [(row["cause"], row["effect"]) for row in _failures(run)] == [("unknown", "unknown")]


def test_a_swap_takes_a_failure_logged_by_hand_and_says_by_whom(run: Run) -> None:
    assert run("failure", "log", SERVO, *DEAD, "--found", DAY, "--to", "stays", "--who", "bea").exit_code == 0
    assert "found 2026-05-30, logged by bea" in run("swap", SERVO, "--found", DAY).stdout
    assert len(_failures(run)) == 1


@pytest.mark.parametrize(
    ("options", "told"),
    [
        (("--mode", "jams"), "its mode is dead, not jams"),
        (("--found", "2026-05-31"), "it wasn't found 2026-05-31"),
        (("--found", DAY, "--after-sortie", "0"), "it wasn't found 2026-05-30"),
        (("--found-by", "bench"), "its found by is in battle, not bench"),
        (("--last-good", "2026-05-31"), "known to be good on 2026-05-31"),
    ],
)
def test_a_swap_that_contradicts_the_failure_on_record_is_refused(
    run: Run, tmp_path: Path, options: tuple[str, ...], told: str
) -> None:
    _from_phone(run, tmp_path)
    answer = run("swap", SERVO, *options)
    assert answer.exit_code == 4
    assert told in answer.stderr
    assert [row["cause"] for row in _failures(run)] == ["unknown"]
    assert run("part", "show", "S1", "--json").json["where"] == SERVO


def test_another_failure_of_the_same_part_is_logged_when_somebody_says_so(run: Run, tmp_path: Path) -> None:
    _from_phone(run, tmp_path)
    assert run("swap", SERVO, *DEAD, "--another").exit_code == 0
    assert [row["found_on"] for row in _failures(run)] == ["2026-06-01", DAY]


def test_a_part_that_was_shown_to_work_in_between_failed_anew(run: Run, tmp_path: Path) -> None:
    _from_phone(run, tmp_path)
    assert run("rollcall", "answer", SERVO, "works", "--on", "2026-05-31").exit_code == 0
    assert run("swap", SERVO, *DEAD).exit_code == 0
    assert [row["found_on"] for row in _failures(run)] == ["2026-06-01", DAY]


def test_what_was_tapped_before_the_part_came_out_joins_the_failure_of_the_swap(run: Run, tmp_path: Path) -> None:
    assert run("swap", SERVO, *DEAD).exit_code == 0
    file = handed_over(tmp_path / "ana.json", sortie("Halberd", "W3"), symptom("Halberd", "rudder-servo", "no signal"))
    answer = run("import", file)
    assert "S1: no signal; joins the failure on record (dead)" in answer.stdout
    assert "if it failed on 2026-05-30: maintain failure correct 1 --found 2026-05-30 --after-sortie 1" in answer.stdout
    assert len(_failures(run)) == 1
    assert "2 known already" in run("import", file).stdout


def test_one_death_tapped_on_two_days_is_one_failure(run: Run, tmp_path: Path) -> None:
    run("battle", "add", "Two Days", "--from", "2026-05-30", "--until", "2026-05-31", "--on", "2026-05-01")
    later = symptom("Halberd", "rudder-servo", "jams", after=0, at="2026-05-31T09:00:00+02:00", day="2026-05-31")
    taps = (sortie("Halberd", "W3"), symptom("Halberd", "rudder-servo", "dead"), later)
    file = handed_over(tmp_path / "bea.json", *taps, device=BEA, name="Bea", battle={"uid": "x", "name": "Two Days"})
    answer = run("import", file)
    assert "jams on 2026-05-31, the same failure" in answer.stdout
    (failure,) = _failures(run)
    assert (failure["found_on"], failure["mode"]) == (DAY, "dead")
    assert "jams" in failure["note"]
    assert "3 known already" in run("import", file).stdout


def test_a_failure_on_record_is_not_logged_again(run: Run, tmp_path: Path) -> None:
    _from_phone(run, tmp_path)
    answer = run("failure", "log", "S1", *DEAD)
    assert answer.exit_code == 4
    assert (
        "S1's failure No. 1 (dead), found 2026-05-30 after sortie 1, logged by Ana, is on record already"
        in answer.stderr
    )
    assert "maintain swap Halberd/rudder-servo" in answer.stderr
    assert "maintain failure correct 1" in answer.stderr
    late = run("failure", "log", "S1", *DEAD, "--found", "2026-05-20")
    assert late.exit_code == 4
    assert run("failure", "log", "S1", *DEAD, "--another").exit_code == 0
    assert len(_failures(run)) == 2


def test_a_part_scrapped_for_its_failure_did_not_fail_twice(run: Run) -> None:
    assert run("failure", "log", "S1", *DEAD).exit_code == 0
    assert run("failure", "log", "S1", *DEAD).exit_code == 4
    assert len(_failures(run)) == 1


def test_a_part_repaired_and_fitted_again_begins_a_life_of_its_own(run: Run) -> None:
    assert run("failure", "log", "S1", *DEAD, "--found", "2026-05-02").exit_code == 0
    run("part", "pull", "S1", "--to", "pool", "--until", "2026-05-10")
    assert run("part", "install", "S1", SERVO, "--from", "2026-05-12").exit_code == 0
    assert run("swap", SERVO, *DEAD).exit_code == 0
    assert len(_failures(run)) == 2


def test_a_suspect_swapped_out_after_its_failure_was_logged_is_judged_once(run: Run, tmp_path: Path) -> None:
    _from_phone(run, tmp_path)
    assert run("swap", SERVO, "--to", "suspect").exit_code == 0
    assert run("retest", "S1", "fail", "--cause", "wear").exit_code == 0
    assert len(_failures(run)) == 1


def test_a_check_that_meets_a_failure_on_record_takes_it(run: Run, tmp_path: Path) -> None:
    _from_phone(run, tmp_path)
    answer = run("rollcall", "answer", SERVO, "does not work")
    assert "takes S1's failure No. 1 (dead)" in answer.stdout
    assert len(_failures(run)) == 1
    assert run("part", "show", "S1", "--json").json["where"] == "scrapped"


def test_a_part_doubted_on_a_phone_and_again_when_it_came_out_is_judged_by_one_test(run: Run, tmp_path: Path) -> None:
    _from_phone(run, tmp_path, mode="erratic")
    assert run("swap", SERVO, "--mode", "slow", "--cause", "unknown", "--to", "suspect").exit_code == 0
    assert len(run("part", "show", "S1", "--json").json["suspicions"]) == 2
    assert run("retest", "S1", "pass").exit_code == 0
    assert {doubt["outcome"] for doubt in run("part", "show", "S1", "--json").json["suspicions"]} == {
        "no failure found"
    }
    assert _failures(run) == []


def test_a_borrowed_part_that_comes_back_dead_failed_once(run: Run, tmp_path: Path) -> None:
    assert run("swap", SERVO, *DEAD, "--borrowed-from", "bea", "--found", "2026-05-20").exit_code == 0
    (borrowed,) = [row["tag"] for row in run("part", "list", "--ship", "halberd", "--json").json["rows"]]
    _from_phone(run, tmp_path)
    answer = run("pool", "return", borrowed, "dead", "--mode", "jams", "--cause", "wear")
    assert answer.exit_code == 0, answer.stderr
    (failure,) = [row for row in _failures(run) if row["part"] == borrowed]
    assert (failure["mode"], failure["cause"]) == ("dead", "wear")
