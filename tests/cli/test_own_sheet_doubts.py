"""What a club's own sheet leaves in doubt is asked or refused, never read wrong in silence."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from maintain.services.unit import Desk
from tests.conftest import Run
from tests.database import rows

Write = Callable[..., Path]
LATER = ("--on", "2026-09-20")


@pytest.fixture
def write(tmp_path: Path) -> Write:
    """Write a sheet, its lines parted by slashes between blanks, and return where it stands."""

    def write(text: str, name: str = "log.csv") -> Path:
        path = tmp_path / name
        path.write_text(text.replace(" / ", "\n") + "\n", encoding="utf-8")
        return path

    return write


@pytest.fixture
def shown(pond: Desk, run: Run, write: Write) -> Callable[..., dict[str, Any]]:
    """A sheet as it would be read on a day in autumn."""

    def shown(text: str, *said: str) -> dict[str, Any]:
        found: dict[str, Any] = run("import", write(text), *LATER, "--json", *said).json
        return found

    return shown


def _asked(page: dict[str, Any]) -> list[tuple[str, str]]:
    return [(each["about"], each["subject"]) for each in page["questions"]]


@pytest.mark.parametrize("last", ["17.12.26", "12.13.26"])
def test_a_day_to_come_or_a_slip_does_not_turn_a_whole_column(shown: Any, last: str) -> None:
    page = shown(f"Date;Ship;Sank / 01.02.26;Halberd;no / 08.03.26;Gannet;no / {last};Halberd;no")
    assert _asked(page) == [("date order", "Date")]
    assert page["rows"] == []


def test_a_row_that_is_refused_decides_no_order(shown: Any) -> None:
    text = "Date,Ship,Sank / 03/05/2026,Halberd,no / 04/05/2026,Gannet,no / 05/17/2026,Nobody,no"
    assert _asked(shown(text)) == [("date order", "Date")]


def test_an_order_that_one_sheet_decides_is_no_order_of_the_next(
    pond: Desk, run: Run, write: Write, club: Path
) -> None:
    assert run("import", write("Date;Ship;Sank / 13/06/2026;Halberd;no"), *LATER, "--agree").exit_code == 0
    page = run("import", write("Date;Ship;Sank / 06/07/2026;Gannet;no"), *LATER, "--json").json
    assert _asked(page) == [("date order", "Date")]
    assert rows(club, "SELECT count(*) FROM sortie") == [(1,)]


def test_an_order_once_said_is_named_when_it_is_taken_again(pond: Desk, run: Run, write: Write) -> None:
    said = ("--agree", "--date-order", "month-first")
    run("import", write("Date;Ship;Sank / 06/05/2026;Halberd;no"), *LATER, *said)
    again = run("import", write("Date;Ship;Sank / 06/07/2026;Gannet;no"), *LATER)
    assert "Date is read month-first, as was said on 2026-09-20" in again.stdout


@pytest.mark.parametrize(
    ("heading", "cell", "becomes"),
    [
        ("afloat (sec)", "1200", "Minutes afloat 20"),
        ("minutes under (sec)", "90", "Minutes under 1.5"),
        ("afloat (h)", "0.5", "Minutes afloat 30"),
    ],
)
def test_the_unit_in_a_heading_counts(shown: Any, heading: str, cell: str, becomes: str) -> None:
    page = shown(f"date,ship,{heading} / 2026-06-01,Halberd,{cell}")
    assert _asked(page) == []
    assert becomes in page["rows"][0]["becomes"][0]


def test_units_of_a_price_list_count(shown: Any) -> None:
    # 0.5 oz = 14.174762 g (NIST Special Publication 811, appendix B).
    page = shown("family,category,weight (oz),lead time (months),cost (cents) / nano servo,servo,0.5,2,950")
    told = "Unit cost 9.50, Lead time days 60, Weight g 14.174762"
    assert page["rows"][0]["becomes"] == [f"new family: nano servo, Category servo, {told}"]


@pytest.mark.parametrize("heading", ["Shots (hundreds)", "Minutes (fortnights)", "afloat min:sec", "Ammo", "Wibble"])
def test_a_unit_or_a_heading_of_numbers_that_nobody_knows_is_asked_about(shown: Any, heading: str) -> None:
    page = shown(f"date,ship,sank,{heading} / 2026-06-01,Halberd,no,2 / 2026-06-02,Halberd,no,3")
    assert _asked(page) == [("column", heading)]


@pytest.mark.parametrize("heading", ["Mins", "Ran for"])
def test_bare_headings_of_minutes_are_known(shown: Any, heading: str) -> None:
    page = shown(f"date,ship,sank,{heading} / 2026-06-01,Halberd,no,20")
    assert "Minutes afloat 20" in page["rows"][0]["becomes"][0]


@pytest.mark.parametrize(
    ("measure", "written", "unit", "told"),
    [
        ("pump seconds per litre", "2", "min/L", "Value 120, Unit s/L"),
        ("battery capacity", "2.2", "Ah", "Value 2200, Unit mAh"),
        ("downstream pressure", "150", "psi", "Value 10.342136, Unit bar"),
        ("pump seconds per litre", "22", "s/L", "Value 22, Unit s/L"),
    ],
)
def test_the_unit_beside_a_reading_counts(shown: Any, measure: str, written: str, unit: str, told: str) -> None:
    page = shown(f"date,ship,position,measure,value,unit / 2026-06-01,Halberd,pump,{measure},{written},{unit}")
    assert told in page["rows"][0]["becomes"][0]
    page = shown(f"date,ship,position,measure,value ({unit}) / 2026-06-01,Halberd,pump,{measure},{written}")
    assert told in page["rows"][0]["becomes"][0]


def test_a_reading_in_a_unit_nobody_knows_is_refused(shown: Any) -> None:
    page = shown("date,ship,position,measure,value,unit / 2026-06-01,Halberd,pump,pump seconds per litre,22,gal/h")
    assert [each["what"] for each in page["unread"]] == ["is in gal/h, and the records hold it in s/L"]


def test_a_no_against_a_sinking_on_record_is_shown_as_a_contradiction(pond: Desk, run: Run, write: Write) -> None:
    head = "date,ship,number,sank / 2026-06-01,Halberd,1"
    run("import", write(f"{head},yes"), *LATER, "--agree")
    page = run("import", write(f"{head},no"), *LATER, "--json").json
    assert "did not sink" in page["unread"][0]["what"]


def test_rows_without_a_number_never_change_another_sortie(pond: Desk, run: Run, write: Write, club: Path) -> None:
    first = "date,ship,sank,minutes / 2026-06-01,Halberd,no,20 / 2026-06-01,Halberd,yes,15"
    run("import", write(first), *LATER, "--agree")
    before = rows(club, "SELECT * FROM sortie")
    other = "date,ship,sank,minutes / 2026-06-01,Halberd,yes,15 / 2026-06-01,Halberd,no,20"
    assert "0 new, 2 known already" in run("import", write(other), *LATER).stdout
    page = run("import", write(other.replace("no,20", "no,25")), *LATER, "--json").json
    assert [each["row"] for each in page["unread"]] == [3]
    assert "(sortie 1)" in page["unread"][0]["what"]
    longer = write(f"{other} / 2026-06-01,Halberd,no,9")
    assert "1 new, 2 known already" in run("import", longer, *LATER).stdout
    assert rows(club, "SELECT * FROM sortie")[:2] == before
    assert rows(club, "SELECT max(number) FROM sortie") == [(3,)]


def test_a_sinking_logged_by_hand_is_not_doubled_nor_made_shallower(
    pond: Desk, run: Run, write: Write, club: Path
) -> None:
    run("sortie", "log", "halberd=W1", *LATER)
    run("sortie", "log", "halberd=W4:pumping", *LATER)
    before = rows(club, "SELECT * FROM sortie")
    assert run("import", write("date,ship,sank / 2026-09-20,Halberd,yes"), *LATER, "--agree").exit_code == 0
    assert rows(club, "SELECT * FROM sortie") == before


def test_a_change_of_captain_shows_both_and_asks_of_a_name_nearly_the_same(pond: Desk, run: Run, write: Write) -> None:
    run("member", "add", "Jon")
    run("member", "add", "John")
    run("import", write("Boat,Skipper / Halberd,Jon"), "--agree", "--means", "Jon=Jon")
    page = run("import", write("Boat,Skipper / Halberd,John"), "--json").json
    assert page["rows"][0]["becomes"] == ["changed ship: Halberd, Captain John (was Jon)"]
    assert _asked(page) == [("name", "John")]


def test_a_first_name_of_a_member_on_record_is_asked_about(pond: Desk, run: Run, write: Write) -> None:
    run("member", "add", "Wilma Stone")
    for short in ("Wilma", "W. Stone"):
        page = run("import", write(f"Boat,Skipper / Halberd,{short}"), "--json").json
        assert _asked(page) == [("name", short)]


def test_a_question_mark_is_a_doubt(shown: Any, run: Run, write: Write) -> None:
    text = "Date,Ship,Sank / 2026-06-03,Halberd?,Y? / 2026-06-04,Halberd,Y"
    assert _asked(shown(text)) == [("name", "Halberd?"), ("name", "Y?")]
    page = shown(text, "--means", "Halberd?=Halberd", "--means", "Y?=-")
    assert _asked(page) == []
    assert [("Ending sank" in each["becomes"][0]) for each in page["rows"]] == [False, True]


def test_a_new_family_is_asked_about_and_broken_parts_are_no_spares(shown: Any) -> None:
    page = shown("family,qty / standard servo (broken),3 / servo,2")
    assert _asked(page) == [("name", "servo")]
    assert "standard servo" in [each["answer"] for each in page["questions"][0]["choices"]]
    assert "told to be broken" in page["unread"][0]["what"]


def test_a_row_without_a_day_is_of_the_one_day_of_its_battle(pond: Desk, run: Run, write: Write) -> None:
    run("battle", "add", "June Balls", "--from", "2026-05-30")
    run("battle", "add", "Long Balls", "--from", "2026-05-23", "--until", "2026-05-24")
    text = "Ship,Battle,Sank / Halberd,June Balls,no / Gannet,Long Balls,no"
    page = run("import", write(text), "--kind", "sorties", "--json").json
    assert "2026-05-30" in page["rows"][0]["becomes"][-1]
    assert any("row without a day" in note for note in page["notes"])
    assert [(each["row"], each["mend"]) for each in page["unread"]] == [(3, "write the day")]


def test_a_reading_that_cannot_be_meant_is_refused_in_a_sheet_of_any_layout(
    pond: Desk, run: Run, write: Write, tmp_path: Path
) -> None:
    text = "date,ship,position,measure,value / 2026-06-01,Halberd,pump,pump seconds per litre,0.2"
    page = run("import", write(text), "--json").json
    assert page["unread"][0]["what"] == "pump seconds per litre can't be 0.2 s/L"
    ours = write(
        "Position,Measure,Value,Unit,Taken on / Halberd/pump,pump seconds per litre,0.2,s/L,2026-06-01", "x.csv"
    )
    folder = tmp_path / "ours"
    folder.mkdir()
    ours.rename(folder / "readings.csv")
    refused = run("import", folder)
    assert (refused.exit_code, "can't be 0.2 s/L" in refused.stderr) == (8, True)


def test_a_reading_on_record_that_cannot_be_meant_is_found(pond: Desk, run: Run, club: Path) -> None:
    assert run("reading", "add", "halberd/pump", "pump seconds per litre", "20").exit_code == 0
    assert "can't be meant" not in run("db", "check").stderr
    connection = sqlite3.connect(club)
    connection.execute("UPDATE reading SET value = 0.2")
    connection.commit()
    connection.close()
    assert "Halberd: pump seconds per litre of 0.2 s/L on 2026-06-01 can't be meant" in run("db", "check").stderr


def test_signs_that_steer_a_screen_are_refused(pond: Desk, run: Run, write: Write) -> None:
    page = run("import", write("Date,Ship,Sank,Note / 2026-06-01,Halberd,no,\x1b[31mred")).stdout
    assert "holds control characters" in page
    assert "\x1b" not in page


def test_rows_hidden_in_a_workbook_are_told_and_rows_struck_out_are_refused(
    pond: Desk, run: Run, tmp_path: Path
) -> None:
    import openpyxl
    from openpyxl.styles import Font

    book = openpyxl.Workbook()
    sheet = book.worksheets[0]
    for row in (["Date", "Ship", "Sank"], ["2026-05-01", "Halberd", "no"], ["2026-05-02", "Gannet", "yes"]):
        sheet.append(row)
    sheet.row_dimensions[2].hidden = True
    sheet["B3"].font = Font(strike=True)
    book.save(tmp_path / "log.xlsx")
    page = run("import", tmp_path / "log.xlsx", "--json").json
    assert "hidden in the workbook, and read all the same: row 2" in page["notes"]
    assert [(each["row"], "struck out" in each["what"]) for each in page["unread"]] == [(3, True)]


def test_lines_keep_within_a_narrow_screen(pond: Desk, run: Run, write: Write) -> None:
    text = "date,ship,sank,minutes,Shots (hundreds) / 2026-06-01,Halberd,yes,20,3 / 2026-06-01,Nobody,no,20,3"
    page = run("import", write(text), columns=80).stdout
    # A path in a command stays whole, to be copied.
    assert [line for line in page.splitlines() if len(line) > 80 and "/" not in line] == []


def test_a_column_that_was_empty_once_is_not_left_out_of_the_next_sheet(
    pond: Desk, run: Run, write: Write, club: Path
) -> None:
    head = "Date,Ship,Sank,Minutes / 2026-05-0"
    run("import", write(f"{head}1,Halberd,no,"), "--agree")
    run("import", write(f"{head}2,Halberd,no,20"), "--agree")
    assert rows(club, "SELECT minutes_afloat FROM sortie ORDER BY sailed_on") == [(None,), (20.0,)]


def test_two_sorties_of_one_length_are_told_apart_by_the_sinking(
    pond: Desk, run: Run, write: Write, club: Path
) -> None:
    head = "date,ship,sank,minutes / 2026-05-01,Halberd"
    run("import", write(f"{head},yes,20 / 2026-05-01,Halberd,no,20"), "--agree")
    before = rows(club, "SELECT * FROM sortie")
    again = run("import", write(f"{head},no,20 / 2026-05-01,Halberd,yes,20"), "--agree")
    assert "0 new, 2 known already" in again.stdout
    assert rows(club, "SELECT * FROM sortie") == before


def test_a_walk_answers_what_is_doubtful(pond: Desk, run: Run, write: Write, club: Path) -> None:
    text = "Date,Ship,Sank / 2026-05-03,Halberd?,Y? / 2026-05-04,Halberd,Y"
    assert run("import", write(text), "--ask", input="y\nn\ny\n").exit_code == 0
    assert rows(club, "SELECT ending FROM sortie ORDER BY sailed_on") == [(None,), ("sank",)]
    assert run("import", write("family,qty / servo,2"), "--ask", input="y\ny\n").exit_code == 0
    assert rows(club, "SELECT count(*) FROM part JOIN family ON family.id = family_id WHERE name = 'servo'") == [(2,)]
