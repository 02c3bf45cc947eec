"""What was learnt of a category serves any later question of the same records, to the last digit; and only of those."""

from __future__ import annotations

import sqlite3
from pathlib import Path
from typing import Any

import pytest

from maintain.services import demo, due, ready
from maintain.services.lives import service_ages
from maintain.services.unit import Desk


@pytest.fixture(scope="module")
def asked_once(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Any]:
    """A demo club of which it was asked what is due, and the answer."""
    path = tmp_path_factory.mktemp("kept") / "club.db"
    return path, due.due(demo.build(path, "tester"), due.Question())


@pytest.fixture
def path(asked_once: tuple[Path, Any], tmp_path: Path) -> Path:
    with sqlite3.connect(asked_once[0]) as original, sqlite3.connect(tmp_path / "club.db") as copy:
        original.backup(copy)
    return tmp_path / "club.db"


@pytest.fixture
def unable(monkeypatch: pytest.MonkeyPatch) -> None:
    """Nothing can be fitted."""

    def refuse(*_: object) -> None:
        raise AssertionError("fitted again")

    monkeypatch.setattr(service_ages, "service_age", refuse)


def _desk(path: Path) -> Desk:
    return Desk(str(path), "tester", demo.today())


@pytest.mark.usefixtures("unable")
def test_another_question_of_the_same_records_fits_nothing(path: Path) -> None:
    assert due.due(_desk(path), due.Question(everything=True)).lines
    assert ready.ready_fleet(_desk(path), battle=None).ships


@pytest.mark.usefixtures("unable")
def test_the_answer_from_kept_draws_is_that_of_fresh_ones(path: Path, asked_once: tuple[Path, Any]) -> None:
    assert due.due(_desk(path), due.Question()) == asked_once[1]


@pytest.mark.usefixtures("unable")
def test_a_changed_record_has_everything_fitted_anew(path: Path) -> None:
    with sqlite3.connect(path) as connection:
        connection.execute("INSERT INTO member (uid, name) VALUES ('x', 'Bea')")
    with pytest.raises(AssertionError, match="fitted again"):
        due.due(_desk(path), due.Question())
