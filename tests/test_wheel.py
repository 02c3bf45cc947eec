"""The package as it is released: built, installed in a clean environment, run far from the checkout."""

from __future__ import annotations

import os
import subprocess
import sys
import zipfile
from pathlib import Path

import pytest

pytestmark = pytest.mark.wheel

ROOT = Path(__file__).resolve().parents[1]


def _call(*command: str | Path, cwd: Path, **env: str) -> str:
    clean = {
        key: value for key, value in os.environ.items() if not key.startswith(("PYTHON", "MAINTAIN", "VIRTUAL_ENV"))
    }
    done = subprocess.run(
        command, cwd=cwd, env={**clean, **env}, capture_output=True, text=True, timeout=900, check=False
    )
    assert done.returncode == 0, f"{command}\n{done.stdout}\n{done.stderr}"
    return done.stdout


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with a name that trips careless programs."""
    path = tmp_path_factory.mktemp("wheel") / "odd dir 100%"
    path.mkdir()
    return path


@pytest.fixture(scope="module")
def wheel(folder: Path) -> Path:
    """The wheel, built from the source distribution and not from the checkout."""
    _call(sys.executable, "-m", "build", "--outdir", folder / "dist", ROOT, cwd=folder)
    (built,) = (folder / "dist").glob("*.whl")
    return built


@pytest.fixture(scope="module")
def programs(folder: Path, wheel: Path) -> Path:
    """Folder of the programs of a clean environment in which only the wheel is installed."""
    _call(sys.executable, "-m", "venv", folder / "venv", cwd=folder)
    programs = folder / "venv" / "bin"
    _call(programs / "python", "-m", "pip", "install", "--quiet", wheel, cwd=folder)
    return programs


def test_the_wheel_brings_the_migrations_and_the_demo_club_and_no_tests(wheel: Path) -> None:
    names = set(zipfile.ZipFile(wheel).namelist())
    for path in sorted((ROOT / "migrations" / "versions").glob("*.py")):
        assert f"maintain/_migrations/versions/{path.name}" in names
    for path in sorted((ROOT / "demo_fleet").glob("*.csv")):
        assert f"maintain/_demo_fleet/{path.name}" in names
    assert not [name for name in names if name.startswith(("tests/", "migrations/", "demo_fleet/", "docs/"))]


def test_the_installed_program_is_not_the_checkout(programs: Path, folder: Path) -> None:
    where = _call(programs / "python", "-c", "import maintain; print(maintain.__file__)", cwd=folder)
    assert Path(where.strip()).is_relative_to(folder)


def test_it_makes_and_reads_a_database(programs: Path, folder: Path) -> None:
    env = {"MAINTAIN_DB": str(folder / "club 50%.db"), "MAINTAIN_WHO": "tester"}
    _call(programs / "maintain", "init", "--club", "Mill Pond", cwd=folder, **env)
    assert "Mill Pond" in _call(programs / "maintain", "db", "status", cwd=folder, **env)
    _call(programs / "maintain", "ship", "add", "Halberd", "--like", "cruiser", cwd=folder, **env)
    assert "Halberd" in _call(programs / "maintain", "ship", "list", cwd=folder, **env)


def test_it_builds_the_demo_club_and_answers_the_main_questions(programs: Path, folder: Path) -> None:
    told = _call(programs / "maintain", "demo", "--db", folder / "demo.db", cwd=folder)
    assert "Due" in told
    assert "spares" in told.lower()


def test_its_dependencies_agree_with_each_other(programs: Path, folder: Path) -> None:
    _call(programs / "python", "-m", "pip", "check", cwd=folder)
