"""Files of any club to cells: workbooks with merged cells, texts in any encoding, and files that are none."""

from __future__ import annotations

import zipfile
from collections.abc import Callable
from datetime import date, datetime, time
from pathlib import Path
from typing import Any

import openpyxl
import pytest

from maintain.errors import FileRejected, NotFound
from maintain.exchange.own_sheets.grid import MOST_ROWS, Unreadable, read_grid
from tests.exchange.own_sheets.clubs import read

Book = Callable[..., Path]


@pytest.fixture
def book(tmp_path: Path) -> Book:
    """Write a workbook of one sheet: rows, and ranges to make one cell of."""

    def write(rows: list[list[Any]], *merged: str) -> Path:
        made = openpyxl.Workbook()
        for row in rows:
            made.active.append(row)
        for area in merged:
            made.active.merge_cells(area)
        path = tmp_path / "book.xlsx"
        made.save(path)
        return path

    return write


def test_a_cell_over_several_rows_belongs_to_each_of_them(book: Book) -> None:
    path = book(
        [
            ["Date", "Ship", "Minutes", "Shots"],
            [date(2026, 5, 3), "Halberd", 25, 50],
            [None, "Gannet", 20, None],
            [None, None, 30, 75],
        ],
        "A2:A4",
        "B3:B4",
        "D2:D3",
    )
    lines = read(path).lines
    assert [line.texts["date"] for line in lines] == ["2026-05-03"] * 3
    assert [line.texts["ship"] for line in lines] == ["Halberd", "Gannet", "Gannet"]
    # Fifty shots over two ships are neither fifty each nor all the first one's.
    assert [[fault.what for fault in line.faults] for line in lines] == [["is one cell over several rows"]] * 2 + [[]]


def test_headings_in_two_rows_with_merged_groups_are_read_together(book: Book) -> None:
    path = book(
        [
            ["Ship", "Date", "Hits", None, None, "Notes"],
            [None, None, "above", "on", "below", None],
            ["Halberd", date(2026, 5, 3), 3, 2, 1, "x"],
        ],
        "A1:A2",
        "B1:B2",
        "C1:E1",
    )
    understood = read(path)
    assert understood.header.headings == ("Ship", "Date", "Hits above", "Hits on", "Hits below", "Notes")
    texts = understood.lines[0].texts
    assert (texts["above"], texts["on"], texts["below"], texts["date"]) == ("3", "2", "1", "2026-05-03")


def test_a_formula_without_its_value_is_not_taken_for_an_empty_cell(book: Book) -> None:
    understood = read(book([["Ship", "Date", "Minutes"], ["Halberd", date(2026, 5, 3), "=20+5"]]))
    assert "never worked out" in understood.lines[0].faults[0].what


def test_a_time_of_day_and_an_error_of_the_spreadsheet_are_told(book: Book) -> None:
    rows = read_grid(
        book(
            [
                ["a", "b"],
                [time(0, 25), datetime.fromisoformat("2026-05-03 14:30")],
                ["#REF!", datetime.fromisoformat("2026-05-03")],
            ]
        )
    ).rows
    assert [isinstance(cell, Unreadable) for cell in rows[1]] == [True, True]
    assert isinstance(rows[2][0], Unreadable)
    assert rows[2][1] == date(2026, 5, 3)


def test_several_sheets_are_not_chosen_among_in_silence(tmp_path: Path) -> None:
    made = openpyxl.Workbook()
    for title in ("2025", "2026"):
        made.create_sheet(title).append(["Ship", "Date", title])
    path = tmp_path / "log.xlsx"
    made.save(path)
    with pytest.raises(FileRejected, match="several sheets") as refused:
        read_grid(path)
    assert "2025, 2026" in refused.value.hint
    grid = read_grid(path, "2026")
    assert grid.rows[0][2] == "2026"
    assert "2025" in grid.notes[0]
    with pytest.raises(FileRejected, match="no sheet"):
        read_grid(path, "2027")


@pytest.mark.parametrize(
    ("data", "what"),
    [
        (b"", "empty"),
        (b" \n\n;;\n", "empty"),
        (b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + b"\0" * 600, "password"),
        (b"PK\x03\x04 and then nothing", "not a whole XLSX"),
        (b'Ship,Date\n"Halberd,3 May 2026\n', "can't be read as a table"),
        (b"\xff\xfeS\x00h\x00i", "no text"),
        (b"Sh\0\0\0\0ip", "no text"),
    ],
)
def test_what_is_no_table_is_refused_with_a_reason(tmp_path: Path, data: bytes, what: str) -> None:
    path = tmp_path / "sheet.csv"
    path.write_bytes(data)
    with pytest.raises(FileRejected, match=what):
        read_grid(path)


def test_a_workbook_cut_short_is_refused(book: Book) -> None:
    path = book([["Ship", "Date"], ["Halberd", date(2026, 5, 3)]])
    path.write_bytes(path.read_bytes()[:-400])
    with pytest.raises(FileRejected, match="not a whole XLSX"):
        read_grid(path)


def test_an_archive_that_is_no_workbook_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "sheet.xlsx"
    with zipfile.ZipFile(path, "w") as packed:
        packed.writestr("content.xml", "<x/>")
    with pytest.raises(FileRejected, match="not a whole XLSX"):
        read_grid(path)


def test_a_sheet_larger_than_any_club_keeps_is_refused_at_once(tmp_path: Path) -> None:
    path = tmp_path / "log.csv"
    path.write_text("Ship,Date\n" + "Halberd,2026-05-03\n" * 100_000, encoding="utf-8")
    with pytest.raises(FileRejected, match=str(MOST_ROWS)):
        read_grid(path)


def test_a_workbook_that_unpacks_to_far_more_than_it_is_is_refused_before_it_is_unpacked(tmp_path: Path) -> None:
    path = tmp_path / "log.xlsx"
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as packed:
        packed.writestr("xl/worksheets/sheet1.xml", b"0" * 60_000_000)
    assert path.stat().st_size < 100_000
    with pytest.raises(FileRejected, match="too large"):
        read_grid(path)


def test_no_file_is_not_found(tmp_path: Path) -> None:
    with pytest.raises(NotFound):
        read_grid(tmp_path / "none.csv")


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "utf-16-be", "cp1252", "latin-1"])
@pytest.mark.parametrize("separator", [",", ";", "\t", "|"])
def test_letters_and_separators_of_any_country_are_read(tmp_path: Path, encoding: str, separator: str) -> None:
    path = tmp_path / "sheet.csv"
    path.write_bytes(f"Ship{separator}Notes\r\nHalberd{separator}naïve über\r\n".encode(encoding))
    assert read_grid(path).rows == (("Ship", "Notes"), ("Halberd", "naïve über"))


def test_rows_keep_the_numbers_a_spreadsheet_shows_also_below_a_cell_of_several_lines(tmp_path: Path) -> None:
    path = tmp_path / "sheet.csv"
    path.write_text('Ship,Notes\n"Hal\nberd",x\n\nGannet,y\n', encoding="utf-8")
    assert len(read_grid(path).rows) == 4
