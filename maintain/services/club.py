"""Make a club's database, and keep it in order."""

from __future__ import annotations

import shutil
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
    """Make a new database for a club; leaves nothing behind if it fails."""
    if not (len(currency) == 3 and currency.isalpha()):
        raise InvalidRecord(f"currency {currency!r} is not a code of three letters", hint="write EUR, USD, GBP ...")
    path = sqlite_path(desk.db)
    if path is not None and exists(path):
        raise InvalidRecord(f"{path} exists already", hint="name another file with --db, or go on using this one")
    try:
        create(desk.db)
        with translated(desk.db), make_engine(desk.db).connect() as connection, connection.begin():
            recorder = Recorder(connection, desk.who, "init")
            recorder.insert(tables.club, id=1, name=name, currency=currency.upper(), records_from=records_from)
    except BaseException:
        if path is not None:
            remove(path)
        raise
    return Done(f"made a database for {name} at {desk.db}", record={"db": desk.db, "name": name})


def create(db: str) -> None:
    """Make an empty database with the schema of today."""
    path = sqlite_path(db)
    with translated(db):
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
                return Done(f"{desk.db} has schema {HEAD} already", record={"schema": HEAD})
            if path is not None:
                copy = path.with_name(f"{path.name}.schema-{before}")
                copy_file(path, copy)
                notes = (f"the file as it was is kept at {copy}",)
        migrate.upgrade(engine)
    return Done(f"upgraded {desk.db} from schema {before} to {HEAD}", notes=notes, record={"schema": HEAD})


def status(desk: Desk) -> Done:
    """Say which database is used, and its schema version."""
    require_file(desk.db)
    path = sqlite_path(desk.db)
    with translated(desk.db), make_engine(desk.db, "read").connect() as connection, connection.begin():
        found = schema_of(connection)
        name = connection.execute(sa.select(tables.club.c.name)).scalar()
    free = shutil.disk_usage(path.parent).free // 2**20 if path is not None else None
    notes = (f"{free} MiB are free on its disk",) if free is not None else ()
    did = f"{desk.db}: club {name or 'unnamed'}, schema {found}, this program writes {HEAD}"
    return Done(did, notes=notes, record={"db": desk.db, "club": name, "schema": found, "program_schema": HEAD})
