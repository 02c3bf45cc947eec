"""One unit of work: open the club's database, hand out a connection or a recorder, commit or leave no trace."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import date
from pathlib import Path

import sqlalchemy as sa

from maintain.errors import DatabaseBusy, DatabaseUnusable, InvalidRecord, MaintainError, NotFound, SchemaOutOfDate
from maintain.records.engine import make_engine, sqlite_path, without_password
from maintain.records.journal import Recorder
from maintain.records.schema_version import HEAD


@dataclass(frozen=True)
class Desk:
    """
    Where a command works.

    Attributes
    ----------
    db : str
        Path of an SQLite file, or URL of another database.
    who : str
        Who is at it, for the journal.
    today : date
        The day that counts as today.
    """

    db: str
    who: str
    today: date

    @property
    def place(self) -> str:
        """The database, fit to be shown."""
        return without_password(self.db)


@contextmanager
def reading(desk: Desk) -> Iterator[sa.Connection]:
    """Open for reading; never creates a file, never waits for a writer."""
    require_file(desk.db)
    with translated(desk.db), make_engine(desk.db, "read").connect() as connection, connection.begin():
        require_schema(connection)
        yield connection


@contextmanager
def writing(desk: Desk, command: str) -> Iterator[Recorder]:
    """Open for writing under the name of a command; commits at the end, and on any error leaves the file as it was."""
    require_file(desk.db)
    with translated(desk.db), make_engine(desk.db).connect() as connection, connection.begin():
        require_schema(connection)
        yield Recorder(connection, desk.who, command)


def require_file(db: str) -> None:
    """
    Refuse to go on with a file that is not there.

    Raises
    ------
    NotFound, DatabaseUnusable
    """
    path = sqlite_path(db)
    if path is not None and not (exists(path) and path.is_file()):
        raise NotFound(f"no database at {path}", hint="make one with: maintain init (or name another with --db)", db=db)


def exists(path: Path) -> bool:
    """Say whether something is there; a folder that may not be entered can't tell."""
    try:
        return path.exists()
    except OSError as error:
        raise DatabaseUnusable(
            f"{path} can't be reached: {error.strerror}", hint="name a file in a folder you may enter with --db"
        ) from error


def schema_of(connection: sa.Connection) -> str:
    """
    Schema version of an open database.

    Raises
    ------
    DatabaseUnusable
        If it has none: it is empty, or another program's.
    """
    try:
        found = connection.execute(sa.text("SELECT version_num FROM alembic_version")).scalar()
    except (sa.exc.OperationalError, sa.exc.ProgrammingError) as error:
        if "alembic_version" not in str(error.orig):
            raise
        found = None
    if found is None:
        raise DatabaseUnusable(
            "this database holds no club's records",
            hint="name another with --db, or a file that is not there yet and make it with: maintain init",
        )
    return str(found)


def require_schema(connection: sa.Connection) -> None:
    """
    Refuse a database of another schema version.

    Raises
    ------
    SchemaOutOfDate, DatabaseUnusable
    """
    found = schema_of(connection)
    if found < HEAD:
        raise SchemaOutOfDate(
            f"the database has schema {found}, this program wants {HEAD}", hint="run: maintain db upgrade"
        )
    refuse_newer(found)


def refuse_newer(schema: str) -> None:
    """Refuse a database that a newer program wrote."""
    if schema > HEAD:
        raise SchemaOutOfDate(
            f"the database has schema {schema}, newer than {HEAD} of this program", hint="install a newer maintain"
        )


@contextmanager
def translated(db: str) -> Iterator[None]:
    """Turn the driver's errors into ours."""
    try:
        yield
    except sa.exc.IntegrityError as error:
        from maintain.services.broken_rules import spoken

        named = getattr(getattr(error.orig, "diag", None), "constraint_name", None)  # PostgreSQL says which rule it was
        raise InvalidRecord(spoken(str(error.orig), named or ""), hint="nothing was written") from error
    except sa.exc.DatabaseError as error:
        if isinstance(error, sa.exc.ProgrammingError) and error.statement is not None:
            raise  # a fault of ours, not of the database's
        raise _unusable(without_password(db), error.orig) from error
    except sqlite3.Error as error:
        raise _unusable(without_password(db), error) from error


def _unusable(db: str, error: BaseException | None) -> MaintainError:
    name = getattr(error, "sqlite_errorname", "") or ""
    if name.startswith(("SQLITE_BUSY", "SQLITE_LOCKED")):
        return DatabaseBusy(f"another program is writing to {db}", hint="wait for it to finish and try again")
    if name == "SQLITE_NOTADB":
        return DatabaseUnusable(f"{db} is not a database", hint="name the club's file with --db")
    if name.startswith(("SQLITE_READONLY", "SQLITE_CANTOPEN", "SQLITE_PERM")):
        return DatabaseUnusable(f"{db} can't be written", hint="copy it to a disk and folder you may write to")
    if name.startswith(("SQLITE_FULL", "SQLITE_IOERR", "SQLITE_CORRUPT")):
        return DatabaseUnusable(f"the disk under {db} failed: {error}", hint="free some space or go back to a copy")
    said = " ".join(str(error).split())
    return DatabaseUnusable(f"the database at {db} refused: {said}", hint="see the message; nothing was written")
