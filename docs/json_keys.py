"""The tables of docs/json.md: the keys of every answer, read off answers about the demo club."""

from __future__ import annotations

import json
import shlex
import tempfile
from datetime import timedelta
from pathlib import Path
from typing import Any

from typer.testing import CliRunner

from maintain.cli.app import app
from maintain.services import demo

# Questions whose answers fill as many keys as the demo club can.
QUESTIONS = (
    "member list",
    "ship list",
    "show {ship}",
    "position list",
    "family list",
    "method list",
    "part list",
    "part show {part}",
    "failure list",
    "reading list",
    "reading trend quillhaven",
    "reading limits",
    "venue list",
    "battle list",
    "sortie list",
    "opening list",
    "task list",
    "task show 're-grease the shaft tubes'",
    "task suggest",
    "certificate list",
    "certificate rules",
    "calendar",
    "sheet --ship {ship}",
    "phone --battle 'Mist Day 2026'",
    "check show {ship}",
    "check fleet",
    "rollcall show {ship}",
    "rollcall show",
    "salvage show {sunk}",
    "due",
    "due --explain {likely}",
    "ready {ship}",
    "pool status",
    "pool status {family}",
    "pool board",
    "pool owed",
    "pool stale",
    "pool limits",
    "pool history {family}",
    "pool costs --by captain",
    "spares --budget 60",
    "spares --meet 'Long Withy'",
    "spares --why 'micro servo'",
    "spares families",
    "life curve",
    "life fit",
    "life compare --by zone",
    "life causes",
    "life effects --covariates zone",
    "life repeats",
    "life trial --methods none,grease --usual 0.3",
    "life aftermath",
    "life clock",
    "life renew",
    "life backtest --last 4",
    "journal",
    "db status",
    "db check",
    "import docs/examples/pond_log.csv --date-order day-first",
)
_KINDS = {str: "text", bool: "yes or no", int: "number", float: "number", type(None): "null"}


def keys_reference() -> str:
    """Every question with the keys of its answer."""
    with tempfile.TemporaryDirectory() as folder:
        desk = demo.build(Path(folder) / "club.db", "Avery")
        failed = _answer("failure list", desk.db, str(desk.today))["rows"][0]
        known = {"part": failed["part"], "ship": shlex.quote(failed["ship"]), "family": "'firing valve'"}
        likely = (
            row["part"] for row in _answer("due", desk.db, str(desk.today))["lines"] if row["advice"] == "replace"
        )
        known["likely"] = next(likely)
        _check_begun(desk.db, str(desk.today), known["ship"])
        tomorrow = str(desk.today + timedelta(days=1))  # left out of what is told today
        _answer("reading add quillhaven/pump 'pump seconds per litre' 9", desk.db, tomorrow)
        known["sunk"] = _salvaged(desk.db, str(desk.today))
        return "\n".join(
            _told(line.format(**known), _answer(line.format(**known), desk.db, str(desk.today))) for line in QUESTIONS
        )


def _check_begun(db: str, on: str, ship: str) -> None:
    """Answer two steps of the check of a ship: one with a figure, one with a promise."""
    steps = _answer(f"check show {ship}", db, on)["steps"]
    measured = next(step["step"] for step in steps if step["measure"] is not None)
    promised = next(step["step"] for step in steps if step["measure"] is None and not step["safety"])
    _answer(f"check answer {ship} {measured} pass --figure 7 --note 'under load' --by Tansy", db, on)
    _answer(f"check answer {ship} {promised} promise --note 'mend it'", db, on)


def _salvaged(db: str, on: str) -> str:
    """The last sinking still to be looked over, as the salvage commands name it; that is begun here."""
    for last in _answer("sortie list", db, on)["rows"]:
        if last["ending"] != "sank":
            continue
        sunk = f"{shlex.quote(last['ship'])} --day {last['sailed_on']} --number {last['number']}"
        steps = _answer(f"salvage show {sunk}", db, on)["steps"]
        look = next((step["step"] for step in steps if step["topic"] == "look"), None)
        if look is not None:
            _answer(f"salvage answer {sunk} {look} water --opened --dried fan --note mud", db, on)
            return sunk
    raise RuntimeError("no sinking of the demo club is left to be looked over")


def _answer(line: str, db: str, on: str) -> Any:
    done = CliRunner().invoke(app, [*shlex.split(line), "--json", "--db", db, "--on", on], catch_exceptions=False)
    if done.exit_code:
        raise RuntimeError(f"{line}: exit code {done.exit_code}\n{done.output}")
    return json.loads(done.stdout)


def _told(line: str, answer: Any) -> str:
    found: dict[str, set[str]] = {}
    _collect(answer, "", found)
    rows = [f"| `{path}` | {' or '.join(sorted(kinds, key=_null_last))} |" for path, kinds in found.items()]
    return "\n".join([f"## maintain {line}\n", "| key | holds |", "|---|---|", *rows, ""])


def _collect(value: Any, path: str, found: dict[str, set[str]]) -> None:
    """Note what stands at a path and below it; members of a list are `[]`, alike in their keys."""
    if isinstance(value, dict):
        for key, each in value.items():
            _collect(each, f"{path}.{key}" if path else key, found)
    elif isinstance(value, list):
        found.setdefault(path, set()).add("list")
        for each in value:
            _collect(each, f"{path}[]", found)
    else:
        found.setdefault(path, set()).add(_KINDS[type(value)])


def _null_last(kind: str) -> tuple[bool, str]:
    return kind == "null", kind
