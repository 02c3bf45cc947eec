"""Rows to files: the same rows always give the same bytes."""

from __future__ import annotations

import contextlib
import csv
import io
import os
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any

from maintain.errors import DatabaseUnusable, InvalidRecord
from maintain.exchange.cells import write_cell
from maintain.exchange.field import Field, Sheet
from maintain.exchange.labels import Labels, Records, Row, label_rows
from maintain.exchange.layout import SHEETS


@dataclass(frozen=True)
class Written:
    """The cells of one file: headings, and one row of text for each row of the table."""

    sheet: Sheet
    headings: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


def write_cells(records: Records) -> Iterator[Written]:
    """Write all tables as text, each in the order of what its rows are known by."""
    labels: dict[str, Labels] = {}
    for sheet in SHEETS:
        rows = records[sheet.table]
        if sheet.label:
            labels[sheet.table] = label_rows(sheet, rows, labels)
        headings = tuple(field.heading for field in sheet.fields)
        ordered = sorted(rows, key=lambda row: _order(sheet, row, labels))
        cells = tuple(tuple(_cell(field, row, labels) for field in sheet.fields) for row in ordered)
        yield Written(sheet, headings, cells)


def _cell(field: Field, row: Row, labels: dict[str, Labels]) -> str:
    if field.kind == "reference":
        uid = row[field.column]
        return "" if uid is None else labels[field.to].name(uid)
    return write_cell(field, row)


def _order(sheet: Sheet, row: Row, labels: dict[str, Labels]) -> tuple[Any, ...]:
    targets = {field.column: labels[field.to] for field in sheet.references if field.column in sheet.identity}
    keys = []
    for column in sheet.identity:
        value = row[column]
        if value is not None and column in targets:
            value = targets[column].of[value]
        keys.append(
            (value is not None, value if value is None or isinstance(value, int | float | date) else str(value))
        )
    return (*keys, row["uid"])


def csv_bytes(written: Written) -> bytes:
    """One CSV: UTF-8, commas, lines ended by a line feed."""
    text = io.StringIO(newline="")
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(written.headings)
    for row in written.rows:
        writer.writerow(row)
    return text.getvalue().encode()


def workbook_bytes(pages: Sequence[Written]) -> bytes:
    """
    One workbook with a sheet for each file.

    Raises
    ------
    InvalidRecord
        If a text holds a character that a workbook can't.
    """
    import openpyxl

    _refuse_control_characters(pages)
    book = openpyxl.Workbook(write_only=True)
    for page in pages:
        worksheet = book.create_sheet(page.sheet.name)
        worksheet.freeze_panes = "A2"
        worksheet.append(list(page.headings))
        for row in page.rows:
            worksheet.append(
                [_typed(field, text, worksheet) for field, text in zip(page.sheet.fields, row, strict=True)]
            )
    data = io.BytesIO()
    book.save(data)
    return data.getvalue()


def _refuse_control_characters(pages: Sequence[Written]) -> None:
    from openpyxl.cell.cell import ILLEGAL_CHARACTERS_RE

    for page in pages:
        for row in page.rows:
            if any(ILLEGAL_CHARACTERS_RE.search(text) for text in row):
                raise InvalidRecord(
                    f"a text of {page.sheet.what} {row[0]!r} holds a control character, which a workbook can't",
                    hint="export to a folder of CSV files, or mend the text",
                )


def _typed(field: Field, text: str, worksheet: Any) -> Any:
    """A number as a number, anything else as text: neither a formula nor a day of somebody's own calendar."""
    from openpyxl.cell import WriteOnlyCell

    if not text:
        return None
    if field.kind in ("integer", "number", "money") and len(text) <= 15:
        return float(text) if set(text) & set(".e") else int(text)
    cell = WriteOnlyCell(worksheet, value=text)
    cell.data_type = "s"
    return cell


def write_file(path: Path, data: bytes) -> None:
    """
    Put a file in place whole: written beside, forced to the disk, then renamed.

    Raises
    ------
    DatabaseUnusable
        If the disk refuses.
    """
    beside = path.with_name(f".{path.name}.{os.getpid()}")
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        with beside.open("wb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        beside.replace(path)
    except OSError as error:
        with contextlib.suppress(OSError):
            beside.unlink(missing_ok=True)
        raise DatabaseUnusable(f"can't write {path}: {error.strerror}", hint="name another folder") from error
