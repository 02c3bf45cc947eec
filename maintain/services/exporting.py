"""Hand out the records as files that people and other programs can read, and `import` can take back."""

from __future__ import annotations

from pathlib import Path

from maintain.core.wording import count
from maintain.errors import InvalidRecord
from maintain.exchange.layout import BY_FILE
from maintain.exchange.writing import csv_bytes, workbook_bytes, write_cells, write_file
from maintain.records.whole import read_all
from maintain.results.base import Done
from maintain.services.unit import Desk, reading


def export(desk: Desk, *, folder: Path | None, workbook: Path | None, replace: bool) -> Done:
    """Write one CSV per table into a folder, all tables into one workbook, or both. The journal stays where it is."""
    if folder is None and workbook is None:
        raise InvalidRecord("nowhere to export to", hint="name a folder, or a workbook with --xlsx")
    if folder is not None and folder.suffix.lower() == ".xlsx" and not folder.is_dir():
        if workbook is not None:
            raise InvalidRecord(f"{folder} and {workbook} are both workbooks", hint="name one of them")
        folder, workbook = None, folder
    for refuse, path in ((_refuse_folder, folder), (_refuse_workbook, workbook)):
        if path is not None:
            refuse(path, replace)
    with reading(desk) as connection:
        pages = list(write_cells(read_all(connection)[0]))
    if folder is not None:
        for page in pages:
            write_file(folder / page.sheet.file, csv_bytes(page))
    if workbook is not None:
        write_file(workbook, workbook_bytes(pages))
    rows = sum(len(page.rows) for page in pages)
    places = [str(path) for path in (folder, workbook) if path is not None]
    counts = {page.sheet.file: len(page.rows) for page in pages}
    return Done(f"exported {count(rows, 'row')} to {' and '.join(places)}", record={"rows": rows, "files": counts})


def _refuse_folder(folder: Path, replace: bool) -> None:
    if folder.is_file():
        raise InvalidRecord(f"{folder} is a file", hint="name a folder")
    held = sorted(path.name for path in folder.iterdir()) if folder.is_dir() else []
    others = [name for name in held if name not in BY_FILE]
    if others:
        raise InvalidRecord(f"{folder} holds other files: {_some(others)}", hint="name a new or empty folder")
    if held and not replace:
        raise InvalidRecord(f"{folder} holds an export: {_some(held)}", hint="overwrite it with --replace")


def _refuse_workbook(workbook: Path, replace: bool) -> None:
    if workbook.suffix.lower() != ".xlsx":
        raise InvalidRecord(f"{workbook} is no name for a workbook", hint="let it end in .xlsx")
    if workbook.exists() and not replace:
        raise InvalidRecord(f"{workbook} exists already", hint="overwrite it with --replace")


def _some(names: list[str]) -> str:
    return ", ".join(names[:5]) + (f" and {len(names) - 5} more" if len(names) > 5 else "")
