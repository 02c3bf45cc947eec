"""Files to rows of cells: CSV as spreadsheets of any country save it, or the sheets of a workbook."""

from __future__ import annotations

import csv
import difflib
import io
import zipfile
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path
from typing import Any

from maintain.errors import NotFound
from maintain.exchange.fault import Fault
from maintain.exchange.field import Field, Sheet
from maintain.exchange.layout import SHEETS

_SHEETS = {sheet.name: sheet for sheet in SHEETS}


@dataclass(frozen=True)
class Page:
    """
    The cells of one file, or of one sheet of a workbook.

    Attributes
    ----------
    file : str
        What to call it in a message.
    sheet : Sheet
        What it holds.
    fields : tuple of Field
        Its columns, in its own order.
    rows : tuple of (int, tuple of str)
        Row number and one cell a column, without the blank rows.
    """

    file: str
    sheet: Sheet
    fields: tuple[Field, ...]
    rows: tuple[tuple[int, tuple[str, ...]], ...]


Found = tuple[list[Page], list[Fault]]


def read_path(path: Path) -> Found:
    """
    Read a folder of our files, one CSV, or a workbook.

    Raises
    ------
    NotFound
        If there is nothing there to read.
    """
    if path.is_dir():
        files = sorted(each for each in path.iterdir() if each.suffix.lower() == ".csv")
        if not files:
            raise NotFound(f"{path} holds no CSV files", hint="see docs/files.md for the files and their headings")
        return _joined(_read_csv(each) for each in files)
    if not path.is_file():
        raise NotFound(f"no file or folder at {path}", hint="name a folder of CSV files, one CSV file, or an XLSX file")
    return _read_workbook(path) if path.suffix.lower() in (".xlsx", ".xlsm") else _read_csv(path)


def in_our_layout(path: Path) -> bool:
    """Whether a file is one of ours by its name, or by the names of its sheets, and not somebody's own of that name."""
    if not path.is_file():
        return True  # a folder of ours, or nothing at all, which is told as such
    with path.open("rb") as file:
        start = file.read(4096)
    if start.startswith(b"PK\x03\x04"):
        return _has_our_sheets(path)
    sheet = _SHEETS.get(path.stem.lower())
    if sheet is None:
        return False
    text = next(iter(start.decode("utf-8-sig", errors="replace").splitlines()), "")
    return _mostly_ours(sheet, [each.strip('" \r') for each in text.split(_separator(text, sheet))])


def _mostly_ours(sheet: Sheet, headings: Sequence[str]) -> bool:
    """Whether at least half of the headings are those of our file; none at all are told as a fault of it."""
    folded = [each.lower() for each in headings if each]
    known = {field.heading.lower() for field in sheet.fields}
    return 2 * sum(each in known for each in folded) >= len(folded)


def _has_our_sheets(path: Path) -> bool:
    import openpyxl

    try:
        book = openpyxl.load_workbook(path, read_only=True)
    except (zipfile.BadZipFile, KeyError, ValueError, OSError, EOFError):
        return False
    try:
        for each in book.worksheets:
            sheet = _SHEETS.get(each.title.strip().removesuffix(".csv").lower())
            first = next(each.iter_rows(max_row=1, values_only=True), ())
            if sheet is not None and _mostly_ours(sheet, [_cell_text(value).strip() for value in first]):
                return True
        return False
    finally:
        book.close()


def _joined(found: Iterable[Found]) -> Found:
    pages: list[Page] = []
    faults: list[Fault] = []
    for some_pages, some_faults in found:
        pages += some_pages
        faults += some_faults
    return pages, faults


def _read_csv(path: Path) -> Found:
    sheet, faults = _sheet_called(path.stem, path.name)
    if sheet is None:
        return [], faults
    data = path.read_bytes()
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        row = data[: error.start].count(b"\n") + 1
        return [], [Fault(path.name, row, "", "holds letters that are not UTF-8", "save it as CSV UTF-8")]
    if "\0" in text:
        row = text[: text.index("\0")].count("\n") + 1
        return [], [Fault(path.name, row, "", "holds a NUL byte, which is no text", "save it as CSV UTF-8")]
    rows = csv.reader(io.StringIO(text, newline=""), delimiter=_separator(text, sheet), strict=True)
    cells: list[list[str]] = []
    try:
        cells.extend(rows)
    except csv.Error as error:
        mend = "look for a quotation mark that is not closed or not doubled"
        return [], [Fault(path.name, len(cells) + 1, "", f"can't be read as a table: {error}", mend)]
    return _page(path.name, sheet, cells)


def _read_workbook(path: Path) -> Found:
    import warnings

    import openpyxl

    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # about decoration the library does not know
        try:
            book = openpyxl.load_workbook(path, read_only=True, data_only=True)
        except (zipfile.BadZipFile, KeyError, ValueError, OSError):
            return [], [Fault(path.name, 0, "", "is not an XLSX file", "save it again as .xlsx")]
        try:
            return _joined(_read_worksheet(path.name, each) for each in book.worksheets)
        finally:
            book.close()


def _read_worksheet(file: str, worksheet: Any) -> Found:
    cells = [[_cell_text(value) for value in row] for row in worksheet.iter_rows(values_only=True)]
    if not any(any(row) for row in cells):
        return [], []
    name = f"{file} [{worksheet.title}]"
    sheet, faults = _sheet_called(worksheet.title.strip().removesuffix(".csv"), name)
    return _page(name, sheet, cells) if sheet else ([], faults)


def _cell_text(value: Any) -> str:
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        return repr(value).removesuffix(".0")
    if isinstance(value, datetime) and value.time() == datetime.min.time():
        return value.date().isoformat()
    return value.isoformat() if isinstance(value, date) else str(value)


def _sheet_called(name: str, file: str) -> tuple[Sheet | None, list[Fault]]:
    sheet = _SHEETS.get(name.lower())
    if sheet:
        return sheet, []
    near = difflib.get_close_matches(name.lower(), _SHEETS, n=1)
    mend = f"did you mean {near[0]}?" if near else f"call it one of: {', '.join(_SHEETS)}"
    return None, [Fault(file, 0, "", "is not the name of one of our files", mend)]


def _separator(text: str, sheet: Sheet) -> str:
    """The separator that makes most known headings of the first line."""
    first = text.split("\n", 1)[0]
    known = {field.heading.lower() for field in sheet.fields}

    def headings(separator: str) -> int:
        return sum(each.strip('" \r').lower() in known for each in first.split(separator))

    return max(",;\t", key=headings)


def _page(file: str, sheet: Sheet, cells: Sequence[Sequence[str]]) -> Found:
    """Match the headings; keep the rows that are not blank, each with its number."""
    headings = [each.strip() for each in cells[0]] if cells else []
    by_heading = {field.heading.lower(): field for field in sheet.fields}
    fields = [by_heading.get(each.lower()) for each in headings]
    faults = list(_heading_faults(file, sheet, headings))
    used = [number for number, field in enumerate(fields) if field is not None]
    kept = []
    for row, line in enumerate(cells[1:], 2):
        stripped = [each.strip() for each in line]
        if not any(stripped):
            continue
        stray = [each for number, each in enumerate(stripped) if each and (headings[number:] or [""])[0] == ""]
        if stray:
            mend = "give the column a heading; a text that holds the separator needs quotation marks around it"
            faults.append(Fault(file, row, "", f"{stray[0]!r} stands under no heading", mend))
        kept.append((row, tuple(stripped[number] if number < len(stripped) else "" for number in used)))
    return [Page(file, sheet, tuple(field for field in fields if field), tuple(kept))], faults


def _heading_faults(file: str, sheet: Sheet, headings: Sequence[str]) -> Iterator[Fault]:
    known = {field.heading.lower(): field.heading for field in sheet.fields}
    seen: set[str] = set()
    for heading in filter(None, headings):
        folded = heading.lower()
        if folded not in known:
            near = difflib.get_close_matches(folded, known, n=1)
            mend = f"did you mean {known[near[0]]}?" if near else f"the headings are: {', '.join(known.values())}"
            yield Fault(file, 1, heading, "is not a heading of this file", mend)
        if folded in seen:
            yield Fault(file, 1, heading, "stands twice", "keep one of the two columns")
        seen.add(folded)
    for field in sheet.fields:
        if field.needed and field.heading.lower() not in seen:
            yield Fault(file, 1, field.heading, "is missing", f"add the column: {field.meaning}")
