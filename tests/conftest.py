"""What every test may ask for: a fresh club database, and the program to run on it."""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest
from hypothesis import settings

if TYPE_CHECKING:
    from maintain.services.unit import Desk

TODAY = date(2026, 6, 1)

# The same cases each time, so that nothing is green by luck; HYPOTHESIS_PROFILE=search looks for new ones.
settings.register_profile("repeatable", derandomize=True)
settings.register_profile("search", derandomize=False)
settings.load_profile(os.environ.get("HYPOTHESIS_PROFILE", "repeatable"))
WHO = "tester"


@dataclass(frozen=True)
class Answer:
    """What the program answered."""

    exit_code: int
    stdout: str
    stderr: str

    @property
    def json(self) -> Any:
        """The one document that --json prints."""
        return json.loads(self.stdout)


def told(answer: Answer) -> Answer:
    """An answer that was no refusal."""
    assert answer.exit_code == 0, answer.stdout + answer.stderr
    return answer


Run = Callable[..., Answer]


class _FixedDate(date):
    """A calendar whose today is the tests' own."""

    @classmethod
    def today(cls) -> _FixedDate:
        return cls(TODAY.year, TODAY.month, TODAY.day)


@pytest.fixture(scope="session")
def template(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """An empty club's database, migrated once in a run; copy it, never write to it."""
    from maintain.services import club
    from maintain.services.unit import Desk

    path = tmp_path_factory.mktemp("template") / "club.db"
    club.init(Desk(str(path), WHO, TODAY), name="Mill Pond", currency="EUR", records_from=None)
    return path


@pytest.fixture
def club(template: Path, tmp_path: Path) -> Path:
    """Path of a fresh empty club database of the test's own."""
    return Path(shutil.copyfile(template, tmp_path / "club.db"))


@pytest.fixture(scope="session")
def launched(template: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A club with the small fleet of `tests.pond`; copy it, never write to it."""
    from tests.pond import launch

    path = Path(shutil.copyfile(template, tmp_path_factory.mktemp("launched") / "club.db"))
    launch(path)
    return path


@pytest.fixture
def pond(launched: Path, club: Path) -> Desk:
    """The small fleet in the test's own `club`, and a desk to work at."""
    from maintain.services.unit import Desk

    shutil.copyfile(launched, club)
    return Desk(str(club), WHO, TODAY)


@pytest.fixture
def run(club: Path, monkeypatch: pytest.MonkeyPatch) -> Run:
    """
    Run the program in this process: `run("ship", "list", db=club, input="yes")`.

    Works on `club` unless another `db` is named; today is TODAY, whoever writes is WHO. A bug is raised, not caught.
    """
    from typer.testing import CliRunner

    from maintain.cli import _command
    from maintain.cli.app import app

    monkeypatch.setattr(_command, "date", _FixedDate)

    def call(*args: str | Path, db: str | Path = club, input: str | None = None, columns: int = 200) -> Answer:
        words = [str(each) for each in args]
        monkeypatch.setattr(sys, "argv", ["maintain", *words])
        result = CliRunner().invoke(app, words, input=input, env=_environment(db, columns), catch_exceptions=False)
        return Answer(result.exit_code, result.stdout, result.stderr)

    return call


@pytest.fixture
def run_process(club: Path) -> Run:
    """Run the installed program in a process of its own; the calendar is the real one, so name a day with --on."""

    def call(*args: str | Path, db: str | Path = club, cwd: Path | None = None) -> Answer:
        command = [Path(sys.executable).with_name("maintain"), *args]
        env = {**os.environ, **_environment(db)}
        done = subprocess.run(command, env=env, cwd=cwd, capture_output=True, text=True, timeout=120, check=False)
        return Answer(done.returncode, done.stdout, done.stderr)

    return call


def _environment(db: str | Path, columns: int = 200) -> dict[str, str]:
    return {"MAINTAIN_DB": str(db), "MAINTAIN_WHO": WHO, "NO_COLOR": "1", "COLUMNS": str(columns)}


@pytest.fixture(scope="module")
def demo_club(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The demo club, for a module that only asks it."""
    from maintain.services import demo

    path = tmp_path_factory.mktemp("demo") / "club.db"
    demo.build(path, WHO)
    return path


@pytest.fixture
def own(demo_club: Path, tmp_path: Path) -> Path:
    """A copy of the demo club of the test's own."""
    return Path(shutil.copyfile(demo_club, tmp_path / "own.db"))
