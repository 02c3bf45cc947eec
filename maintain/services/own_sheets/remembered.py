"""How sheets were agreed to be read: found by their headings, listed, forgotten."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import sqlalchemy as sa

from maintain.errors import NotFound
from maintain.exchange.own_sheets.agreed import Told, fingerprint, from_json
from maintain.exchange.own_sheets.grid import read_grid
from maintain.exchange.own_sheets.shape import find_header
from maintain.records import tables as t
from maintain.records.journal import Recorder
from maintain.results.base import Column, Done, Listing
from maintain.services.unit import Desk, reading, writing

Row = sa.Row[Any]

_COLUMNS = (
    Column("file", "Sheet"),
    Column("kind", "Kind"),
    Column("agreed_on", "Agreed on"),
    Column("agreed_by", "By"),
    Column("headings", "Columns"),
)


def find(connection: sa.Connection, headings: tuple[str, ...]) -> Row | None:
    """How sheets of these headings are read."""
    mine = t.own_sheet.c.fingerprint == fingerprint(headings)
    return connection.execute(sa.select(t.own_sheet).where(mine)).one_or_none()


def told_of(row: Row | None) -> Told:
    """What was said of such sheets."""
    return Told() if row is None else from_json(row.told)


def keep(recorder: Recorder, desk: Desk, file: str, headings: tuple[str, ...], told: Told) -> None:
    """Remember how a sheet was read; the same once more leaves no trace."""
    row = find(recorder.connection, headings)
    if row is not None and row.told == told.as_json():
        return
    values = {
        "file": file,
        "kind": told.kind,
        "headings": ", ".join(headings),
        "told": told.as_json(),
        "agreed_on": desk.today,
        "agreed_by": desk.who,
    }
    if row is None:
        recorder.insert(t.own_sheet, fingerprint=fingerprint(headings), **values)
    else:
        recorder.update(t.own_sheet, row.id, **values)


def listing(desk: Desk) -> Listing:
    """All ways of reading that are remembered."""
    with reading(desk) as connection:
        rows = connection.execute(sa.select(t.own_sheet).order_by(t.own_sheet.c.agreed_on, t.own_sheet.c.id)).mappings()
        lines = tuple({column.key: row[column.key] for column in _COLUMNS} for row in rows)
    footer = ("forget one with: maintain import FILE --forget",) if lines else ()
    return Listing("Sheets remembered", _COLUMNS, lines, footer, empty="none yet")


def forget(desk: Desk, source: Path, sheet: str | None) -> Done:
    """
    Forget how sheets with the headings of a file are read, or those last read under that name.

    Raises
    ------
    NotFound
        If nothing is remembered of it.
    """
    with writing(desk, "import forget") as recorder:
        if source.is_file():
            header = find_header(read_grid(source, sheet))
            row = find(recorder.connection, header.headings)
        else:
            named = sa.select(t.own_sheet).where(sa.func.lower(t.own_sheet.c.file) == source.name.lower())
            row = recorder.connection.execute(named).first()
        if row is None:
            raise NotFound(f"nothing is remembered of {source.name}", hint="see: maintain import --remembered")
        recorder.delete(t.own_sheet, row.id)
        did = f"forgot how {row.file} was read"
        recorder.summarise(did)
    return Done(did, record={"file": row.file, "kind": row.kind})
