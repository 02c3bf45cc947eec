"""Cells of a table of lives: numbers, and whether a part failed."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np

from maintain.core.lives import Floats

EVENT_WORDS = {
    **dict.fromkeys(("1", "1.0", "true", "yes", "failed"), True),
    **dict.fromkeys(("0", "0.0", "false", "no", "censored"), False),
}


def numbers(texts: Sequence[str]) -> Floats:
    """Numbers; nan where a cell is blank or no number."""

    def number(text: str) -> float:
        try:
            return float(text)
        except ValueError:
            return float("nan")

    return np.array([number(text) for text in texts], dtype=np.float64)


def faulty(texts: Sequence[str], bad: Callable[[str], bool], why: str) -> list[tuple[int, str]]:
    """List (row, reason) of the cells that are bad."""
    return [(row, why) for row, text in enumerate(texts) if bad(text)]


def collect(faults: dict[int, str], found: list[tuple[int, str]]) -> None:
    """Add faults by row; the first that was found of a row stays."""
    for row, why in found:
        faults.setdefault(row, why)
