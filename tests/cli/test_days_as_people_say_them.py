"""A month on a bottle's stamp is taken, and what is no day is answered with one."""

from __future__ import annotations

from pathlib import Path

from tests.conftest import Run


def test_a_month_on_a_stamp_is_taken_as_its_last_day_and_said_so(run: Run) -> None:
    assert run("family", "add", "bottle", "--category", "cylinder").exit_code == 0
    assert run("part", "add", "--family", "bottle", "--tag", "B-1").exit_code == 0
    said = run("certificate", "add", "B-1", "--expires", "2028-02", "--source", "stamp")
    assert (said.exit_code, "2028-02 taken as its last day, 2028-02-29" in said.stdout) == (0, True)
    [row] = run("certificate", "list", "--json").json["rows"]
    assert row["expires_on"] == "2028-02-29"
    said = run("certificate", "correct", "B-1", "--expires", "2028-04")
    assert (said.exit_code, "2028-04 taken as its last day, 2028-04-30" in said.stdout) == (0, True)
    assert "taken as" not in run("certificate", "correct", "B-1", "--expires", "2028-05-01").stdout


def test_what_is_no_day_is_answered_with_one(run: Run) -> None:
    due = run("task", "add", "grease", "--due", "spring 2026")
    assert (due.exit_code, "for example 2026-04-15" in due.stderr) == (4, True)
    due = run("task", "add", "grease", "--due", "2026-09")
    assert (due.exit_code, "for example 2026-09-30, its last" in due.stderr) == (4, True)


def test_a_time_of_the_year_is_answered_with_the_year_and_a_month(run: Run) -> None:
    assert run("ship", "add", "Halberd").exit_code == 0
    assert run("family", "add", "pump", "--category", "pump").exit_code == 0
    assert run("position", "add", "halberd/pump", "--system", "pumping", "--zone", "bilge").exit_code == 0
    answer = run("part", "add", "--family", "pump", "--into", "halberd/pump", "--from", "winter 2019")
    assert (answer.exit_code, "2019-01 (month), 2019 (season)" in answer.stderr) == (4, True)


def test_a_calendar_makes_no_folder(run: Run, tmp_path: Path) -> None:
    assert run("battle", "add", "June", "--from", "2026-06-20").exit_code == 0
    answer = run("calendar", "--out", tmp_path / "nonexist" / "x.ics")
    assert (answer.exit_code, "there is no folder" in answer.stderr) == (4, True)
    assert not (tmp_path / "nonexist").exists()
