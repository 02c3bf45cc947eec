"""Read the published data sets and the values expected of them."""

from __future__ import annotations

import csv
import json
from pathlib import Path
from typing import Any

import numpy as np

HERE = Path(__file__).parent
EXPECTED: dict[str, Any] = {
    case["id"]: case["expected"] for case in json.loads((HERE / "expected.json").read_text("utf-8"))
}


def column(name: str, key: str) -> np.ndarray:
    """Return one column of a data set as text."""
    with (HERE / f"{name}.csv").open(encoding="utf-8", newline="") as file:
        return np.array([row[key] for row in csv.DictReader(file)])


def numbers(name: str, *keys: str) -> np.ndarray:
    """Return one column of numbers, or several side by side; empty cells are NaN."""
    columns = [[float(cell) if cell else np.nan for cell in column(name, key)] for key in keys]
    return np.array(columns[0]) if len(keys) == 1 else np.array(columns).T
