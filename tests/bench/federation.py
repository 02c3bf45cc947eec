"""A federation's records: what is due of all its ships, from the rows of the database to the list."""

from __future__ import annotations

import json
import sqlite3
import subprocess
import sys
import tempfile
from collections.abc import Iterable, Iterator
from datetime import date
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from maintain.services import club
from tests.bench.timing import line

SIZES = (10_000, 30_000, 100_000)  # parts fitted now; ten lives of each position, ten sorties of each life
SECONDS, GIB = 60.0, 4.0  # asked of the largest

TODAY = date(2026, 6, 1)
DAYS = 3600  # of records
ABOARD = 25  # positions of a ship
SORTIES = 100  # of each ship in all that time
SUNK = 0.2  # share of them
SHAPE, SCALE, SINKING = 1.6, 530.0, 40.0  # the truth: Weibull lives in days, and what a sinking costs
FAMILIES = {  # category, zone, system, dependence, hidden; five positions of each
    "rudder servo": ("servo", "bilge", "steering", "vital", 0),
    "throttle servo": ("servo", "dry deck", "propulsion", "vital", 0),
    "receiver": ("receiver", "sealed box", "radio", "degrades", 0),
    "bilge pump": ("pump", "bilge", "pumping", "degrades", 0),
    "float switch": ("switch", "bilge", "pumping", "degrades", 1),
}

_TIMED = """
import json, resource, sys, time
from datetime import date
from maintain.services.due import Question, due
from maintain.services.unit import Desk
begun = time.perf_counter()
found = due(Desk(sys.argv[1], "bench", date.fromisoformat(sys.argv[2])), Question())
taken = time.perf_counter() - begun
peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 2**20
print(json.dumps([taken, time.process_time(), peak, found.considered]))
"""


def lines() -> Iterator[str]:
    """All that is due, at three sizes, each in a process of its own: seconds, by the row too, and memory."""
    for fitted in SIZES:
        with tempfile.TemporaryDirectory() as folder:
            path = Path(folder) / "club.db"
            club.create(str(path))
            lives = fill(path, fitted // ABOARD)
            rows = exposed(path)
            told = subprocess.run(
                [sys.executable, "-c", _TIMED, path, str(TODAY)], check=True, capture_output=True, text=True
            ).stdout
        taken, busy, peak, considered = json.loads(told)
        aim = f" (aim at most {SECONDS:g} s and {GIB:g} GiB)" if fitted == SIZES[-1] else ""
        yield line(f"due, {considered:,} parts, {lives:,} lives, {rows:,} rows", taken) + (
            f"   {busy:.1f} s of a processor, {busy / rows * 1e6:.1f} s a million rows   {peak:.2f} GiB{aim}"
        )


def exposed(path: Path) -> int:
    """Exposure rows: one for each life and sortie that reached it."""
    query = """
        SELECT count(*) FROM placement JOIN position ON position.id = placement.position_id
        JOIN sortie ON sortie.ship_id = position.ship_id AND sailed_on >= from_on
        AND (until_on IS NULL OR sailed_on <= until_on)
    """
    with sqlite3.connect(path) as connection:
        return int(connection.execute(query).fetchone()[0])


def fill(path: Path, ships: int) -> int:
    """Fill an empty database with records of so many ships: parts that failed were replaced; return the lives."""
    rng = np.random.default_rng(ships)
    sailed, sank = _voyages(rng, ships)
    position, start, end = _lives(rng, sailed, sank)
    connection = sqlite3.connect(path)
    guards = connection.execute("SELECT name, sql FROM sqlite_master WHERE type = 'trigger'").fetchall()
    for name, _ in guards:  # what we write obeys them, and they take long
        connection.execute(f"DROP TRIGGER {name}")
    _ships(connection, ships)
    _parts(connection, position, start, end)
    _sorties(connection, sailed, sank)
    for _, sql in guards:
        connection.execute(sql)
    connection.commit()
    connection.execute("ANALYZE")
    connection.close()
    return position.size


def _voyages(rng: np.random.Generator, ships: int) -> tuple[NDArray[np.int64], NDArray[np.bool_]]:
    """Days on which each ship sailed, rising, and whether she sank."""
    between = DAYS // SORTIES
    sailed = np.arange(SORTIES) * between + rng.integers(0, between, (ships, SORTIES))
    return sailed, rng.random(sailed.shape) < SUNK


def _lives(
    rng: np.random.Generator, sailed: NDArray[np.int64], sank: NDArray[np.bool_]
) -> tuple[NDArray[np.int64], NDArray[np.int64], NDArray[np.int64]]:
    """Position, first and last day of every life; the last day of one not yet over is DAYS."""
    ships = sailed.shape[0]
    cost = np.zeros((ships, DAYS))
    cost[np.arange(ships)[:, None], sailed] = SINKING * sank
    age = np.cumsum(1 + cost, axis=1) + np.arange(ships)[:, None] * 1e6  # by day; rising from ship to ship as well
    age = np.concatenate([[0.0], age.ravel()])
    ahead = np.full((ships, DAYS + 1), DAYS)  # the next day on which she sails
    ahead[np.arange(ships)[:, None], sailed] = sailed
    ahead = np.minimum.accumulate(ahead[:, ::-1], axis=1)[:, ::-1]
    begun = np.zeros(ships * ABOARD, dtype=np.int64)
    ship = np.arange(begun.size) // ABOARD
    found = []
    while (going := np.flatnonzero(begun < DAYS)).size:
        now, row = begun[going], ship[going]
        until = np.where(now, age[row * DAYS + now], row * 1e6) + SCALE * rng.weibull(SHAPE, going.size)
        fails = np.clip(np.searchsorted(age, until) - row * DAYS, now + 1, DAYS)  # by the end of the day before
        begun[going] = ahead[row, fails]  # found before she sails again
        found.append((going, now, begun[going]))
    position, start, end = (np.concatenate(each) for each in zip(*found, strict=True))
    return position, start, end


def _ships(connection: sqlite3.Connection, ships: int) -> None:
    first = _day(0)
    insert(connection, "club", ["name", "currency", "records_from"], [(1, "Federation", "EUR", first)])
    insert(
        connection,
        "family",
        ["name", "category", "tracking", "hidden", "ages_on_shelf"],
        [(n, name, each[0], "tagged", each[4], 0) for n, (name, each) in enumerate(FAMILIES.items(), start=1)],
    )
    insert(
        connection,
        "ship",
        ["name", "state", "records_from"],
        [(n, f"ship {n}", "in commission", first) for n in range(1, ships + 1)],
    )
    kinds = list(FAMILIES.values())
    insert(
        connection,
        "position",
        ["ship_id", "name", "zone", "system", "dependence"],
        (
            (n + 1, n // ABOARD + 1, f"position {n % ABOARD + 1}", *kinds[n % len(kinds)][1:4])
            for n in range(ships * ABOARD)
        ),
    )
    insert(
        connection,
        "battle",
        ["name", "from_on", "until_on", "state", "planned_sorties", "resupply"],
        [(1, "Summer battle", "2026-06-13", "2026-06-14", "planned", 4, 1)],
    )


def _parts(
    connection: sqlite3.Connection, position: NDArray[np.int64], start: NDArray[np.int64], end: NDArray[np.int64]
) -> None:
    day = [_day(n) for n in range(DAYS + 1)]
    where, begun, over = position.tolist(), start.tolist(), end.tolist()
    insert(
        connection,
        "part",
        ["tag", "family_id", "origin", "prior_use"],
        ((n, f"P-{n}", at % len(FAMILIES) + 1, "new", "none") for n, at in enumerate(where, start=1)),
    )
    columns = (
        "part_id place position_id from_on from_sortie from_precision until_on until_sortie until_precision reason"
    )
    insert(
        connection,
        "placement",
        columns.split(),
        (
            (n, n, "installed", at + 1, day[a], 0, "day", *_until(day[b], b))
            for n, (at, a, b) in enumerate(zip(where, begun, over, strict=True), start=1)
        ),
    )
    failed = ((n, at, b) for n, (at, b) in enumerate(zip(where, over, strict=True), start=1) if b < DAYS)
    insert(
        connection,
        "failure",
        ["part_id", "position_id", "found_on", "found_sortie", "mode", "cause", "effect", "found_by", "secondary"],
        (
            (n, part, at + 1, day[b], 0, "dead", "water", "lost function", "pre-battle check", 0)
            for n, (part, at, b) in enumerate(failed, start=1)
        ),
    )


def _until(day: str, number: int) -> tuple[object, ...]:
    return (None,) * 4 if number >= DAYS else (day, 0, "day", "failed")


def _sorties(connection: sqlite3.Connection, sailed: NDArray[np.int64], sank: NDArray[np.bool_]) -> None:
    ship = np.repeat(np.arange(1, sailed.shape[0] + 1), SORTIES).tolist()
    insert(
        connection,
        "sortie",
        ["ship_id", "sailed_on", "number", "minutes_afloat", "wetness", "ending", "sinking_cause"],
        (
            (n, of, _day(on), 1, 20.0 + n % 11, *(("W3", "sank", "damage") if sunk else ("W1", "recall", None)))
            for n, (of, on, sunk) in enumerate(
                zip(ship, sailed.ravel().tolist(), sank.ravel().tolist(), strict=True), start=1
            )
        ),
    )


def _day(number: int) -> str:
    return date.fromordinal(TODAY.toordinal() - DAYS + number).isoformat()


def insert(connection: sqlite3.Connection, table: str, columns: list[str], rows: Iterable[tuple[object, ...]]) -> None:
    """Insert rows that begin with their id; the uid is made of it."""
    names, marks = ", ".join(["uid", "id", *columns]), ", ".join("?" * (len(columns) + 2))
    connection.executemany(
        f"INSERT INTO {table} ({names}) VALUES ({marks})", ((f"{table}-{row[0]}", *row) for row in rows)
    )
