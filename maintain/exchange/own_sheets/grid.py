"""A file of any club to a grid of cells: text of any encoding and separator, or one sheet of a workbook."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from pathlib import Path
from typing import Any

from maintain.errors import FileRejected, NotFound

MOST_ROWS = 10_000
MOST_COLUMNS = 200
_MOST_BYTES = 50_000_000  # of text, also of a workbook's once it is unpacked
_SEPARATORS = (",", ";", "\t", "|")
_ZIP, _LOCKED = b"PK\x03\x04", b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"
_NULS_OF_WIDE_TEXT = 4  # of so many bytes of UTF-16 in these scripts at least one is NUL
_STEERING = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\u202a-\u202e\u2066-\u2069]")
_NO_VALUE = "is a formula whose value was never worked out"
_WORK_OUT = "open the file in a spreadsheet, save it, and import it again"


@dataclass(frozen=True)
class Unreadable:
    """A cell that holds something else than a value."""

    what: str
    mend: str


Cell = str | int | float | bool | date | Unreadable  # an empty cell is an empty text


@dataclass(frozen=True)
class Grid:
    """
    The cells of a file.

    Attributes
    ----------
    file : str
        What to call it in a message.
    sheet : str
        Name of the worksheet; empty for a text.
    rows : tuple of tuple
        All rows, also blank ones, so that row n of the file is `rows[n - 1]`; all of one width.
    merged : frozenset of (int, int)
        Cells (row, column, both from 0) that a person made one over several rows; all hold the value of the first.
    notes : tuple of str
        How it was read.
    struck_out : frozenset of int
        Rows, from 0, of which a cell is struck out.
    """

    file: str
    sheet: str
    rows: tuple[tuple[Cell, ...], ...]
    merged: frozenset[tuple[int, int]] = frozenset()
    notes: tuple[str, ...] = ()
    struck_out: frozenset[int] = frozenset()


def read_grid(path: Path, sheet: str | None = None) -> Grid:
    """
    Read a file whose layout nobody knows yet.

    Parameters
    ----------
    path : Path
    sheet : str, optional
        Which sheet of a workbook; needed if several hold something.

    Raises
    ------
    NotFound, FileRejected
    """
    if not path.is_file():
        raise NotFound(f"no file at {path}", hint="name a CSV or XLSX file that exists")
    if path.stat().st_size > _MOST_BYTES:
        raise _too_large(path)
    data = path.read_bytes()
    if data.startswith(_LOCKED):
        hint = "take the password off, or save an old .xls as .xlsx or CSV"
        raise FileRejected(f"{path.name} is locked by a password, or in the format of before XLSX", hint=hint)
    if path.suffix.lower() in (".xlsx", ".xlsm") and not data.startswith(_ZIP):
        raise FileRejected(f"{path.name} is not an XLSX file", hint="save it again as .xlsx or as CSV")
    grid = _workbook(path, data, sheet) if data.startswith(_ZIP) else _text(path, data, sheet)
    if not any(cell != "" for row in grid.rows for cell in row):
        raise FileRejected(f"{path.name} is empty", hint="name a file with a table in it")
    return grid


def _too_large(path: Path) -> FileRejected:
    return FileRejected(
        f"{path.name} is too large for a club's own sheet (more than {MOST_ROWS} rows, {MOST_COLUMNS} columns or "
        f"{_MOST_BYTES // 1_000_000} MB)",
        hint="split it, or bring it under the headings of docs/files.md, which know no such bound",
    )


def _text(path: Path, data: bytes, sheet: str | None) -> Grid:
    if sheet is not None:
        raise FileRejected(f"{path.name} is a text and has no sheets", hint="leave out --sheet")
    text, encoding = _decoded(path, data)
    separator = _separator(text)
    rows: list[list[str]] = []
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=separator, strict=True)
    try:
        for row in reader:
            rows.append(row)
            if len(rows) > MOST_ROWS + 1 and sum(map(any, rows)) > MOST_ROWS:
                raise _too_large(path)
    except csv.Error as error:
        hint = "look for a quotation mark that is not closed or not doubled"
        raise FileRejected(
            f"{path.name} can't be read as a table: line {reader.line_num}: {error}", hint=hint
        ) from error
    spoken = {",": "commas", ";": "semicolons", "\t": "tabs", "|": "upright bars"}[separator]
    notes = (f"cells separated by {spoken}", *((f"letters read as {encoding}",) if encoding != "UTF-8" else ()))
    return Grid(path.name, "", _squared(path, [[_from_text(cell) for cell in row] for row in rows]), notes=notes)


def _decoded(path: Path, data: bytes) -> tuple[str, str]:
    """The text of a file, and the encoding it turned out to have."""
    for mark, codec, name in (
        (b"\xef\xbb\xbf", "utf-8-sig", "UTF-8"),
        (b"\xff\xfe", "utf-16", "UTF-16"),
        (b"\xfe\xff", "utf-16", "UTF-16"),
    ):
        if data.startswith(mark):
            return _strictly(path, data, codec), name
    if data[:4000].count(b"\0") > len(data[:4000]) // _NULS_OF_WIDE_TEXT:
        codec = "utf-16-le" if data[:4000].find(b"\0") % 2 else "utf-16-be"
        return _strictly(path, data, codec), "UTF-16"
    for codec, name in (("utf-8", "UTF-8"), ("cp1252", "Windows-1252")):
        try:
            return data.decode(codec), name
        except UnicodeDecodeError:
            continue
    return data.decode("latin-1"), "Latin-1"


def _strictly(path: Path, data: bytes, codec: str) -> str:
    try:
        text = data.decode(codec)
    except UnicodeDecodeError as error:
        raise FileRejected(f"{path.name} is no text: {error.reason}", hint="save it again as CSV UTF-8") from error
    if "\0" in text:
        raise FileRejected(f"{path.name} is no text: it holds NUL bytes", hint="save it again as CSV UTF-8")
    return text


def _separator(text: str) -> str:
    """The separator that cuts most lines into the same number of cells, and into most cells."""
    lines = [line for line in text.splitlines()[:200] if line.strip()]

    def agreement(separator: str) -> tuple[int, int]:
        try:
            widths = [len(row) for row in csv.reader(lines, delimiter=separator)]
        except csv.Error:
            return 0, 0
        wide = [width for width in widths if width > 1]
        usual = max(set(wide), key=lambda width: (wide.count(width), width), default=0)
        return wide.count(usual) * (usual - 1), usual

    return max(_SEPARATORS, key=agreement)


def _from_text(cell: str) -> Cell:
    cell = _cleaned(cell)
    if cell.startswith("="):
        return Unreadable(f"{cell[:40]!r} is a formula, not its value", "save the file with values, not formulas")
    return _unfit(cell) or cell


def _cleaned(text: str) -> str:
    return text.replace("\N{NO-BREAK SPACE}", " ").replace("\N{NARROW NO-BREAK SPACE}", " ").strip()


def _unfit(text: str) -> Unreadable | None:
    """What a spreadsheet writes where a formula failed, and signs that steer a screen instead of being read."""
    if _STEERING.search(text):
        shown = _STEERING.sub("\N{REPLACEMENT CHARACTER}", text)[:40]
        return Unreadable(f"{shown!r} holds control characters", "write it anew, without them")
    failed = text in ("#N/A", "#REF!", "#VALUE!", "#DIV/0!", "#NAME?", "#NULL!", "#NUM!") or set(text) == {"#"}
    return Unreadable(f"{text!r} is an error of the spreadsheet", "write the value") if failed else None


def _squared(path: Path, rows: Sequence[Sequence[Cell]]) -> tuple[tuple[Cell, ...], ...]:
    """All rows as wide as the widest that holds something; blank rows at the end are cut off."""
    width = max((number for row in rows for number, cell in enumerate(row, 1) if cell != ""), default=0)
    if width > MOST_COLUMNS:
        raise _too_large(path)
    last = max((number for number, row in enumerate(rows, 1) if any(cell != "" for cell in row)), default=0)
    return tuple(tuple((*row, *[""] * width)[:width]) for row in rows[:last])


def _workbook(path: Path, data: bytes, sheet: str | None) -> Grid:
    import warnings
    import zipfile
    from xml.etree.ElementTree import ParseError

    broken = (zipfile.BadZipFile, KeyError, ValueError, OSError, EOFError, IndexError, TypeError, ParseError)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # about decoration the library does not know
        try:
            with zipfile.ZipFile(io.BytesIO(data)) as packed:
                if sum(each.file_size for each in packed.infolist()) > _MOST_BYTES:
                    raise _too_large(path)
            name, others = _chosen(path, data, sheet)
            return _worksheet(path, data, name, others)
        except broken as error:
            raise FileRejected(
                f"{path.name} is not a whole XLSX file", hint="save it again as .xlsx or as CSV"
            ) from error


def _chosen(path: Path, data: bytes, wanted: str | None) -> tuple[str, list[str]]:
    """The sheet to read, and those that hold something besides; too many rows are noticed here, before all are read."""
    import openpyxl

    book = openpyxl.load_workbook(io.BytesIO(data), read_only=True, data_only=True)
    try:
        filled: dict[str, int] = {}
        for each in book.worksheets:
            count = 0
            for row in each.iter_rows(values_only=True):
                count += any(value is not None for value in row)
                if count > MOST_ROWS:
                    break
            if count:
                filled[each.title] = count
    finally:
        book.close()
    named = [title for title in filled if wanted is None or title.strip().lower() == wanted.strip().lower()]
    if not filled:
        raise FileRejected(f"{path.name} is empty", hint="name a file with a table in it")
    if len(named) != 1:
        what = f"has no sheet {wanted!r}" if wanted is not None and not named else "has several sheets"
        raise FileRejected(f"{path.name} {what}", hint=f"say which with --sheet: {', '.join(filled)}", sheets=[*filled])
    if filled[named[0]] > MOST_ROWS:
        raise _too_large(path)
    return named[0], [title for title in filled if title != named[0]]


def _worksheet(path: Path, data: bytes, name: str, others: Sequence[str]) -> Grid:
    import openpyxl

    values = openpyxl.load_workbook(io.BytesIO(data), data_only=True)
    formulas = openpyxl.load_workbook(io.BytesIO(data), data_only=False)[name]
    sheet = values[name]
    rows = [
        [_from_cell(value, formula.value) for value, formula in zip(row, written, strict=True)]
        for row, written in zip(sheet.iter_rows(values_only=True), formulas.iter_rows(), strict=True)
    ]
    merged = set()
    for area in sheet.merged_cells.ranges:
        if area.max_row > area.min_row:
            for row in range(area.min_row - 1, min(area.max_row, len(rows))):
                merged.add((row, area.min_col - 1))
                rows[row][area.min_col - 1] = rows[area.min_row - 1][area.min_col - 1]
    notes = [f"other sheets of the file are not read: {', '.join(others)}"] if others else []
    hidden = [number for number in range(1, len(rows) + 1) if sheet.row_dimensions[number].hidden]
    notes += [f"hidden in the workbook, and read all the same: row {', '.join(map(str, hidden))}"] if hidden else []
    return Grid(path.name, name, _squared(path, rows), frozenset(merged), tuple(notes), _struck_out(sheet))


def _struck_out(sheet: Any) -> frozenset[int]:
    """Rows, from 0, of which somebody struck out a cell."""
    return frozenset(
        cell.row - 1
        for row in sheet.iter_rows()
        for cell in row
        if cell.value is not None and cell.font is not None and cell.font.strike
    )


def _from_cell(value: Any, formula: Any) -> Cell:
    """A value as a workbook keeps it; what no record can hold is told apart here."""
    if value is None:
        return Unreadable(_NO_VALUE, _WORK_OUT) if isinstance(formula, str) and formula.startswith("=") else ""
    if isinstance(value, datetime):
        return value.date() if value.time() == time.min else Unreadable(f"{value} has a time of day", "write the day")
    if isinstance(value, time | timedelta):
        return Unreadable(f"{value} is a time of day", "write minutes as a number")
    if isinstance(value, float) and value.is_integer() and abs(value) < 1e15:
        return int(value)
    if isinstance(value, bool | int | float | date):
        return value
    return _unfit(_cleaned(str(value))) or _cleaned(str(value))


def as_text(cell: Cell) -> str:
    """A cell as a reader sees it."""
    if isinstance(cell, Unreadable):
        return cell.what
    if isinstance(cell, bool):
        return "yes" if cell else "no"
    return cell.isoformat() if isinstance(cell, date) else str(cell)


def filled(row: Iterable[Cell]) -> list[int]:
    """The places of a row that hold something."""
    return [number for number, cell in enumerate(row) if cell != ""]
