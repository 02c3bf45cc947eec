"""A table in any CSV file: its columns by heading, and a refusal that names every faulty line at once."""

from __future__ import annotations

import csv
import difflib
import io
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from maintain.errors import InvalidRecord, NotFound

_ROWS_ARE_LINES = "rows are lines of the file, its heading is row 1; mend or leave out these rows; nothing was computed"


@dataclass(frozen=True)
class Table:
    """Headings, the line each row ends on, and the rows, all of the width of the heading; blank lines are left out."""

    headings: list[str]
    lines: list[int]
    cells: list[list[str]]

    def check(self, used: list[str], file: str) -> None:
        """Refuse columns that are not there, or there twice."""
        missing = [name for name in used if name not in self.headings]
        if missing:
            near = difflib.get_close_matches(missing[0], self.headings, n=1)
            hint = f"did you mean {near[0]}?" if near else f"its columns are: {', '.join(self.headings)}"
            raise NotFound(f"{file} has no column {missing[0]!r}", hint=hint)
        twice = [name for name in used if self.headings.count(name) > 1]
        if twice:
            hint = "give each column a heading of its own"
            raise InvalidRecord(f"{file} has more than one column headed {twice[0]!r}", hint=hint)

    def column(self, name: str | None, default: str = "") -> list[str]:
        """The cells under a heading; `default` in all rows if none is named."""
        place = self.headings.index(name) if name is not None else None
        return [default if place is None else row[place].strip() for row in self.cells]


def read_table(path: Path, row_is: str) -> Table:
    """
    Read a table; the separator may be a comma, a semicolon or a tab.

    Parameters
    ----------
    path : Path
    row_is : str
        What a row holds, for the hint if there is none: "one life".

    Raises
    ------
    NotFound, InvalidRecord
    """
    if not path.is_file():
        raise NotFound(f"no file at {path}", hint="name a CSV file that exists")
    try:
        text = path.read_bytes().decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise InvalidRecord(f"{path.name} holds letters that are not UTF-8", hint="save it as CSV UTF-8") from error
    if "\0" in text:
        line = text[: text.index("\0")].count("\n") + 1
        raise InvalidRecord(f"{path.name}: line {line} holds a NUL byte, which is no text", hint="save it as CSV UTF-8")
    first = text.split("\n", 1)[0]
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=max(",;\t", key=first.count), strict=True)
    lines: list[int] = []
    cells: list[list[str]] = []
    faults: dict[int, str] = {}
    try:
        headings = [each.strip() for each in next(reader, [])]
        for row in reader:
            if any(each.strip() for each in row):
                if any(each.strip() for each in row[len(headings) :]):
                    faults[len(lines)] = f"it has {len(row)} cells, the heading {len(headings)}"
                lines.append(reader.line_num)
                cells.append((row + [""] * len(headings))[: len(headings)])
    except csv.Error as error:
        hint = "look for a quotation mark that is not closed"
        raise InvalidRecord(
            f"{path.name} can't be read as a table: line {reader.line_num}: {error}", hint=hint
        ) from error
    if not cells:
        raise InvalidRecord(
            f"{path.name} holds no rows", hint=f"the first line names the columns, each other is {row_is}"
        )
    if faults:
        raise refused(faults, lines, "rows")
    return Table(headings, lines, cells)


def refused(faults: dict[int, str], lines: Sequence[int], noun: str = "lives") -> InvalidRecord:
    """Make the refusal that lists all faulty rows by their line."""
    rows = [{"row": lines[row], "reason": why} for row, why in sorted(faults.items())]
    listed = "\n".join(f"  row {each['row']}: {each['reason']}" for each in rows)
    return InvalidRecord(f"{len(rows)} of {len(lines)} {noun} refused:\n{listed}", hint=_ROWS_ARE_LINES, rows=rows)
