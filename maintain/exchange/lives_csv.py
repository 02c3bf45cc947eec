"""Lives read from any CSV file, by the names of its columns."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from maintain.core.at_risk import overlap_words
from maintain.core.lives import Bools, Floats, Lives, life_faults
from maintain.core.spells import joined
from maintain.errors import InvalidRecord
from maintain.exchange.any_table import Table, read_table, refused
from maintain.exchange.table_csv import EVENT_WORDS, collect, faulty, numbers

NO_CAUSE = frozenset(("", "0", "0.0", "none", "censored"))
MISSING = frozenset(("", "na", "nan"))
LARGEST = 1e100  # of a number that lives differ by: squares must stay numbers
WITH_COMMA = "{} is {}: write decimals with a point, and thousands without a comma"
MOST_CODES = 10  # a column of numbers with more values than this holds measurements: a word among them is a slip


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
    cause : str, optional
        What it failed by; blank, 0, none or censored: it did not fail. Without `event`, it failed where this names a
        cause.
    cluster : str, optional
        What lives share their luck by.
    part : str, optional
        Whose life a row is part of: rows of one part follow one another, and none overlap.
    further : tuple of str
        Columns by which lives differ.
    """

    time: str | None
    entry: str | None = None
    event: str | None = None
    lower: str | None = None
    upper: str | None = None
    by: str | None = None
    cause: str | None = None
    cluster: str | None = None
    part: str | None = None
    further: tuple[str, ...] = ()

    def headings(self) -> list[str]:
        """All columns that are named."""
        single = [value for name, value in vars(self).items() if name != "further"]
        return [name for name in (*single, *self.further) if name is not None]


@dataclass(frozen=True)
class LivesRead:
    """
    Lives and what else the file says of them; all by life.

    Attributes
    ----------
    lives : Lives
        Spells of one part that follow one another without a gap, and are alike in all labels, are one life.
    group, cause, cluster, part : tuple of str
        "" where there is no column for it; the cause also where it did not fail.
    further : dict of array
        By heading: numbers where all cells are numbers, else texts.
    incomplete : dict of tuple of int
        By heading of a label: lines left out because it is missing there.
    rows : int
        Rows in the file, with those left out.
    twice : tuple of int
        Lines that are like an earlier one in every column, where no column says whose life each is.
    """

    lives: Lives
    group: tuple[str, ...]
    cause: tuple[str, ...]
    cluster: tuple[str, ...]
    part: tuple[str, ...]
    further: dict[str, NDArray[Any]]
    incomplete: dict[str, tuple[int, ...]]
    rows: int
    twice: tuple[int, ...]


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
    table = read_table(path, "one life")
    table.check(columns.headings(), path.name)
    faults: dict[int, str] = {}
    lives = _lives(table, columns, faults)
    values = {name: _values(table.column(name), faults, name) for name in columns.further}
    if faults:
        raise refused(faults, table.lines)
    named = tuple(name for name in (columns.by, columns.cluster, columns.part) if name is not None)
    labels = {name: _labels(table.column(name)) for name in named}
    whole, incomplete = _complete({**labels, **values}, table.lines)
    rows = np.flatnonzero(whole)
    lives = lives.take(rows)
    if columns.part is not None and rows.size:
        others = [each for each in columns.headings() if each in labels or each in values]
        alike = _alike([table.column(name) for name in others], rows)
        lives, last = _joined(lives, labels[columns.part][rows], alike, [table.lines[row] for row in rows.tolist()])
        rows = rows[last]
    cause = np.array(["" if text.lower() in NO_CAUSE else text for text in table.column(columns.cause)], dtype=object)

    def kept(name: str | None) -> tuple[str, ...]:
        return ("",) * rows.size if name is None else tuple(labels[name][rows].tolist())

    return LivesRead(
        lives=lives,
        group=kept(columns.by),
        cause=tuple(cause[rows].tolist()),
        cluster=kept(columns.cluster),
        part=kept(columns.part),
        further={name: each[rows] for name, each in values.items()},
        incomplete=incomplete,
        rows=len(table.lines),
        twice=() if columns.part is not None else _twice(table),
    )


def _lives(table: Table, columns: LifeColumns, faults: dict[int, str]) -> Lives:
    """Times of all rows; those that are no lives are added to the faults."""
    told = [text.lower() for text in table.column(columns.cause)]
    cause = [text not in NO_CAUSE for text in told]
    said = f"{columns.cause} is missing (write none if it did not fail, unknown if nobody knows by what)"
    collect(faults, faulty(told, lambda text: text in MISSING - NO_CAUSE, said))
    if columns.event is None and columns.cause is not None:
        failed = np.array(cause, dtype=bool)
    else:
        event = [text.lower() for text in table.column(columns.event, "1")]
        said = f"{columns.event} is neither failed nor not"
        collect(faults, faulty(event, lambda text: text not in EVENT_WORDS, said))
        failed = np.array([EVENT_WORDS.get(text, True) for text in event], dtype=bool)
    if columns.cause is not None:
        said = f"it failed, but {columns.cause} names no cause (write unknown)"
        collect(faults, [(row, said) for row, named in enumerate(cause) if failed[row] and not named])
    for name in (columns.time, columns.entry, columns.lower, columns.upper):
        texts = table.column(name)
        collect(faults, [(row, WITH_COMMA.format(name, texts[row])) for row in _with_comma(texts)])
    lower, upper = _exact(table.column(columns.time), failed)
    if columns.lower is not None:
        lower, upper = _intervals(table.column(columns.lower), table.column(columns.upper), failed, (lower, upper))
    entry = numbers(table.column(columns.entry, "0"))
    collect(faults, [(row - 1, why) for row, why in life_faults(entry, lower, upper)])
    return Lives(entry, lower, upper)


def _values(texts: Sequence[str], faults: dict[int, str], name: str) -> NDArray[Any]:
    """Numbers, or texts where the cells are words; None or nan where one is missing."""
    told = [text.lower() not in MISSING for text in texts]
    found = numbers(texts)
    huge = np.abs(found) > LARGEST
    collect(faults, [(row, f"{name} is too large a number: {texts[row]}") for row in np.flatnonzero(huge).tolist()])
    odd = [row for row, here in enumerate(told) if here and np.isnan(found[row])]
    if not odd:
        return found
    if np.unique(found[np.isfinite(found)]).size > MOST_CODES:
        collect(faults, [(row, f"{name} is a number elsewhere, here it is {texts[row]!r}") for row in odd])
    column = np.empty(len(texts), dtype=object)
    column[:] = [text if here else None for text, here in zip(texts, told, strict=True)]
    return column


def _complete(labels: dict[str, NDArray[Any]], lines: Sequence[int]) -> tuple[Bools, dict[str, tuple[int, ...]]]:
    """Which rows have every label, and the lines that lack one, by heading: the one rule for missing labels."""
    whole, incomplete = np.ones(len(lines), dtype=bool), {}
    for name, values in labels.items():
        blank = (
            np.isnan(values) if values.dtype.kind == "f" else np.array([each is None for each in values], dtype=bool)
        )
        if (blank & whole).any():  # a row is named once, for the first label that it lacks
            incomplete[name] = tuple(lines[row] for row in np.flatnonzero(blank & whole).tolist())
        whole &= ~blank
    return whole, incomplete


def _labels(texts: Sequence[str]) -> NDArray[Any]:
    """Texts; None where one is missing."""
    found = np.empty(len(texts), dtype=object)
    found[:] = [None if text.lower() in MISSING else text for text in texts]
    return found


def _alike(columns: Sequence[Sequence[str]], rows: NDArray[np.intp]) -> NDArray[np.intp]:
    """Number rows so that those with the same texts in all columns have one number."""
    numbered: dict[tuple[str, ...], int] = {}
    texts = [tuple(column[row] for column in columns) for row in rows.tolist()]
    return np.array([numbered.setdefault(each, len(numbered)) for each in texts], dtype=np.intp)


def _joined(
    lives: Lives, part: NDArray[Any], alike: NDArray[np.intp], lines: Sequence[int]
) -> tuple[Lives, NDArray[np.intp]]:
    try:
        return joined(lives, part, alike)
    except InvalidRecord as error:
        pairs = zip(error.context["rows"], error.context["others"], strict=True)
        raise refused({row - 1: overlap_words(lines[other - 1]) for row, other in pairs}, lines) from error


def _twice(table: Table) -> tuple[int, ...]:
    seen: set[tuple[str, ...]] = set()
    found = []
    for line, cells in zip(table.lines, table.cells, strict=True):
        row = tuple(cell.strip() for cell in cells)
        if row in seen:
            found.append(line)
        seen.add(row)
    return tuple(found)


def _with_comma(texts: Sequence[str]) -> list[int]:
    """Rows that hold a number written with a comma: nobody knows whether it parts thousands or decimals."""
    return [row for row, text in enumerate(texts) if re.fullmatch(r"[-+]?[\d.]+(,\d+)+(\.\d*)?", text)]


def _exact(time: Sequence[str], failed: Bools) -> tuple[Floats, Floats]:
    out = numbers(time)
    return out, np.where(failed, out, np.inf)


def _intervals(
    low: Sequence[str], high: Sequence[str], failed: Bools, exact: tuple[Floats, Floats]
) -> tuple[Floats, Floats]:
    """Read both ends; a row without any has the exact time instead."""
    lower, upper = numbers(low), numbers(high)
    no_low, no_high = (np.array([not text for text in texts], dtype=bool) for texts in (low, high))
    upper = np.where(no_high | (~failed & ~np.isnan(upper)), np.inf, upper)
    neither = no_low & no_high
    return np.where(neither, exact[0], lower), np.where(neither, exact[1], upper)
