"""What was recorded wrongly is put right by the command of its noun, told old and new, undone as a whole."""

from __future__ import annotations

from typing import Any

import pytest

from maintain.services.unit import Desk
from tests.conftest import Run
from tests.pond import SERVO

DEAD = ("--mode", "dead", "--cause", "water")


@pytest.fixture(autouse=True)
def fitted(run: Run, pond: Desk) -> None:
    """Kobu lay in the pool from February and is in Halberd since 2 May; Halberd sailed on the 10th and sank."""
    assert run("part", "add", "--family", "standard", "--tag", "kobu", "--acquired", "2026-02-01").exit_code == 0
    assert run("part", "install", "kobu", SERVO, "--from", "2026-05-02").exit_code == 0
    sailed = ("halberd=W3:damage:5min:25afloat:60shots", "--venue", "Mill Pond", "--day", "2026-05-10")
    assert run("sortie", "log", *sailed).exit_code == 0


def _part(run: Run, tag: str = "kobu") -> Any:
    return run("part", "show", tag, "--json").json


def _stays(run: Run, tag: str = "kobu") -> list[tuple[str, str, str | None]]:
    return [(row["where"], row["from"], row["until"]) for row in _part(run, tag)["places"]]


def _failure(run: Run) -> Any:
    return run("failure", "list", "--json").json["rows"][0]


def test_the_facts_of_a_part_are_changed_and_told_old_and_new(run: Run) -> None:
    answer = run("part", "change", "kobu", "--model", "MG-16", "--batch", "B7", "--cost", "12.50")
    assert answer.stdout.splitlines()[0] == (
        "changed kobu: model unknown to MG-16, batch unknown to B7, cost unknown to 12.50"
    )
    assert (_part(run)["facts"]["model"], _part(run)["facts"]["cost"]) == ("MG-16", 12.5)
    assert run("undo").exit_code == 0
    assert _part(run)["facts"]["model"] is None


def test_a_part_found_to_have_come_new_has_no_earlier_use_and_is_counted(run: Run) -> None:
    assert _part(run)["use_known"] is False
    told = run("part", "change", "kobu", "--origin", "new").stdout
    assert "origin unknown to new, prior use unknown to none" in told
    assert _part(run)["use_known"] is True
    told = run("part", "change", "kobu", "--origin", "second-hand").stdout
    assert "prior use none to unknown" in told
    assert _part(run)["use_known"] is False


@pytest.mark.parametrize(
    ("options", "told"),
    [
        (("--prior-use", "none"), "can't be known to be unused"),
        (("--from", "2026-01-15"), "kobu was in the pool from 2026-02-01"),
        (("--from", "2026-06-02"), "in the future"),
        (("--from", "2026-03", "--place", "3"), "has 2 places on record"),
        (("--from", "2026-05-02"), "since 2026-05-02 already"),
        (("--acquired", "2026-05-03", "--made", "2026-05-04"), "bought"),
        (("--made", "2026-03-01"), "can't have been bought 2026-02-01 and made 2026-03-01"),
        (("--treated", "2026-05-03"), "nothing is recorded to have been done against water"),
        (("--origin", "unknown"), "is so already"),
        ((), "nothing to change was named"),
    ],
)
def test_what_contradicts_the_records_is_refused(run: Run, options: tuple[str, ...], told: str) -> None:
    before = _part(run)
    answer = run("part", "change", "kobu", *options)
    assert answer.exit_code == 4
    assert told in answer.stderr
    assert _part(run) == before


@pytest.mark.parametrize(
    ("since", "shown"), [("2026-04-20", "2026-04-20"), ("2026-05-08", "2026-05-08"), ("2026-05", "2026-05")]
)
def test_the_day_it_was_fitted_moves_and_the_place_before_ends_with_it(run: Run, since: str, shown: str) -> None:
    assert (
        f"in Halberd/rudder-servo since 2026-05-02 to {shown}" in run("part", "change", SERVO, "--from", since).stdout
    )
    assert _stays(run) == [("in the pool", "2026-02-01", shown), (SERVO, shown, None)]
    assert run("undo").exit_code == 0
    assert _stays(run) == [("in the pool", "2026-02-01", "2026-05-02"), (SERVO, "2026-05-02", None)]


def test_water_reaches_the_part_from_the_day_it_was_really_fitted(run: Run) -> None:
    assert _part(run)["use"]["immersions"] == 1
    assert run("part", "change", "kobu", "--from", "2026-05-11").exit_code == 0
    assert _part(run)["use"]["immersions"] == 0


def test_a_part_is_not_fitted_earlier_than_another_left_nor_later_than_it_failed(run: Run) -> None:
    assert run("part", "add", "--family", "standard", "--tag", "dilo", "--acquired", "2026-02-01").exit_code == 0
    assert run("swap", SERVO, *DEAD, "--found", "2026-05-10", "--with", "dilo").exit_code == 0
    early = run("part", "change", "dilo", "--from", "2026-05-05")
    assert (early.exit_code, "Halberd/rudder-servo held kobu from 2026-05-02" in early.stderr) == (4, True)
    late = run("part", "change", "kobu", "--from", "2026-05-12", "--place", "2")
    assert (late.exit_code, "it can't have come there on 2026-05-12" in late.stderr) == (4, True)
    put_away = run("part", "change", "kobu", "--from", "2026-05-08")
    assert (put_away.exit_code, "maintain failure correct 1 --found DATE" in put_away.stderr) == (4, True)


def test_the_day_it_was_bought_and_the_last_treatment_are_corrected(run: Run) -> None:
    assert run("part", "change", "kobu", "--acquired", "2025").exit_code == 0
    assert (_part(run)["facts"]["acquired"], _stays(run)[0][1]) == ("2025", "2025")
    run("method", "add", "grease")
    run("part", "treat", "kobu", "grease", "--done", "2026-05-03")
    assert "grease applied 2026-05-03 to 2026-04" in run("part", "change", "kobu", "--treated", "2026-04").stdout
    assert _part(run)["treatments"][0]["on"] == "2026-04"
    assert run("part", "change", "kobu", "--treated", "2027").exit_code == 4


def test_a_failure_is_corrected_and_its_doubt_with_it(run: Run) -> None:
    run("failure", "log", "kobu", *DEAD, "--found", "2026-05-20", "--to", "suspect")
    told = run("failure", "correct", "1", "--mode", "erratic", "--found", "2026-05-10", "--effect", "sank").stdout
    assert "changed failure 1 of kobu: mode dead to erratic, effect unknown to sank" in told
    failure = _failure(run)
    assert (failure["mode"], failure["found_on"], failure["found_sortie"]) == ("erratic", "2026-05-10", 1)
    assert run("retest", "kobu", "pass").exit_code == 0
    assert run("failure", "list", "--json").json["rows"] == []


@pytest.mark.parametrize(
    ("options", "code", "told"),
    [
        (("1", "--mode", "dead"), 4, "is so already"),
        (("9", "--mode", "slow"), 3, "no failure has the number 9"),
        (("1", "--found", "2026-05-01"), 4, "kobu was in Halberd/rudder-servo from 2026-05-02"),
        (("1", "--found", "2026-05-21"), 4, "its failure there can't have been found 2026-05-21"),
        (("1", "--found", "2026-05-04"), 4, "known to be good on 2026-05-05"),
        (("1", "--last-good", "2026-05-30"), 4, "known to be good on 2026-05-30"),
        (("1", "--found", "2026-07-01"), 4, "in the future"),
    ],
)
def test_a_correction_of_a_failure_that_makes_no_sense_is_refused(
    run: Run, options: tuple[str, ...], code: int, told: str
) -> None:
    run("failure", "log", "kobu", *DEAD, "--found", "2026-05-20", "--last-good", "2026-05-05")
    before = _failure(run)
    answer = run("failure", "correct", *options)
    assert (answer.exit_code, told in answer.stderr) == (code, True), answer.stderr
    assert _failure(run) == before


def _correct(run: Run, outcome: str) -> Any:
    answer = run("sortie", "correct", outcome, "--day", "2026-05-10", "--number", "1")
    assert answer.exit_code == 0, answer.stderr
    return run("sortie", "list", "--json").json["rows"][0]


def test_minutes_and_hits_of_a_sortie_are_corrected_and_its_cause_of_sinking_stays(run: Run) -> None:
    row = _correct(run, "halberd=W3:7min:30afloat:3above:0on:2below")
    assert (row["minutes_under"], row["minutes_afloat"], row["shots"]) == (7, 30, 60)
    assert (row["hits_above"], row["hits_on"], row["hits_below"]) == (3, 0, 2)
    assert row["sinking_cause"] == "damage"
    assert _correct(run, "halberd=W3:unknown")["sinking_cause"] == "unknown"
    assert _correct(run, "halberd=W3:pumping")["sinking_system"] == "pumping"


def test_another_wetness_forgets_the_minutes_that_contradict_it(run: Run) -> None:
    row = _correct(run, "halberd=W4")
    assert (row["wetness"], row["minutes_under"], row["sinking_cause"]) == ("W4", None, "damage")
    assert _correct(run, "halberd=W1")["sinking_cause"] is None


def test_hits_are_whole_numbers(run: Run) -> None:
    answer = run("sortie", "correct", "halberd=W3:1.5below", "--day", "2026-05-10", "--number", "1")
    assert (answer.exit_code, "hits are counted in whole numbers" in answer.stderr) == (4, True)


def test_a_certificate_is_corrected_and_the_decider_named(run: Run) -> None:
    written = ("--expires", "2026-05-01", "--issued", "2025-05-01", "--source", "club rule 4")
    assert run("certificate", "add", "kobu", *written).exit_code == 0
    answer = run("certificate", "correct", "kobu", "--expires", "2027-05-01")
    assert "expires on 2026-05-01 to 2027-05-01" in answer.stdout
    assert "licensed cylinder inspector decides, not this record" in answer.stdout
    assert run("certificate", "list", "--json").json["rows"][0]["expires_on"] == "2027-05-01"
    early = run("certificate", "correct", "kobu", "--expires", "2024-01-01")
    assert (early.exit_code, "issued on 2025-05-01" in early.stderr) == (4, True)
    far = run("certificate", "correct", "kobu", "--expires", "2092-05-01")
    assert (far.exit_code, "more than 25 years ahead" in far.stderr) == (4, True)
    assert run("certificate", "correct", SERVO, "--kind", "leak").exit_code == 3
    assert run("certificate", "correct", "kobu").exit_code == 4
