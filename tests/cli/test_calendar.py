"""maintain calendar: battles, legal dates and work by day, read back by an independent reader of RFC 5545."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any

import icalendar
import pytest

from tests.conftest import Run

pytestmark = pytest.mark.usefixtures("pond")


def events(run: Run, *words: str) -> list[Any]:
    answer = run("calendar", "--out", "-", *words)
    assert answer.exit_code == 0, answer.stderr
    return list(icalendar.Calendar.from_ical(answer.stdout).walk("VEVENT"))


def told(run: Run, *words: str) -> dict[str, date]:
    return {str(each["SUMMARY"]): each.decoded("DTSTART") for each in events(run, *words)}


def battle(run: Run, name: str, first: str, last: str | None = None) -> None:
    until = ("--until", last) if last else ()
    assert run("battle", "add", name, "--from", first, *until, "--planned-sorties", "2").exit_code == 0


def bottle(run: Run, expires: str = "2026-09-01") -> None:
    assert run("part", "add", "--family", "pump", "--tag", "B-1", "--into", "halberd/pump").exit_code == 0
    paper = ("--source", "49 CFR 180.209, Table 1", "--expires", expires)
    assert run("certificate", "add", "B-1", *paper).exit_code == 0


def test_battles_legal_dates_and_work_stand_on_their_days(run: Run) -> None:
    battle(run, "June", "2026-06-20", "2026-06-21")
    bottle(run)
    assert run("task", "add", "re-skin the bow", "--due", "2026-06-10", "--ship", "halberd").exit_code == 0
    assert told(run) == {
        "Battle: June": date(2026, 6, 20),
        "Halberd: re-skin the bow": date(2026, 6, 10),
        "Halberd/pump, B-1: have it renewed; do not fill or use it out of date": date(2026, 9, 1),
    }


def test_a_legal_date_carries_its_source_and_who_decides(run: Run) -> None:
    bottle(run)
    (event,) = events(run)
    lines = str(event["DESCRIPTION"]).split("\n")
    assert "Source: 49 CFR 180.209, Table 1" in lines
    assert "Who decides: licensed cylinder inspector" in lines
    assert "A reminder, no certificate: the date that counts is the one stamped on the part." in lines


def test_work_by_use_stands_on_the_eve_of_the_first_battle_it_is_due_by(run: Run) -> None:
    for name, day in (("June", "2026-06-20"), ("July", "2026-07-18"), ("August", "2026-08-15")):
        battle(run, name, day)
    assert run("task", "add", "re-grease", "--every", "2 battle days", "--ship", "halberd").exit_code == 0
    assert run("task", "add", "look inside", "--every", "9 battle days", "--ship", "halberd").exit_code == 0
    assert told(run)["Halberd: re-grease"] == date(2026, 7, 17)
    notes = run("calendar", "--json").json["notes"]
    assert "Halberd: look inside" not in told(run)
    assert notes == [] or "look inside" in notes[0]


def test_work_is_not_put_before_today(run: Run) -> None:
    battle(run, "Now", "2026-06-01")
    assert run("task", "add", "re-grease", "--every", "1 battle day", "--ship", "halberd").exit_code == 0
    assert run("task", "add", "old promise", "--due", "2025-06-01", "--ship", "halberd").exit_code == 0
    found = told(run)
    assert found["Halberd: re-grease"] == found["overdue: Halberd: old promise"] == date(2026, 6, 1)


def test_an_entry_keeps_its_uid_when_its_day_moves_so_that_taken_in_again_it_is_not_doubled(run: Run) -> None:
    battle(run, "June", "2026-06-20")
    bottle(run)
    for title in ("oil", "wipe"):
        assert run("task", "add", title, "--every", "30 days", "--ship", "halberd").exit_code == 0
    first = {str(each["UID"]): each for each in events(run)}
    assert len(first) == 4
    assert run("task", "done", "oil", "--ship", "halberd", "--on", "2026-06-05").exit_code == 0
    assert run("task", "change", "wipe", "--title", "wipe and dry").exit_code == 0
    bottle_again = ("certificate", "add", "B-1", "--source", "49 CFR 180.209, Table 1", "--expires", "2031-01-01")
    assert run(*bottle_again).exit_code == 0
    again = {str(each["UID"]): each for each in events(run, "--on", "2026-06-06", "--until", "2031-06-06")}
    assert set(again) == set(first)
    moved = [uid for uid in first if again[uid].decoded("DTSTART") != first[uid].decoded("DTSTART")]
    assert sorted(str(first[uid]["SUMMARY"])[:12] for uid in moved) == ["Halberd/pump", "Halberd: oil"]
    assert all(again[uid]["SEQUENCE"] > first[uid]["SEQUENCE"] for uid in first)


def test_hostile_text_in_the_records_adds_no_entry_and_changes_none(run: Run) -> None:
    hostile = "rule, 6; \\ years\r\nEND:VEVENT\r\nBEGIN:VEVENT\r\nUID:evil\nü"
    assert run("part", "add", "--family", "pump", "--tag", "B;1,\\q", "--into", "halberd/pump").exit_code == 0
    words = ("certificate", "add", "halberd/pump", "--expires", "2026-09-01", "--source", hostile, "--decider", "a:b")
    assert run(*words).exit_code == 0
    (event,) = events(run)
    assert str(event["UID"]) != "evil"
    assert "Source: rule, 6; \\ years\nEND:VEVENT\nBEGIN:VEVENT\nUID:evil\nü" in str(event["DESCRIPTION"])
    assert "B;1,\\q: have it renewed" in str(event["SUMMARY"])


def test_a_battle_called_off_is_told_to_calendars_that_have_it(run: Run) -> None:
    battle(run, "June", "2026-06-20")
    assert run("battle", "state", "June", "called off").exit_code == 0
    (event,) = events(run)
    assert event["STATUS"] == "CANCELLED"


def test_a_captain_gets_the_days_of_the_ships_of_the_captain(run: Run) -> None:
    battle(run, "June", "2026-06-20")
    for ship in ("halberd", "gannet"):
        assert run("task", "add", f"oil {ship}", "--every", "30 days", "--ship", ship).exit_code == 0
    assert set(told(run, "--captain", "ana")) == {"Battle: June", "Halberd: oil halberd"}
    assert set(told(run, "--ship", "gannet")) == {"Battle: June", "Gannet: oil gannet"}
    assert set(told(run, "--captain", "bea")) == {"Battle: June"}


def test_the_same_records_make_the_same_file_and_no_file_is_overwritten_unasked(run: Run, tmp_path: Path) -> None:
    battle(run, "Jühne, \\ und; so", "2026-06-20")
    out = tmp_path / "club.ics"
    assert run("calendar", "--out", out).stdout.startswith(f"wrote {out}: 1 entry")
    written = out.read_bytes()
    assert "Battle: Jühne, \\ und; so" in [
        str(each["SUMMARY"]) for each in icalendar.Calendar.from_ical(written).walk("VEVENT")
    ]
    assert all(line.endswith(b"\r\n") for line in written.splitlines(keepends=True))
    refused = run("calendar", "--out", out)
    assert (refused.exit_code, "exists already" in refused.stderr, "--replace" in refused.stderr) == (4, True, True)
    assert run("calendar", "--out", out, "--replace").exit_code == 0
    assert out.read_bytes() == written
    assert [each.name for each in tmp_path.glob("*.ics")] == ["club.ics"]


def test_the_installed_program_prints_the_same_bytes_that_it_writes(run: Run, run_process: Any, tmp_path: Path) -> None:
    battle(run, "June", "2026-06-20")
    out = tmp_path / "club.ics"
    assert run_process("calendar", "--out", out, "--on", "2026-06-01").exit_code == 0
    printed = run_process("calendar", "--out", "-", "--on", "2026-06-01").stdout
    assert printed.splitlines() == out.read_bytes().decode().splitlines()


@pytest.mark.parametrize(
    ("words", "said", "code"),
    [
        (("--out", "club.txt"), "is no name for a calendar", 4),
        (("--out", "-"), "nothing has a day until 2027-06-01", 3),
        (("--until", "2025-01-01"), "--until 2025-01-01 is past", 4),
        (("--until", "soon"), "is not a day", 4),
        (("--ship", "nobody"), "no ship called 'nobody'", 3),
        (("--captain", "nobody"), "no member called 'nobody'", 3),
        (("--ship", "halberd", "--captain", "ana"), "not both", 2),
    ],
)
def test_what_can_not_be_is_refused_in_a_sentence(run: Run, words: tuple[str, ...], said: str, code: int) -> None:
    answer = run("calendar", *words)
    assert (answer.exit_code, answer.stdout) == (code, "")
    assert said in answer.stderr
    assert "Traceback" not in answer.stderr


def test_two_files_of_one_day_with_a_change_between_them_are_two_editions(run: Run) -> None:
    battle(run, "June", "2026-06-20")
    (before,), (same,) = events(run), events(run)
    assert before["SEQUENCE"] == same["SEQUENCE"]
    assert before.decoded("DTSTAMP") == same.decoded("DTSTAMP")
    assert run("battle", "state", "June", "called off").exit_code == 0
    (after,) = events(run)
    assert after["SEQUENCE"] > before["SEQUENCE"]


def test_a_file_of_today_bears_the_moment_it_was_written(run: Run) -> None:
    before = datetime.now(UTC).replace(microsecond=0)
    today = before.date()
    battle(run, "Later", str(today + timedelta(days=30)))
    (event,) = events(run, "--on", str(today))
    assert before <= event.decoded("DTSTAMP") <= datetime.now(UTC)
