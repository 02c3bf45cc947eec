"""maintain import of what phones hand over: nothing lost, nothing doubled, and a sentence for each trouble."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from maintain.services.unit import Desk
from tests.conftest import Run
from tests.database import dump, rows
from tests.handovers import BATTLE, BEA, DAY, announce, handed_over, sortie, symptom


@pytest.fixture(autouse=True)
def fleet(pond: Desk, run: Run) -> None:
    """Two ships, a battle, a servo."""
    announce(run)


SORTIES = "SELECT ship.name, number, wetness, ending, sinking_cause FROM sortie JOIN ship ON ship.id = ship_id"


def test_a_hand_over_becomes_sorties_and_the_same_file_twice_does_nothing(run: Run, club: Path, tmp_path: Path) -> None:
    file = handed_over(tmp_path / "ana.json", sortie("Halberd", "W3"), sortie("Gannet", "W1"))
    first = run("import", file)
    assert first.exit_code == 0, first.stderr
    assert "took in ana.json of Ana: 2 new" in first.stdout
    assert sorted(rows(club, SORTIES)) == [("Gannet", 1, "W1", None, None), ("Halberd", 1, "W3", "sank", "unknown")]
    before = dump(club)
    again = run("import", file)
    assert "0 new, 2 known already" in again.stdout
    assert dump(club) == before


def test_a_dry_run_says_all_and_writes_nothing(run: Run, club: Path, tmp_path: Path) -> None:
    file = handed_over(tmp_path / "ana.json", sortie("Halberd", "W3"))
    before = dump(club)
    answer = run("import", file, "--dry-run")
    assert "would take in ana.json of Ana: 1 new" in answer.stdout
    assert f"new: Halberd, sortie 1 of {DAY}: sank (W3)" in answer.stdout
    assert dump(club) == before


def test_one_undo_takes_a_whole_hand_over_back(run: Run, club: Path, tmp_path: Path) -> None:
    taps = (sortie("Halberd", "W3"), symptom("Halberd", "rudder-servo", "erratic"))
    run("import", handed_over(tmp_path / "ana.json", *taps))
    assert run("undo").exit_code == 0
    assert rows(club, "SELECT id FROM sortie") + rows(club, "SELECT id FROM suspicion") == []


def test_two_captains_who_logged_one_sinking_make_one(run: Run, club: Path, tmp_path: Path) -> None:
    run("import", handed_over(tmp_path / "ana.json", sortie("Halberd", "W3", at="11:20")))
    told = sortie("Halberd", "W3", at="11:33", cause="damage")
    answer = run("import", handed_over(tmp_path / "bea.json", told, device=BEA, name="Bea"))
    assert "0 new, 1 logged by somebody else too" in answer.stdout
    assert rows(club, SORTIES) == [("Halberd", 1, "W3", "sank", "damage")]
    (note,) = rows(club, "SELECT note FROM sortie")[0]
    assert "by Ana" in note
    assert "by Bea" in note


@pytest.mark.parametrize(("at", "sinkings"), [("11:39", 1), ("11:41", 2)])
def test_sinkings_within_twenty_minutes_are_one_whatever_their_numbers(
    run: Run, club: Path, tmp_path: Path, at: str, sinkings: int
) -> None:
    run("import", handed_over(tmp_path / "ana.json", sortie("Halberd", "W3", 1, at="11:20")))
    answer = run("import", handed_over(tmp_path / "bea.json", sortie("Halberd", "W3", 2, at), device=BEA, name="Bea"))
    assert answer.exit_code == 0
    assert len(rows(club, SORTIES)) == sinkings
    assert ("the same sinking is recorded as sortie 1" in answer.stdout) == (sinkings == 1)


def test_sank_against_dry_is_refused_until_somebody_says_whose_word_counts(
    run: Run, club: Path, tmp_path: Path
) -> None:
    run("import", handed_over(tmp_path / "ana.json", sortie("Halberd", "W0")))
    bea = handed_over(tmp_path / "bea.json", sortie("Halberd", "W3"), sortie("Gannet", "W1"), device=BEA, name="Bea")
    before = dump(club)
    refused = run("import", bea)
    assert refused.exit_code == 8
    assert "recorded as dry (W0) by Ana, but Bea says sank (W3)" in refused.stderr
    assert "--skip-conflicts" in refused.stderr
    assert run("import", bea, "--dry-run").exit_code == 0
    assert run("import", bea, "--prefer", "Cleo").exit_code == 4
    assert dump(club) == before


@pytest.mark.parametrize(
    ("settled", "halberd", "asked_again"),
    [
        (("--prefer", "bea"), ("W3", "sank", "unknown"), False),
        (("--prefer", "Ana"), ("W0", None, None), False),
        (("--prefer", "records"), ("W0", None, None), False),
        (("--skip-conflicts",), ("W0", None, None), True),
    ],
)
def test_a_conflict_is_settled_as_asked_and_what_is_settled_is_not_asked_again(
    run: Run, club: Path, tmp_path: Path, settled: tuple[str, ...], halberd: tuple[Any, ...], asked_again: bool
) -> None:
    run("import", handed_over(tmp_path / "ana.json", sortie("Halberd", "W0")))
    bea = handed_over(tmp_path / "bea.json", sortie("Halberd", "W3"), sortie("Gannet", "W1"), device=BEA, name="Bea")
    assert run("import", bea, *settled).exit_code == 0
    assert sorted(rows(club, SORTIES)) == [("Gannet", 1, "W1", None, None), ("Halberd", 1, *halberd)]
    assert run("import", bea).exit_code == (8 if asked_again else 0)


def test_what_was_corrected_since_is_not_changed_back_by_the_same_file(run: Run, club: Path, tmp_path: Path) -> None:
    file = handed_over(tmp_path / "ana.json", sortie("Halberd", "W0"))
    run("import", file)
    run("sortie", "correct", "halberd=W3:damage:4min", "--day", DAY, "--number", "1")
    assert "0 new, 1 known already" in run("import", file).stdout
    assert rows(club, SORTIES) == [("Halberd", 1, "W3", "sank", "damage")]


def test_a_clock_of_the_wrong_year_is_noticed_and_the_day_of_the_page_counts(
    run: Run, club: Path, tmp_path: Path
) -> None:
    answer = run("import", handed_over(tmp_path / "a.json", sortie("Halberd", "W1", at="2032-01-01T00:12:00+01:00")))
    assert "the clock of Ana is wrong: it stood at 2032-01-01 00:12" in answer.stdout
    assert rows(club, "SELECT sailed_on FROM sortie") == [(DAY,)]


def test_unknown_ships_and_impossible_days_are_all_named_and_nothing_is_written(
    run: Run, club: Path, tmp_path: Path
) -> None:
    other_day = sortie("Gannet", "W0", day="2026-05-31")
    file = handed_over(tmp_path / "a.json", sortie("Halbert", "W0"), sortie("Zebra", "W0"), other_day)
    answer = run("import", file)
    assert answer.exit_code == 8
    assert "no ship called 'Halbert' (did you mean Halberd?" in answer.stderr
    assert "no ship called 'Zebra'" in answer.stderr
    assert f"2026-05-31 is no day of {BATTLE}" in answer.stderr
    assert rows(club, SORTIES) == []


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ('{"format": "pond hand-over", "rec', "cut short"),
        ("", "cut short"),
        ("[" * 100_000, "cut short"),
        ("[1]", "no hand-over"),
        ('{"format": "other"}', "does not say that it is one"),
        ('{"format": "pond hand-over", "version": 2}', "version 2"),
        ('{"format": "pond hand-over", "version": NaN}', "cut short"),
    ],
)
def test_a_damaged_file_is_refused_in_a_sentence(run: Run, tmp_path: Path, text: str, words: str) -> None:
    path = tmp_path / "a.json"
    path.write_text(text)
    answer = run("import", path)
    assert answer.exit_code == 8
    assert words in answer.stderr


@pytest.mark.parametrize(
    "wrong",
    [
        {"wetness": "W9"},
        {"number": 0},
        {"number": True},
        {"day": "2026-02-31"},
        {"at": "noon"},
        {"at": "2026-05-30T11:20:00"},
        {"ship": "Halberd"},
        {"kind": "wish"},
        {"id": "../x"},
        {"cause": "damage"},
    ],
    ids=str,
)
def test_a_record_no_page_writes_is_refused_by_its_number(run: Run, tmp_path: Path, wrong: dict[str, Any]) -> None:
    good = sortie("Gannet", "W0")
    answer = run("import", handed_over(tmp_path / "a.json", good, {**sortie("Halberd", "W0"), **wrong}))
    assert answer.exit_code == 8
    assert "record 2: " in answer.stderr


def test_a_part_that_stopped_is_a_failure_and_one_that_is_odd_is_suspect(run: Run, club: Path, tmp_path: Path) -> None:
    pump = ("--family", "pump", "--tag", "P1", "--into", "Halberd/pump", "--from", "2026-01-02", "--origin", "new")
    run("part", "add", *pump)
    taps = (
        sortie("Halberd", "W1"),
        symptom("Halberd", "rudder-servo", "erratic", at="11:22"),
        symptom("Halberd", "rudder-servo", "dead", at="11:30"),
        symptom("Halberd", "pump", "noisy"),
    )
    file = handed_over(tmp_path / "a.json", *taps)
    assert "P1 is still fitted" in run("import", file).stdout
    assert rows(club, "SELECT mode, cause, found_by, found_sortie FROM failure") == [
        ("dead", "unknown", "in battle", 1)
    ]
    assert rows(club, "SELECT mode, closed_on FROM suspicion") == [("noisy", None)]
    assert "0 new, 4 known already" in run("import", file).stdout


def test_the_second_captain_joins_the_first_ones_failure(run: Run, club: Path, tmp_path: Path) -> None:
    ana = (sortie("Halberd", "W1"), symptom("Halberd", "rudder-servo", "dead"))
    run("import", handed_over(tmp_path / "a.json", *ana))
    bea = (symptom("Halberd", "rudder-servo", "erratic", at="11:31"),)
    answer = run("import", handed_over(tmp_path / "b.json", *bea, device=BEA, name="Bea"))
    assert "joins the failure on record (dead)" in answer.stdout
    assert len(rows(club, "SELECT id FROM failure")) == 1
    assert rows(club, "SELECT id FROM suspicion") == []
    assert "erratic" in rows(club, "SELECT note FROM failure")[0][0]


def test_a_swap_recorded_first_is_the_failure_the_phone_tells_of(run: Run, club: Path, tmp_path: Path) -> None:
    run("sortie", "log", "--battle", BATTLE, "--day", DAY, "halberd=W1")
    run("part", "add", "--family", "standard servo", "--tag", "S2", "--origin", "new", "--from", "2026-01-02")
    swap = ("--with", "S2", "--mode", "dead", "--cause", "water", "--found", DAY, "--after-sortie", "1")
    assert run("swap", "halberd/rudder-servo", *swap, "--to", "scrapped").exit_code == 0
    taps = (sortie("Halberd", "W1"), symptom("Halberd", "rudder-servo", "jams"))
    assert run("import", handed_over(tmp_path / "a.json", *taps)).exit_code == 0
    assert len(rows(club, "SELECT id FROM failure")) == 1


def test_what_no_part_answers_for_is_noted_with_the_sortie(run: Run, club: Path, tmp_path: Path) -> None:
    taps = (sortie("Halberd", "W1"), symptom("Halberd", "pump", "dead"), symptom("Halberd", "rudder-servo", "operator"))
    file = handed_over(tmp_path / "a.json", *taps)
    assert run("import", file).exit_code == 0
    (note,) = rows(club, "SELECT note FROM sortie")[0]
    assert "pump dead" in note
    assert "rudder-servo operator" in note
    assert "0 new, 3 known already" in run("import", file).stdout
    lost = handed_over(tmp_path / "b.json", symptom("Gannet", "pump", "dead"), device=BEA, name="Bea")
    assert "no part is on record there" in run("import", lost).stderr


def test_a_tap_undone_after_it_was_handed_over_is_told(run: Run, club: Path, tmp_path: Path) -> None:
    tap = sortie("Halberd", "W1")
    run("import", handed_over(tmp_path / "a.json", tap))
    answer = run("import", handed_over(tmp_path / "a.json", {**tap, "undone": True}))
    assert "was undone on Ana after it had been handed over" in answer.stdout
    assert len(rows(club, SORTIES)) == 1


def test_a_symptom_undone_after_it_was_handed_over_is_told(run: Run, tmp_path: Path) -> None:
    taps = (sortie("Halberd", "W1"), symptom("Halberd", "rudder-servo", "erratic"))
    assert run("import", handed_over(tmp_path / "a.json", *taps)).exit_code == 0
    back = handed_over(tmp_path / "b.json", taps[0], {**taps[1], "undone": True})
    answer = run("import", back)
    assert "erratic of" in answer.stdout
    assert "was undone on Ana" in answer.stdout
    never = handed_over(tmp_path / "c.json", {**taps[1], "undone": True}, device=BEA, name="Bea")  # not handed over
    assert "was undone" not in run("import", never).stdout


def test_hostile_names_change_nothing_but_the_words(run: Run, club: Path, tmp_path: Path) -> None:
    hostile = "[red]\x1b[31m'; DROP TABLE sortie; --<script>"
    answer = run("import", handed_over(tmp_path / "a.json", sortie("Halberd", "W1"), name=hostile))
    assert answer.exit_code == 0
    assert "\x1b" not in answer.stdout
    assert "[red]" in answer.stdout
    assert len(rows(club, SORTIES)) == 1
    assert json.loads(run("sortie", "list", "--json").stdout)["rows"]


@pytest.mark.parametrize("dry", [(), ("--dry-run",)])
def test_one_sortie_told_twice_in_a_file_is_said_in_words(
    run: Run, club: Path, tmp_path: Path, dry: tuple[str, ...]
) -> None:
    file = handed_over(tmp_path / "a.json", sortie("Halberd", "W1", at="11:20"), sortie("Halberd", "W2", at="11:50"))
    answer = run("import", file, *dry)
    assert answer.exit_code == 8
    assert f"Halberd, sortie 1 of {DAY}: stands in this file twice" in answer.stderr
    assert "splash (W1), tapped at 11:20 and flooded (W2), tapped at 11:50" in answer.stderr
    assert rows(club, SORTIES) == []


def test_a_sinking_told_otherwise_and_by_another_number_is_named_by_the_number_on_record(
    run: Run, tmp_path: Path
) -> None:
    run("import", handed_over(tmp_path / "a.json", sortie("Halberd", "W3", 1, at="11:20")))
    told = sortie("Halberd", "W4", 2, at="11:30")
    answer = run("import", handed_over(tmp_path / "b.json", told, device=BEA, name="Bea"))
    assert f"Halberd, sortie 1 of {DAY}: recorded as sank (W3) by Ana" in answer.stderr
    assert "Bea says sank (W4), as sortie 2, within twenty minutes: one sinking" in answer.stderr


def test_a_name_that_goes_with_the_id_of_another_ship_is_asked_about(run: Run, club: Path, tmp_path: Path) -> None:
    ((uid,),) = rows(club, "SELECT uid FROM ship WHERE name = 'Halberd'")
    of_another = {**sortie("Halberd", "W1"), "ship": {"uid": uid, "name": "Gannet"}}
    refused = run("import", handed_over(tmp_path / "a.json", of_another))
    assert (refused.exit_code, "Gannet is named with the id of Halberd: which ship was meant?" in refused.stderr) == (
        8,
        True,
    )
    renamed = {**sortie("Halberd", "W1"), "ship": {"uid": uid, "name": "Old Halberd"}}
    taken = run("import", handed_over(tmp_path / "b.json", renamed))
    assert "no ship is called 'Old Halberd' any more: taken for Halberd" in taken.stdout
    assert rows(club, SORTIES) == [("Halberd", 1, "W1", None, None)]


def test_a_symptom_after_a_sortie_nobody_logged_is_said(run: Run, tmp_path: Path) -> None:
    tap = symptom("Halberd", "rudder-servo", "dead", after=7)
    answer = run("import", handed_over(tmp_path / "a.json", sortie("Halberd", "W1"), tap))
    assert f"Halberd/rudder-servo: dead after sortie 7 of {DAY}, which nobody logged" in answer.stdout
    logged = symptom("Halberd", "rudder-servo", "erratic", after=1, at="11:40")
    assert "nobody logged" not in run("import", handed_over(tmp_path / "b.json", logged)).stdout


def test_a_mark_of_byte_order_before_the_file_is_no_damage(run: Run, club: Path, tmp_path: Path) -> None:
    file = handed_over(tmp_path / "a.json", sortie("Halberd", "W1"))
    file.write_bytes(b"\xef\xbb\xbf" + file.read_bytes())
    assert run("import", file).exit_code == 0
    assert len(rows(club, SORTIES)) == 1


@pytest.mark.parametrize(("number", "told"), [(True, "true"), (31, "31"), ("2", '"2"')])
def test_a_number_no_sortie_has_is_told_as_the_file_has_it(run: Run, tmp_path: Path, number: Any, told: str) -> None:
    answer = run("import", handed_over(tmp_path / "a.json", {**sortie("Halberd", "W1"), "number": number}))
    assert f"record 1: {told} is no number of a sortie (1 to 30)" in answer.stderr
