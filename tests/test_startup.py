"""Recording and listing start quickly: none of them loads the libraries of the analysis."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from docs.regenerate import Words, first_line, leaves, walk
from maintain.cli.app import Root
from tests.conftest import Run

HEAVY = ("numpy", "pandas", "scipy", "lifelines", "matplotlib", "alembic", "openpyxl", "plotext")

# A day at the pond: every command that records or lists, in an order that works on an empty club.
SESSION = """
member add Avery
member list
"""

# Commands that may be slow to start, each with its reason.
SLOW_TO_START = {
    "init": "makes the schema by running the migrations",
    "db upgrade": "runs the migrations",
}

# Runs the lines given as JSON in one process and prints which heavy module each of them was the first to load.
_PROBE = """
import json, shlex, sys
from typer.testing import CliRunner
from maintain.cli.app import app
heavy, seen, told = set(sys.argv[2].split()), set(), {}
for line in json.loads(sys.argv[1]):
    result = CliRunner().invoke(app, shlex.split(line), catch_exceptions=False)
    loaded = sorted(heavy & set(sys.modules) - seen)
    told[line] = {"exit_code": result.exit_code, "said": result.output, "loaded": loaded}
    seen |= set(sys.modules)
print(json.dumps(told))
"""


def _lines() -> list[str]:
    return [line for line in SESSION.strip().splitlines() if line and not line.startswith("#")]


def _probe(lines: list[str], db: Path) -> Any:
    env = {**os.environ, "MAINTAIN_DB": str(db), "MAINTAIN_WHO": "tester"}
    command = [sys.executable, "-c", _PROBE, json.dumps(lines), " ".join(HEAVY)]
    done = subprocess.run(command, env=env, capture_output=True, text=True, timeout=300, check=False)
    assert done.returncode == 0, done.stderr
    return json.loads(done.stdout)


def _command_of(line: str) -> str:
    """The command at the beginning of a line."""
    words = line.split()
    return max((" ".join(path) for path in leaves() if tuple(words[: len(path)]) == path), key=len, default="")


def test_no_recording_or_listing_command_loads_an_analysis_library(club: Path) -> None:
    told = _probe(_lines(), club)
    assert {line: each["said"] for line, each in told.items() if each["exit_code"]} == {}
    assert {line: each["loaded"] for line, each in told.items() if each["loaded"]} == {}


def test_the_probe_sees_a_heavy_module(club: Path) -> None:
    (told,) = _probe([f"init --db {club.with_name('other.db')}"], club).values()
    assert "alembic" in told["loaded"]


def test_every_command_is_in_the_session_or_excused() -> None:
    used = {_command_of(line) for line in _lines()}
    missing = {" ".join(path) for path in leaves()} - used - set(SLOW_TO_START)
    assert not missing, "add a line to SESSION, or a reason to SLOW_TO_START"
    assert not used & set(SLOW_TO_START)


def test_nothing_is_excused_that_does_not_exist() -> None:
    assert set(SLOW_TO_START) <= {" ".join(path) for path in leaves()}


@pytest.mark.parametrize("path", [path for path, _ in walk()], ids=lambda path: " ".join(path) or "maintain")
def test_every_command_has_help(run: Run, path: Words) -> None:
    answer = run(*path, "--help")
    assert answer.exit_code == 0
    assert "Usage" in answer.stdout


def test_help_of_the_program_loads_no_command_and_nothing_heavy() -> None:
    code = (
        "import sys; from typer.testing import CliRunner; from maintain.cli.app import app;"
        "CliRunner().invoke(app, ['--help']); print(*sys.modules)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True, timeout=60)
    loaded = set(done.stdout.split())
    targets = {entry.target.partition(":")[0] for entry in Root.entries.values()}
    assert not loaded & (targets | {*HEAVY, "sqlalchemy", "maintain.records"})


@pytest.mark.parametrize("name", Root.entries)
def test_the_table_of_commands_says_what_the_command_says_of_itself(name: str) -> None:
    command = next(command for path, command in walk() if path == (name,))
    assert Root.entries[name].help == first_line(command)


@pytest.mark.parametrize("path", list(leaves()), ids=" ".join)
def test_no_command_offers_to_install_itself_into_a_shell(path: Words) -> None:
    assert not [each.opts for each in leaves()[path].params if "--install-completion" in each.opts]


@pytest.mark.parametrize("path", list(leaves()), ids=" ".join)
def test_every_argument_and_option_is_explained(path: Words) -> None:
    assert [each.name for each in leaves()[path].params if not (each.help or "").strip()] == []
