"""Draw many clubs for each case, and count how often the interval held the truth."""

from __future__ import annotations

import csv
import os
import zlib
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path

import numpy as np

from tests.coverage_study.cases import CASES, Case

CLUBS = 3000
SEED = 20230318
TABLE = Path(__file__).parents[2] / "docs" / "coverage.csv"

# What was asked, size and of what, clubs drawn, those that gave an interval, and those whose interval held the truth.
Row = tuple[str, int, str, int, int, int]


def recorded() -> list[Row]:
    """The rows of the last whole study."""
    with TABLE.open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    return [(r["asked"], int(r["size"]), r["of"], int(r["clubs"]), int(r["answered"]), int(r["held"])) for r in rows]


def study(clubs: int, cases: tuple[Case, ...] = CASES) -> list[Row]:
    """Work through all cases and sizes, on all processors; the answer does not depend on how many there are."""
    asked = [(number, size, clubs) for number, case in enumerate(cases) for size in case.sizes]
    with ProcessPoolExecutor(os.cpu_count()) as pool:
        return [row for rows in pool.map(_rows_of, asked) for row in rows]


def _rows_of(asked: tuple[int, int, int]) -> list[Row]:
    number, size, clubs = asked
    return rows_of(CASES[number], size, clubs)


def rows_of(case: Case, size: int, clubs: int, seed: int = SEED) -> list[Row]:
    """One row for each thing that the case asks."""
    rng = np.random.default_rng([seed, size, zlib.crc32(case.ask.__name__.encode())])
    answered: dict[str, int] = {}
    held: dict[str, int] = {}
    for _ in range(clubs):
        for what, answer in case.ask(size, rng).items():
            answered[what] = answered.get(what, 0) + (answer is not None)
            held[what] = held.get(what, 0) + bool(answer)
    return [(what, size, case.of, clubs, answered[what], held[what]) for what in answered]
