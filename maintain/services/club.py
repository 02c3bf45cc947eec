"""Make a club's database, and keep it in order."""

from __future__ import annotations

import os
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import date
from pathlib import Path

import sqlalchemy as sa

from maintain.errors import DatabaseUnusable, InvalidRecord
from maintain.records import migrate, tables
from maintain.records.engine import copy_file, make_engine, sqlite_path, use_write_ahead_log
from maintain.records.journal import Recorder
from maintain.records.schema_version import HEAD
from maintain.results.base import Done
from maintain.services.unit import Desk, exists, refuse_newer, require_file, schema_of, translated


def init(desk: Desk, *, name: str, currency: str, records_from: date | None) -> Done:
    """Make a new database for a club; leaves nothing behind if it fails or is killed."""
    if not (len(currency) == 3 and currency.isalpha()):
        raise InvalidRecord(f"currency {currency!r} is not a code of three letters", hint="write EUR, USD, GBP ...")
    path = sqlite_path(desk.db)
    if path is not None and exists(path):
        hint = "name another file with --db, or go on using this one (maintain db status says what it holds)"
        raise InvalidRecord(f"{path} exists already", hint=hint)
    with fresh(desk.db) as db, translated(desk.db), make_engine(db).connect() as connection, connection.begin():
        held = connection.execute(sa.select(tables.club.c.name)).scalar()
        if held is not None:
            raise InvalidRecord(f"{desk.place} holds the records of {held} already", hint="go on using it")
        recorder = Recorder(connection, desk.who, "init")
        recorder.insert(tables.club, id=1, name=name, currency=currency.upper(), records_from=records_from)
        recorder.summarise(f"made a database for {name}")
    return Done(f"made a database for {name} at {desk.place}", record={"db": desk.place, "name": name})


@contextmanager
def fresh(db: str) -> Iterator[str]:
    """
    A database with the schema of today and nothing in it, to be filled.

    An SQLite file is made under another name beside and takes its own when the block is done: whatever stops it on the
    way, even a kill, leaves no file that is half a database.
    """
    path = sqlite_path(db)
    if path is None:
        create(db)
        yield db
        return
    beside = path.with_name(f".{path.name}.{os.getpid()}")
    remove(beside)  # left by a process of that number that was killed
    try:
        with translated(db):
            _make_schema(str(beside))
        yield str(beside)
        beside.replace(path)
    except BaseException:
        remove(beside)
        raise


def create(db: str) -> None:
    """Make an empty database with the schema of today."""
    with translated(db):
        _make_schema(db)


def _make_schema(db: str) -> None:
    path = sqlite_path(db)
    if path is not None:
        try:
            path.parent.mkdir(parents=True, exist_ok=True)
        except OSError as error:
            raise DatabaseUnusable(
                f"can't make the folder {path.parent}: {error.strerror}", hint="name a file elsewhere with --db"
            ) from error
    engine = make_engine(db, "create")
    with engine.connect() as connection:
        if path is not None:
            use_write_ahead_log(connection)
    migrate.upgrade(engine)


def remove(path: Path) -> None:
    """Remove an SQLite file and its side files."""
    for each in (path, path.with_name(path.name + "-wal"), path.with_name(path.name + "-shm")):
        each.unlink(missing_ok=True)


def upgrade(desk: Desk) -> Done:
    """Bring the schema of the database up to this program's, keeping a copy of the file as it was."""
    require_file(desk.db)
    path = sqlite_path(desk.db)
    with translated(desk.db):
        engine = make_engine(desk.db)
        notes: tuple[str, ...] = ()
        # Copied while no other program can write, lest the copy catch the file after another's upgrade.
        with engine.connect() as connection, connection.begin():
            before = schema_of(connection)
            refuse_newer(before)
            if before == HEAD:
                return Done(f"{desk.place} has schema {HEAD} already", record={"schema": HEAD})
            if path is not None:
                copy = path.with_name(f"{path.name}.schema-{before}")
                copy_file(path, copy)
                notes = (f"the file as it was is kept at {copy}",)
        migrate.upgrade(engine)
    return Done(f"upgraded {desk.place} from schema {before} to {HEAD}", notes=notes, record={"schema": HEAD})


def status(desk: Desk) -> Done:
    """Say which database is used, and its schema version."""
    require_file(desk.db)
    path = sqlite_path(desk.db)
    with translated(desk.db), make_engine(desk.db, "read").connect() as connection, connection.begin():
        found = schema_of(connection)
        name = connection.execute(sa.select(tables.club.c.name)).scalar()
    free = shutil.disk_usage(path.parent).free // 2**20 if path is not None else None
    notes = (f"{free} MiB are free on its disk",) if free is not None else ()
    did = f"{desk.place}: club {name or 'unnamed'}, schema {found}, this program writes {HEAD}"
    return Done(did, notes=notes, record={"db": desk.place, "club": name, "schema": found, "program_schema": HEAD})
