"""Whatever a club has recorded comes back from its files, byte for byte and row for row."""

from __future__ import annotations

import shutil
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import date
from pathlib import Path

import pytest
from hypothesis import HealthCheck, Phase, given, settings

from maintain.exchange.labels import Records, Row
from maintain.records.tables import RECORDS
from maintain.records.whole import read_all, write_table
from maintain.services import club as club_file
from maintain.services.exporting import export
from maintain.services.importing import import_folder
from maintain.services.unit import Desk, reading, writing
from tests.conftest import WHO
from tests.exchange.clubs import clubs

# A failing club is large; making it smaller would take longer than reading it.
LATER = date(2031, 1, 1)  # than any day of the clubs drawn
_FEW = settings(max_examples=10, deadline=None, suppress_health_check=list(HealthCheck), phases=[Phase.generate])


@pytest.fixture(scope="module")
def empty(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A database with the tables and nothing in them."""
    path = tmp_path_factory.mktemp("empty") / "club.db"
    club_file.create(str(path))
    return path


@contextmanager
def _two_desks(empty: Path, records: Records) -> Iterator[tuple[Path, Desk, Desk]]:
    """A folder, a desk where `records` are, and a desk where nothing is."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        full, bare = (Desk(str(shutil.copyfile(empty, folder / each)), WHO, LATER) for each in ("full", "bare"))
        with writing(full, "test") as recorder:
            ids = read_all(recorder.connection)[1]
            for table in RECORDS:
                write_table(recorder, table, records[table.name], (), ids)
        yield folder, full, bare


def _recorded(desk: Desk) -> dict[str, dict[str, Row]]:
    with reading(desk) as connection:
        return {table: {row["uid"]: row for row in rows} for table, rows in read_all(connection)[0].items()}


def _files(folder: Path) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in folder.iterdir()}


@_FEW
@given(records=clubs())
def test_export_import_export_gives_the_same_bytes_and_the_same_rows(empty: Path, records: Records) -> None:
    with _two_desks(empty, records) as (folder, full, bare):
        export(full, folder=folder / "out", workbook=None, replace=False)
        done = import_folder(bare, folder / "out")
        assert done.record["new"] == sum(map(len, records.values()))
        export(bare, folder=folder / "again", workbook=None, replace=False)
        assert _files(folder / "out") == _files(folder / "again")
        assert _recorded(full) == _recorded(bare)
        assert import_folder(bare, folder / "again").record["known"] == done.record["new"]


@_FEW
@given(records=clubs())
def test_a_workbook_holds_what_the_records_hold(empty: Path, records: Records) -> None:
    with _two_desks(empty, records) as (folder, full, bare):
        export(full, folder=None, workbook=folder / "club.xlsx", replace=False)
        import_folder(bare, folder / "club.xlsx")
        assert _recorded(full) == _recorded(bare)
