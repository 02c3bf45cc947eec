"""Build the invented demo club in a scratch database and ask it the main questions."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import date
from pathlib import Path

import maintain
from maintain.errors import InvalidRecord
from maintain.results.outlook import Answers
from maintain.services import club, due, importing, spares
from maintain.services.unit import Desk


def fleet_folder() -> Path:
    """Folder of the demo club: inside an installed package, beside it in a checkout."""
    package = Path(maintain.__file__).resolve().parent
    for candidate in (package / "_demo_fleet", package.parent / "demo_fleet"):
        if (candidate / "truth.json").is_file():
            return candidate
    raise RuntimeError(f"no demo club beside {package}")


def today() -> date:
    """The day the demo club's records end."""
    told = json.loads((fleet_folder() / "truth.json").read_text(encoding="utf-8"))
    return date.fromisoformat(told["today"])


def build(path: Path, who: str) -> Desk:
    """Build the demo club at a path where nothing is yet."""
    if path.exists():
        raise InvalidRecord(f"{path} exists already", hint="name a new file with --db; the demo never writes over one")
    desk = Desk(str(path), who, today())
    with club.fresh(desk.db) as building:
        importing.import_folder(replace(desk, db=building), fleet_folder())
    return desk


def answers(desk: Desk) -> Answers:
    """The main questions: what is due before the next battle, and what should the pool hold?"""
    return Answers(
        heading=f"The demo club on {desk.today}, all of it invented",
        answers=(
            due.due(desk, due.Question()),
            spares.spares(desk, spares.Question()),
        ),
        notes=(
            f"the scratch database stays at {desk.db}; look around with: maintain ship list --db {desk.db}",
            f"its records end on {desk.today}: add --on {desk.today} to ask as of then",
        ),
    )
