"""The rows of the club's records as they are drawn, and the one source of chance."""

from __future__ import annotations

import math
import uuid
from collections import defaultdict
from collections.abc import Sequence
from datetime import date, timedelta
from typing import Any, TypeVar

import numpy as np

Row = dict[str, Any]
T = TypeVar("T")
_NAMES = uuid.UUID("6f0d5f0e-5b0c-5a51-9d8e-3a6f3f6c2b1d")


class Book:
    """Rows of every table; each keeps its id and a uid that follows from its table and number."""

    def __init__(self) -> None:
        self.rows: dict[str, list[Row]] = defaultdict(list)

    def add(self, table: str, **values: Any) -> Row:
        """Add a row and return it, to be changed until the book is written."""
        number = len(self.rows[table]) + 1
        row = {"id": number, "uid": uuid.uuid5(_NAMES, f"{table}/{number}").hex, **values}
        self.rows[table].append(row)
        return row


class Chance:
    """Draws from uniform numbers alone, whose stream NumPy keeps from version to version."""

    def __init__(self, seed: int) -> None:
        self.rng = np.random.default_rng(seed)

    def uniform(self, low: float = 0.0, high: float = 1.0) -> float:
        return low + (high - low) * float(self.rng.random())

    def happens(self, probability: float) -> bool:
        return self.uniform() < probability

    def whole(self, low: int, high: int) -> int:
        """A whole number from low to high, both included."""
        return low + int(self.uniform() * (high - low + 1))

    def pick(self, choices: Sequence[T], weights: Sequence[float] | None = None) -> T:
        if weights is None:
            return choices[int(self.uniform() * len(choices))]
        left = self.uniform() * sum(weights)
        for choice, weight in zip(choices, weights, strict=True):
            left -= weight
            if left < 0:
                return choice
        return choices[-1]

    def exponential(self) -> float:
        return -math.log1p(-self.uniform())

    def day(self, first: date, last: date) -> date:
        return first + timedelta(days=self.whole(0, (last - first).days))

    def near(self, middle: float, spread: float) -> float:
        """A bell-shaped draw: the sum of four uniform numbers."""
        return middle + spread * sum(self.uniform(-1.0, 1.0) for _ in range(4)) * 0.866
