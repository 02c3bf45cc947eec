"""Making lives of a federation's records, against raw sqlite3 reading the same rows."""

from __future__ import annotations

import sqlite3
import tempfile
from collections.abc import Iterator
from datetime import date, timedelta
from functools import partial
from pathlib import Path

import numpy as np

from maintain.records.engine import make_engine
from maintain.services import club
from maintain.services.lives.history import history
from maintain.services.lives.table import life_table
from tests.bench.timing import line, seconds

LIVES = 100_000
SHIPS = 2_000
POSITIONS = LIVES // SHIPS
SORTIES = 20  # of each ship
AIM = 3.0

TODAY = date(2026, 6, 1)
START = date(2023, 4, 1)
READ = ("part", "placement", "ship", "position", "family", "sortie", "failure", "treatment", "opening", "suspicion")


def lines() -> Iterator[str]:
    """Both, on the same file."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "club.db"
        club.create(str(path))
        fill(path)
        raw = seconds(lambda: _read(path), times=3)
        for clock in ("days", "immersions"):
            taken = seconds(partial(_extract, path, clock), times=3)
            yield line(f"{LIVES:,} lives on {clock}", taken, "raw", raw, AIM)


def _extract(path: Path, clock: str) -> None:
    with make_engine(str(path), "read").connect() as connection:
        table = life_table(history(connection, TODAY), clock)
    assert table.known.lives.n + sum(each.n for each in table.excluded) == LIVES, table.excluded


def _read(path: Path) -> None:
    connection = sqlite3.connect(path)
    for name in READ:
        connection.execute(f"SELECT * FROM {name}").fetchall()
    connection.close()


def fill(path: Path) -> None:
    """Fill an empty database: every position has held one part since START; one in four has failed."""
    rng = np.random.default_rng(20260601)
    connection = sqlite3.connect(path)
    connection.execute("PRAGMA foreign_keys = ON")
    ships = range(1, SHIPS + 1)
    parts = range(1, LIVES + 1)
    failed_after = rng.integers(100, 1100, LIVES)
    fails = rng.random(LIVES) < 0.25
    ends = [(START + timedelta(days=int(n))).isoformat() for n in failed_after]
    _insert(connection, "club", ["name", "currency", "records_from"], [(1, "Federation", "EUR", START.isoformat())])
    _insert(
        connection,
        "family",
        ["name", "category", "tracking", "hidden", "ages_on_shelf"],
        [(1, "standard servo", "servo", "tagged", 0, 0)],
    )
    _insert(
        connection,
        "ship",
        ["name", "state", "records_from"],
        [(n, f"ship {n}", "in commission", START.isoformat()) for n in ships],
    )
    _insert(
        connection,
        "position",
        ["ship_id", "name", "system", "zone", "dependence"],
        [(n, (n - 1) // POSITIONS + 1, f"position {n}", "steering", "bilge", "vital") for n in parts],
    )
    _insert(
        connection,
        "part",
        ["tag", "family_id", "origin", "prior_use"],
        [(n, f"S-{n}", 1, "new", "none") for n in parts],
    )
    _insert(
        connection,
        "placement",
        [
            "part_id",
            "place",
            "position_id",
            "from_on",
            "from_sortie",
            "from_precision",
            "until_on",
            "until_sortie",
            "until_precision",
            "reason",
        ],
        [
            (
                n,
                n,
                "installed",
                n,
                START.isoformat(),
                0,
                "day",
                *((ends[n - 1], 1, "day", "failed") if fails[n - 1] else (None,) * 4),
            )
            for n in parts
        ],
    )
    _insert(
        connection,
        "sortie",
        ["ship_id", "sailed_on", "number", "minutes_afloat", "wetness", "ending", "sinking_cause"],
        [
            (
                n,
                ship,
                (START + timedelta(days=20 + 50 * k)).isoformat(),
                1,
                25.0,
                *(("W3", "sank", "damage") if sunk else ("W1", "recall", None)),
            )
            for n, (ship, k, sunk) in enumerate(
                ((ship, k, rng.random() < 0.2) for ship in ships for k in range(SORTIES)), start=1
            )
        ],
    )
    _insert(
        connection,
        "failure",
        ["part_id", "position_id", "found_on", "found_sortie", "mode", "cause", "effect", "found_by", "secondary"],
        [
            (k, n, n, ends[n - 1], 1, "dead", "water", "lost function", "in battle", 0)
            for k, n in enumerate((n for n in parts if fails[n - 1]), start=1)
        ],
    )
    connection.commit()
    connection.close()


def _insert(connection: sqlite3.Connection, table: str, columns: list[str], rows: list[tuple[object, ...]]) -> None:
    """Insert rows that begin with their id; the uid is made of it."""
    names = ", ".join(["uid", "id", *columns])
    marks = ", ".join("?" * (len(columns) + 2))
    connection.executemany(
        f"INSERT INTO {table} ({names}) VALUES ({marks})", ((f"{table}-{row[0]}", *row) for row in rows)
    )
