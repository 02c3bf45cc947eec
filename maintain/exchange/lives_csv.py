"""Lives read from any CSV file, by the names of its columns."""

from __future__ import annotations

import csv
import difflib
import io
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from maintain.core.lives import Bools, Floats, Lives, life_faults
from maintain.errors import InvalidRecord, NotFound

EVENT_WORDS = {
    **dict.fromkeys(("1", "1.0", "true", "yes", "failed"), True),
    **dict.fromkeys(("0", "0.0", "false", "no", "censored"), False),
}
_ROWS_ARE_LINES = "rows are lines of the file, its heading is row 1; mend or leave out these rows; nothing was computed"


@dataclass(frozen=True)
class LifeColumns:
    """
    Headings of the columns that hold each thing; None: the file does not say.

    Attributes
    ----------
    time : str, optional
        Use at which a part failed or was last seen.
    entry : str, optional
        Use already on it when observation began; default 0.
    event : str, optional
        Whether it failed; default: all did.
    lower, upper : str, optional
        The failure lies in (lower, upper]; a blank or infinite upper: it still worked at lower. Where a row leaves
        both blank, its `time` counts.
    by : str, optional
        The group.
    """

    time: str | None
    entry: str | None = None
    event: str | None = None
    lower: str | None = None
    upper: str | None = None
    by: str | None = None


@dataclass(frozen=True)
class LivesRead:
    """Lives, and the group of each ("" where there is no column for it)."""

    lives: Lives
    group: tuple[str, ...]


def read_lives(path: Path, columns: LifeColumns) -> LivesRead:
    """
    Read lives from a CSV file.

    Raises
    ------
    NotFound
        If there is no such file or column.
    InvalidRecord
        If the file is no table, or any row is no life; all such rows are listed with their reasons.
    """
    if (columns.lower is None) != (columns.upper is None) or columns.time is columns.lower is None:
        raise InvalidRecord(
            "it is not said which columns hold the times", hint="name --time, or --lower and --upper (or all three)"
        )
    headings, lines, cells = _table(path)
    used = [name for name in vars(columns).values() if name is not None]
    missing = [name for name in used if name not in headings]
    if missing:
        near = difflib.get_close_matches(missing[0], headings, n=1)
        hint = f"did you mean {near[0]}?" if near else f"its columns are: {', '.join(headings)}"
        raise NotFound(f"{path.name} has no column {missing[0]!r}", hint=hint)

    def column(name: str | None, default: str = "") -> list[str]:
        place = headings.index(name) if name is not None else None
        return [default if place is None else row[place].strip() for row in cells]

    faults: dict[int, str] = {}
    group = column(columns.by)
    _collect(faults, _faulty(group, lambda text: columns.by is not None and not text, "the group is missing"))
    event = [text.lower() for text in column(columns.event, "1")]
    _collect(faults, _faulty(event, lambda text: text not in EVENT_WORDS, f"{columns.event} is neither failed nor not"))
    failed = np.array([EVENT_WORDS.get(text, True) for text in event], dtype=bool)
    lower, upper = _exact(column(columns.time), failed)
    if columns.lower is not None:
        lower, upper = _intervals(column(columns.lower), column(columns.upper), failed, (lower, upper))
    entry = _numbers(column(columns.entry, "0"))
    _collect(faults, [(row - 1, why) for row, why in life_faults(entry, lower, upper)])
    if faults:
        raise _refused(faults, lines)
    return LivesRead(Lives(entry, lower, upper), tuple(group))


def _table(path: Path) -> tuple[list[str], list[int], list[list[str]]]:
    """Headings, the line each row ends on, and the rows, all of the width of the heading; blank lines are left out."""
    if not path.is_file():
        raise NotFound(f"no file at {path}", hint="name a CSV file that exists")
    try:
        text = path.read_bytes().decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise InvalidRecord(f"{path.name} holds letters that are not UTF-8", hint="save it as CSV UTF-8") from error
    first = text.split("\n", 1)[0]
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=max(",;\t", key=first.count), strict=True)
    lines, cells = [], []
    try:
        headings = [each.strip() for each in next(reader, [])]
        for row in reader:
            if any(each.strip() for each in row):
                lines.append(reader.line_num)
                cells.append((row + [""] * len(headings))[: len(headings)])
    except csv.Error as error:
        hint = "look for a quotation mark that is not closed"
        raise InvalidRecord(
            f"{path.name} can't be read as a table: line {reader.line_num}: {error}", hint=hint
        ) from error
    if not cells:
        raise InvalidRecord(
            f"{path.name} holds no rows", hint="the first line names the columns, each other is one life"
        )
    return headings, lines, cells


def _numbers(texts: Sequence[str]) -> Floats:
    """Numbers; nan where a cell is blank or no number."""

    def number(text: str) -> float:
        try:
            return float(text)
        except ValueError:
            return float("nan")

    return np.array([number(text) for text in texts], dtype=np.float64)


def _exact(time: Sequence[str], failed: Bools) -> tuple[Floats, Floats]:
    out = _numbers(time)
    return out, np.where(failed, out, np.inf)


def _intervals(
    low: Sequence[str], high: Sequence[str], failed: Bools, exact: tuple[Floats, Floats]
) -> tuple[Floats, Floats]:
    """Read both ends; a row without any has the exact time instead."""
    lower, upper = _numbers(low), _numbers(high)
    no_low, no_high = (np.array([not text for text in texts], dtype=bool) for texts in (low, high))
    upper = np.where(no_high | (~failed & ~np.isnan(upper)), np.inf, upper)
    neither = no_low & no_high
    return np.where(neither, exact[0], lower), np.where(neither, exact[1], upper)


def _faulty(texts: Sequence[str], bad: Callable[[str], bool], why: str) -> list[tuple[int, str]]:
    return [(row, why) for row, text in enumerate(texts) if bad(text)]


def _collect(faults: dict[int, str], found: list[tuple[int, str]]) -> None:
    for row, why in found:
        faults.setdefault(row, why)


def _refused(faults: dict[int, str], lines: Sequence[int]) -> InvalidRecord:
    rows = [{"row": lines[row], "reason": why} for row, why in sorted(faults.items())]
    listed = "\n".join(f"  row {each['row']}: {each['reason']}" for each in rows)
    return InvalidRecord(f"{len(rows)} of {len(lines)} lives refused:\n{listed}", hint=_ROWS_ARE_LINES, rows=rows)
