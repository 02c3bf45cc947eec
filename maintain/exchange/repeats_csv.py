"""Failures of repaired units read from any CSV file, by the names of its columns."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import numpy as np

from maintain.core.histories import Histories, histories
from maintain.core.lives import Bools, Floats
from maintain.exchange.any_table import read_table, refused
from maintain.exchange.table_csv import EVENT_WORDS, collect, faulty, numbers

ONE_UNIT = "all"


@dataclass(frozen=True)
class RepeatColumns:
    """
    Headings of the columns that hold each thing; None: the file does not say.

    Attributes
    ----------
    time : str
        The unit's own clock at the failure, or at the end of its watch.
    id : str, optional
        The unit; without it all rows are of one.
    end : str, optional
        When the watch of the row's unit ended: a heading, or a number that holds for all. Without it, at the row that
        is no failure, else at the last failure. A row with a blank time then tells of a unit without failure.
    event : str, optional
        Whether the row is a failure or the end of the watch; default: all are failures.
    start : str, optional
        When the watch of the row's unit began; default 0.
    by : str, optional
        The group of the unit.
    cluster : str, optional
        What the unit shares its luck with, such as its ship.
    """

    time: str
    id: str | None = None
    end: str | None = None
    event: str | None = None
    start: str | None = None
    by: str | None = None
    cluster: str | None = None


@dataclass(frozen=True)
class RepeatsRead:
    """Histories, the group of each unit ("" where there is no column for it), and failures that share unit and time."""

    histories: Histories
    group: tuple[str, ...]
    tied: int


@dataclass(frozen=True)
class _Rows:
    unit: np.ndarray
    group: np.ndarray
    time: Floats
    failed: Bools
    start: Floats
    end: Floats  # nan: the file does not say
    cluster: np.ndarray


def read_repeats(path: Path, columns: RepeatColumns) -> RepeatsRead:
    """
    Read failures of repaired units from a CSV file.

    Raises
    ------
    NotFound
        If there is no such file or column.
    InvalidRecord
        If the file is no table, or any row fits no watch; all such rows are listed with their reasons.
    """
    table = read_table(path, "one failure, or the end of one unit's watch")
    fixed_end = columns.end if columns.end not in table.headings and _is_number(columns.end) else None
    named = [name for key, name in vars(columns).items() if name is not None and not (key == "end" and fixed_end)]
    table.check(named, path.name)
    faults: dict[int, str] = {}
    unit, group, cluster = (
        table.column(heading, default)
        for heading, default in ((columns.id, ONE_UNIT), (columns.by, ""), (columns.cluster, ""))
    )
    collect(faults, faulty(unit, lambda text: not text, f"{columns.id} is missing"))
    collect(faults, faulty(group, lambda text: columns.by is not None and not text, "the group is missing"))
    collect(faults, faulty(cluster, lambda text: columns.cluster is not None and not text, "the cluster is missing"))
    event = [text.lower() for text in table.column(columns.event, "1")]
    collect(faults, faulty(event, lambda text: text not in EVENT_WORDS, f"{columns.event} is neither failed nor not"))
    failed = np.array([EVENT_WORDS.get(text, True) for text in event], dtype=bool)
    time = table.column(columns.time, "")
    end = [fixed_end] * len(table.cells) if fixed_end else table.column(columns.end, "nan")
    if columns.end is not None:  # without a failure there is no time
        failed &= np.array([bool(text) for text in time])
        time = [text or "0" for text in time]
    start = numbers(table.column(columns.start, "0"))
    rows = _Rows(np.array(unit), np.array(group), numbers(time), failed, start, numbers(end), np.array(cluster))
    collect(faults, _faults(rows, columns))
    if faults:
        raise refused(faults, table.lines, "rows")
    return _read(rows, columns)


def _is_number(text: str | None) -> bool:
    return text is not None and bool(np.isfinite(numbers([text])[0]))


def _faults(rows: _Rows, columns: RepeatColumns) -> list[tuple[int, str]]:
    """List (row, reason) of what fits no watch, the plainest reason first."""
    code = np.unique(rows.unit, return_inverse=True)[1]
    first = np.unique(code, return_index=True)[1][code]
    ends = ~rows.failed
    twice = np.bincount(code[ends], minlength=code.size)[code] > 1
    own_end = np.full(code.size, np.inf)
    if columns.end is not None:
        own_end = rows.end
    else:
        own_end[code[ends]] = rows.time[ends]
        own_end = own_end[code]
    told = rows.failed | (columns.end is None)
    reasons = (
        (~np.isfinite(rows.time), "time is missing or not a number"),
        (rows.time < 0, "time is negative"),
        (~np.isfinite(rows.start) | (rows.start < 0), "start of the watch is missing, negative or not a number"),
        ((columns.end is not None) & ~np.isfinite(own_end), "end of the watch is missing or not a number"),
        (rows.start != rows.start[first], "the unit has two different starts of its watch"),
        ((columns.end is not None) & (rows.end != rows.end[first]), "the unit has two different ends of its watch"),
        ((columns.end is None) & ends & twice, "the unit has two ends of its watch"),
        (rows.group != rows.group[first], "the unit is in two groups"),
        (rows.cluster != rows.cluster[first], "the unit is in two clusters"),
        (told & (rows.time > own_end), "the failure comes after the end of the unit's watch"),
        (told & (rows.time <= rows.start), "the time is not after the start of the unit's watch"),
        (own_end <= rows.start, "the watch ends before it begins"),
    )
    return [(row, why) for bad, why in reasons for row in np.flatnonzero(bad).tolist()]


def _read(rows: _Rows, columns: RepeatColumns) -> RepeatsRead:
    first = np.unique(rows.unit, return_index=True)[1]
    unit, time, failed, start, cluster = rows.unit, rows.time, rows.failed, rows.start, rows.cluster
    if columns.end is not None:
        fails = np.flatnonzero(failed)
        kept = np.concatenate((fails, first))
        unit, start, cluster = unit[kept], start[kept], cluster[kept]
        time = np.concatenate((time[fails], rows.end[first]))
        failed = np.arange(time.size) < fails.size
    keys = np.array([f"{one}\0{when}" for one, when in zip(unit[failed], time[failed], strict=True)])
    return RepeatsRead(
        histories(unit, time, failed, start=start, cluster=cluster if columns.cluster else None),
        tuple(str(each) for each in rows.group[first]),
        int(keys.size - np.unique(keys).size),
    )
