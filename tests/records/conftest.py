"""Databases of both kinds for the tests of the records; PostgreSQL where one can be had."""

from __future__ import annotations

import importlib.util
import os
import shutil
import subprocess
import tempfile
import uuid
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

import pytest
import sqlalchemy as sa

from maintain.records import migrate
from maintain.records.engine import make_engine

NewDatabase = Callable[[], str]


@pytest.fixture(scope="session")
def postgres() -> Iterator[NewDatabase]:
    """
    Makes empty PostgreSQL databases and returns their URLs.

    The server is the one of MAINTAIN_TEST_PG (a URL whose user may create databases), else one of our own, started
    in a temporary folder and stopped at the end.
    """
    if importlib.util.find_spec("psycopg") is None:
        pytest.skip("psycopg is not installed: pip install '.[postgresql]'")
    given = os.environ.get("MAINTAIN_TEST_PG")
    if given:
        yield _database_maker(given)
        return
    binaries = _binaries()
    if binaries is None:
        pytest.skip("no PostgreSQL: set MAINTAIN_TEST_PG to a URL, or install its server")
    with _private_server(binaries) as url:
        yield _database_maker(url)


def _binaries() -> Path | None:
    initdb = shutil.which("initdb") or next(map(str, Path("/usr/lib/postgresql").glob("*/bin/initdb")), None)
    return Path(initdb).resolve().parent if initdb else None


@contextmanager
def _private_server(binaries: Path) -> Iterator[str]:
    user = "nobody" if os.geteuid() == 0 else None  # the server refuses to run as root
    folder = Path(tempfile.mkdtemp(prefix="pg"))  # not tmp_path: a socket's path must be short, and open to that user
    if user:
        shutil.chown(folder, user)
    data = folder / "data"

    def call(program: str, *args: str) -> None:
        subprocess.run(
            [binaries / program, "-D", data, *args], user=user, cwd=folder, check=True, stdout=subprocess.DEVNULL
        )

    try:
        call("initdb", "--username=maintain", "--auth=trust", "--encoding=UTF8", "--no-locale", "--no-sync")
        options = f"-c listen_addresses='' -c unix_socket_directories={folder} -c fsync=off"
        call("pg_ctl", "start", "--wait", "--silent", "--log", str(folder / "log"), "--options", options)
        yield f"postgresql+psycopg://maintain@/postgres?host={folder}"
    finally:
        with suppress(subprocess.CalledProcessError):
            call("pg_ctl", "stop", "--mode=immediate", "--silent")
        shutil.rmtree(folder, ignore_errors=True)


def _database_maker(server: str) -> NewDatabase:
    def make() -> str:
        name = f"maintain_{uuid.uuid4().hex[:12]}"
        engine = sa.create_engine(server, isolation_level="AUTOCOMMIT", poolclass=sa.NullPool)
        with engine.connect() as connection:
            connection.execute(sa.text(f"CREATE DATABASE {name}"))
        return sa.make_url(server).set(database=name).render_as_string(hide_password=False)

    return make


@pytest.fixture(scope="module", params=["sqlite", "postgresql"])
def new_database(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> NewDatabase:
    """Names empty databases of each kind in turn."""
    if request.param == "postgresql":
        made: NewDatabase = request.getfixturevalue("postgres")
        return made
    return lambda: str(tmp_path_factory.mktemp("schema") / "club.db")


@pytest.fixture
def empty(new_database: NewDatabase) -> Iterator[sa.Engine]:
    """An engine on an empty database."""
    engine = make_engine(new_database(), "create")
    yield engine
    engine.dispose()


@pytest.fixture(scope="module")
def _migrated(new_database: NewDatabase) -> Iterator[sa.Engine]:
    engine = make_engine(new_database(), "create")
    migrate.upgrade(engine)
    yield engine
    engine.dispose()


@pytest.fixture
def connection(_migrated: sa.Engine) -> Iterator[sa.Connection]:
    """A connection to a migrated database without rows; what is written is rolled back."""
    with _migrated.connect() as opened:
        yield opened
