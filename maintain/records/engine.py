"""Opening a database: what a `--db` text means, and what every SQLite connection needs.

All that is peculiar to one dialect stands here and in the migrations.
"""

from __future__ import annotations

import os
import re
import sqlite3
from pathlib import Path
from typing import Any, Literal

import sqlalchemy as sa

from maintain.errors import DatabaseUnusable

BUSY_TIMEOUT_MS = 5000

Mode = Literal["read", "write", "create"]


_SQLITE = "sqlite:///"
_POSTGRESQL = ("postgresql", "postgresql+psycopg")
_HOW = "name an SQLite file by its path, or a PostgreSQL database: postgresql://USER@HOST/NAME"


def sqlite_path(db: str) -> Path | None:
    """
    Path of the SQLite file that `db` names; None if it is the URL of a PostgreSQL database.

    Raises
    ------
    DatabaseUnusable
        If it is the URL of anything else.
    """
    scheme, is_url, _ = db.partition("://")
    if not is_url:
        return Path(db)
    if db.startswith(_SQLITE) and len(db) > len(_SQLITE):
        return Path(db.removeprefix(_SQLITE))
    if scheme in _POSTGRESQL:
        return None
    raise DatabaseUnusable(f"{without_password(db)} names no database this program can use", hint=_HOW)


def without_password(db: str) -> str:
    """What `--db` named, fit to be shown: passwords, before the host or among the options, are starred out."""
    hidden = re.sub(r"://([^:/?]*):.*@", r"://\1:***@", db)
    return re.sub(r"([?&]password=)[^&]*", r"\1***", hidden)


def make_engine(db: str, mode: Mode = "write") -> sa.Engine:
    """
    Make an engine for a path or URL; connects to nothing yet.

    Only mode "create" makes a missing SQLite file: a mistyped path must not leave a new file behind. Transactions are
    opened by us (the driver opens none before a SELECT or DDL), and writers take the lock at once, so that two of them
    wait for each other instead of losing updates.
    """
    path = sqlite_path(db)
    if path is None:
        return _postgresql(db)
    engine = sa.create_engine("sqlite://", creator=lambda: _connect_sqlite(path, mode), poolclass=sa.pool.NullPool)

    @sa.event.listens_for(engine, "begin")
    def _begin(connection: sa.Connection) -> None:
        connection.exec_driver_sql("BEGIN" if mode == "read" else "BEGIN IMMEDIATE")

    return engine


def _postgresql(db: str) -> sa.Engine:
    if db.partition("?")[0].count("@") > 1:  # the driver would take the rest of the password for a host, and print it
        raise DatabaseUnusable(f"{without_password(db)} has more than one @", hint="write %40 for an @ in a password")
    try:
        url = sa.make_url(db).set(drivername="postgresql+psycopg")
        return sa.create_engine(url, poolclass=sa.pool.NullPool)  # a command needs one connection, once
    except ImportError as error:
        raise DatabaseUnusable(
            "PostgreSQL needs the package psycopg, which is not installed", hint="pip install 'maintain[postgresql]'"
        ) from error
    except (sa.exc.ArgumentError, ValueError) as error:
        raise DatabaseUnusable(f"{without_password(db)} can't be read as a URL", hint=_HOW) from error


def _connect_sqlite(path: Path, mode: Mode) -> sqlite3.Connection:
    option = "mode=rwc" if mode == "create" else "mode=rw"
    if mode == "read" and not os.access(path.parent, os.W_OK) and not path.with_name(path.name + "-wal").exists():
        # A file with a write-ahead log wants a side file even to be read; where none can be made nothing can change.
        option = "immutable=1"
    uri = f"{path.resolve().as_uri()}?{option}"
    connection = sqlite3.connect(uri, uri=True, isolation_level=None, timeout=BUSY_TIMEOUT_MS / 1000)
    for pragma in (f"busy_timeout = {BUSY_TIMEOUT_MS}", "foreign_keys = ON", "synchronous = NORMAL"):
        connection.execute(f"PRAGMA {pragma}")
    if mode == "read":
        connection.execute("PRAGMA query_only = ON")
    return connection


def use_write_ahead_log(connection: sa.Connection) -> None:
    """Let readers go on while one writes; kept in the file, so done once, when it is made."""
    _driver(connection).execute("PRAGMA journal_mode = WAL")


def enforce_foreign_keys(connection: sa.Connection, *, on: bool) -> None:
    """Switch foreign keys; a table rebuilt with them on would take its children with it. Outside transactions only."""
    if connection.dialect.name == "sqlite":
        _driver(connection).execute(f"PRAGMA foreign_keys = {'ON' if on else 'OFF'}")


def broken_references(connection: sa.Connection) -> list[str]:
    """Tables of an SQLite file with rows that refer to nothing (another dialect never lets it come to that)."""
    if connection.dialect.name != "sqlite":
        return []
    return [str(row[0]) for row in connection.exec_driver_sql("PRAGMA foreign_key_check")]


def count_on(connection: sa.Connection, table: sa.Table) -> None:
    """Number the next row behind those that brought their own ids; SQLite does so by itself."""
    if connection.dialect.name == "postgresql":
        last = sa.select(sa.func.max(table.c.id)).scalar_subquery()
        connection.execute(sa.select(sa.func.setval(sa.func.pg_get_serial_sequence(table.name, "id"), last)))


def copy_file(source: Path, target: Path) -> None:
    """Copy an SQLite file with what its write-ahead log still holds (a plain file copy would lose it)."""
    with sqlite3.connect(source) as old, sqlite3.connect(target) as new:
        old.backup(new)


def _driver(connection: sa.Connection) -> Any:
    return connection.connection.driver_connection
