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
A_DAY = """
db status
member add Avery
member list
ship add Halberd --like cruiser --captain Avery --since 2026-01-01
ship state Halberd "dry dock" --since 2026-02-01
ship state Halberd "in commission" --since 2026-03-01
ship list
family add "standard servo" --category servo --unit-cost 12.50
family change "standard servo" --lead-time-days 10
family list
position add halberd/crane-servo --system guns --zone "dry deck"
position change halberd/crane-servo --dependence nuisance
position add halberd/spare-hook --system hull --zone external
position remove halberd/spare-hook
position list
method add grease
method list
part add --family "standard servo" --tag S-01 --origin new --into halberd/crane-servo --from 2026-01-02
part add --family "standard servo" --tag S-02 --origin new --from 2026-01-02
part treat S-02 grease --done 2026-02-01
part pull S-01 --until 2026-04-01
part install S-01 halberd/crane-servo --from 2026-04-02
part change S-01 --batch B7 --from 2026-04-03
part show S-01
part list
venue add Quarry --water fresh
venue change Quarry --depth-m 1.5
venue list
battle add "May 1" --from 2026-05-02 --venue Quarry
battle list
sortie log --battle "May 1" --day 2026-05-02 --number 1 halberd=W3:damage:4min
salvage show halberd
salvage answer halberd 1 done
salvage run halberd
sortie correct --day 2026-05-02 --number 1 halberd=W3:damage:6min
sortie list
battle state "May 1" fought
opening log halberd dry --day 2026-05-02
opening list
swap halberd/crane-servo --with S-02 --mode dead --cause water --found 2026-05-02 --to suspect
failure list
retest S-01 fail
failure log S-02 --mode erratic --cause wear --found 2026-05-20
failure correct 2 --effect nuisance
part add --family "standard servo" --tag S-03 --origin new --from 2026-05-21
part install S-03 halberd/crane-servo --from 2026-05-21
reading add S-03 "servo current" 310
reading list
reading trend
reading trend halberd/crane-servo --no-picture
reading limit "servo current" --at-most 900 --category servo --source "club rule"
reading limits
task add "grease the shafts" --every "2 battle days" --every "1 immersion" --ship halberd
task done "grease the shafts" --ship halberd
task change "grease the shafts" --every "3 sorties"
task list
task show "grease the shafts"
task close "grease the shafts" --reason "sealed bearings"
task suggest
task adopt --category servo
certificate add S-03 --expires 2027-01-01 --source "club rule"
certificate correct S-03 --expires 2027-02-01
certificate list
certificate rules
battle add "June 20" --from 2026-06-20
battle change "June 20" --until 2026-06-21
check show halberd
check answer halberd 1 pass
check run halberd
check fleet
rollcall answer halberd/crane-servo works
rollcall correct halberd/crane-servo S-04
rollcall run halberd
rollcall show
sortie reconcile scores.csv --battle "May 1" --accept
member add Bo
family add fuse --category wiring --kept counted
pool order fuse 10 --cost 0.20 --expected 2026-06-20
pool receive fuse 6
pool cancel fuse
pool count fuse 7
pool issue fuse 1 --ship halberd
pool lend fuse 2 --to bo --due 2026-07
pool return fuse good 1
pool return fuse suspect 1 --mode broken
pool clear fuse 1
pool scrap fuse 1 --reason bent
pool owe bo fuse --since 2026-05
pool settle bo fuse
pool limit fuse --days 900 --source "printed on the bag"
pool limits
pool status
pool board
pool owed
pool history fuse
pool stale
pool costs
calendar
calendar --out club.ics
show halberd
sheet --fleet
phone --battle "May 1"
db check
export export
import export --dry-run
import log.csv --agree --date-order day-first
import --remembered
import log.csv --forget
journal
undo
"""

# Commands that may be slow to start, each with its reason.
SLOW_TO_START = {
    "init": "makes the schema by running the migrations",
    "db upgrade": "runs the migrations",
    "demo": "makes a schema and answers the questions of the analysis",
    "due": "the analysis itself",
    "life aftermath": "the analysis itself",
    "life causes": "the analysis itself",
    "life compare": "the analysis itself",
    "life backtest": "the analysis itself",
    "life clock": "the analysis itself",
    "life curve": "the analysis itself",
    "life effects": "the analysis itself",
    "life fit": "the analysis itself",
    "life repeats": "the analysis itself",
    "life trial": "the analysis itself",
    "life renew": "the analysis itself",
    "ready": "the analysis itself",
    "spares": "the analysis itself",
    "spares families": "the analysis itself",
}

# Runs the lines given as JSON in one process and prints which heavy module each of them was the first to load.
_PROBE = """
import json, shlex, sys
from typer.testing import CliRunner
from maintain.cli.app import app
heavy, seen, told = set(sys.argv[2].split()), set(), {}
for line in json.loads(sys.argv[1]):
    dated = ["--on", "2026-06-01"]
    result = CliRunner().invoke(app, [*shlex.split(line), *dated], catch_exceptions=False)
    loaded = sorted(heavy & set(sys.modules) - seen)
    told[line] = {"exit_code": result.exit_code, "said": result.output, "loaded": loaded}
    seen |= set(sys.modules)
print(json.dumps(told))
"""


def _lines() -> list[str]:
    return [line for line in A_DAY.strip().splitlines() if line and not line.startswith("#")]


def _probe(lines: list[str], db: Path) -> Any:
    env = {**os.environ, "MAINTAIN_DB": str(db), "MAINTAIN_WHO": "tester"}
    command = [sys.executable, "-c", _PROBE, json.dumps(lines), " ".join(HEAVY)]
    done = subprocess.run(command, env=env, cwd=db.parent, capture_output=True, text=True, timeout=300, check=False)
    assert done.returncode == 0, done.stderr
    return json.loads(done.stdout)


def _command_of(line: str) -> str:
    """The command at the beginning of a line."""
    words = line.split()
    return max((" ".join(path) for path in leaves() if tuple(words[: len(path)]) == path), key=len, default="")


def test_no_recording_or_listing_command_loads_an_analysis_library(club: Path) -> None:
    club.with_name("scores.csv").write_text("ship,sank\nhalberd,yes\n", encoding="utf-8")
    club.with_name("log.csv").write_text("Ship,Date,Mins\nhalberd,04/05/2026,25\n", encoding="utf-8")
    told = _probe(_lines(), club)
    assert {line: each["said"] for line, each in told.items() if each["exit_code"]} == {}
    assert {line: each["loaded"] for line, each in told.items() if each["loaded"]} == {}


def test_the_probe_sees_a_heavy_module(club: Path) -> None:
    (told,) = _probe([f"init --db {club.with_name('other.db')}"], club).values()
    assert "alembic" in told["loaded"]


def test_every_command_is_in_the_day_or_excused() -> None:
    used = {_command_of(line) for line in _lines()}
    missing = {" ".join(path) for path in leaves()} - used - set(SLOW_TO_START)
    assert not missing, "add a line to A_DAY, or a reason to SLOW_TO_START"
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
