"""Answers kept in the database: the same as worked out anew, gone with any change of a record, never in the way."""

from __future__ import annotations

import os
import shutil
import sqlite3
from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import date, timedelta
from pathlib import Path

import pytest

from maintain.records import fitted
from maintain.results.base import Result
from maintain.services import kept as keeping
from maintain.services import members
from maintain.services.kept import kept
from maintain.services.unit import Desk, reading
from tests.conftest import TODAY, WHO, Run


@dataclass(frozen=True)
class Told(Result):
    """An answer with all kinds of values."""

    times: int
    day: date
    share: float
    missing: float | None
    names: tuple[str, ...]


class Asked:
    """Counts how often an answer had to be worked out."""

    def __init__(self) -> None:
        self.times = 0

    def __call__(self) -> Told:
        self.times += 1
        return Told(self.times, date(2026, 1, 2), 0.1 + 0.2, None, ("a", "b"))


@pytest.fixture
def desk(club: Path) -> Desk:
    return Desk(str(club), WHO, TODAY)


@pytest.fixture
def asked() -> Asked:
    return Asked()


def test_an_answer_is_worked_out_once_and_comes_back_as_it_was(desk, asked):
    first, second = (kept(desk, Told, {"ship": None}, asked) for _ in range(2))
    assert first == second
    assert asked.times == 1


@pytest.mark.parametrize("other", [{"ship": "Halberd"}, {}])
def test_another_question_has_another_answer(desk, asked, other):
    kept(desk, Told, {"ship": None}, asked)
    assert kept(desk, Told, other, asked).times == 2
    assert kept(desk, Told, {"ship": None}, asked).times == 1


def test_another_day_has_another_answer(desk, asked):
    kept(desk, Told, {}, asked)
    assert kept(replace(desk, today=TODAY + timedelta(days=1)), Told, {}, asked).times == 2


def test_another_program_has_another_answer(desk, asked, monkeypatch):
    kept(desk, Told, {}, asked)
    monkeypatch.setattr(keeping.maintain, "__version__", "99.0")
    assert kept(desk, Told, {}, asked).times == 2


def test_it_is_worked_out_anew_where_that_is_asked(desk, asked):
    kept(desk, Told, {}, asked)
    assert kept(desk, Told, {}, asked, refit=True).times == 2
    assert kept(desk, Told, {}, asked).times == 2


def test_a_changed_record_and_its_undoing_both_make_it_anew(desk, asked, run: Run):
    kept(desk, Told, {}, asked)
    members.add(desk, name="Avery", note=None)
    assert kept(desk, Told, {}, asked).times == 2
    assert run("undo").exit_code == 0
    assert kept(desk, Told, {}, asked).times == 3


def test_a_row_written_by_another_program_makes_it_anew(desk, asked):
    kept(desk, Told, {}, asked)
    with sqlite3.connect(desk.db) as connection:
        connection.execute("INSERT INTO member (uid, name) VALUES ('x', 'Bea')")
    assert kept(desk, Told, {}, asked).times == 2


def test_answers_from_earlier_records_are_forgotten(desk, asked):
    for name in ("Ana", "Bea", "Cleo"):
        kept(desk, Told, {"asked": name}, asked)
        members.add(desk, name=name, note=None)
    kept(desk, Told, {}, asked)
    assert _count(desk) == 1


def test_a_verdict_stands_whatever_is_recorded(desk, asked):
    keeping.keep(desk, "the last verdict", fitted.STANDING, asked())
    members.add(desk, name="Ana", note=None)
    kept(desk, Told, {}, asked)
    with reading(desk) as connection:
        assert fitted.read(connection, "the last verdict", fitted.STANDING)


def test_the_journal_tells_nothing_of_it(desk, asked, run: Run):
    before = run("journal").stdout
    kept(desk, Told, {}, asked)
    assert run("journal").stdout == before


def test_an_error_is_not_kept(desk, asked):
    def fails() -> Told:
        raise ZeroDivisionError

    with pytest.raises(ZeroDivisionError):
        kept(desk, Told, {}, fails)
    assert _count(desk) == 0
    assert kept(desk, Told, {}, asked).times == 1


def test_a_file_locked_by_another_writer_is_read_all_the_same(desk, asked, monkeypatch):
    monkeypatch.setattr("maintain.records.engine.BUSY_TIMEOUT_MS", 10)
    with sqlite3.connect(desk.db, isolation_level=None) as other:
        other.execute("BEGIN IMMEDIATE")
        assert kept(desk, Told, {}, asked).times == 1
        other.execute("ROLLBACK")
    assert _count(desk) == 0


@pytest.fixture
def sealed(desk: Desk, tmp_path: Path) -> Iterator[Path]:
    """A copy of the club in a folder that is closed for writing."""
    folder = tmp_path / "sealed"
    folder.mkdir()
    path = Path(shutil.copyfile(desk.db, folder / "club.db"))
    path.chmod(0o444)
    folder.chmod(0o555)
    yield path
    folder.chmod(0o755)
    path.chmod(0o644)


@pytest.mark.skipif(os.geteuid() == 0, reason="the superuser may write anywhere")
def test_a_file_that_may_not_be_written_is_read_without_keeping_anything(desk, asked, sealed):
    read_only = replace(desk, db=str(sealed))
    assert [kept(read_only, Told, {}, asked).times for _ in range(2)] == [1, 2]


def test_a_file_that_refuses_to_be_written_is_read_without_keeping_anything(desk, asked, monkeypatch):
    """As the superuser sees it too: the driver itself opens the file for reading only."""
    real = keeping.make_engine
    monkeypatch.setattr(keeping, "make_engine", lambda db: real(db, "read"))
    assert [kept(desk, Told, {}, asked).times for _ in range(2)] == [1, 2]


def _count(desk: Desk) -> int:
    with sqlite3.connect(desk.db) as connection:
        return int(connection.execute("SELECT count(*) FROM fitted").fetchone()[0])
