"""The table of docs/life.md that says how often intervals hold the truth, from the last study in docs/coverage.csv."""

from __future__ import annotations

import csv
from pathlib import Path

STUDY = Path(__file__).with_name("coverage.csv")


def coverage_table() -> str:
    """Per cent of the clubs whose interval held the truth, a line for each thing asked, by size of the sample."""
    with STUDY.open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    found: dict[str, list[str]] = {}
    for row in rows:
        share = f"{int(row['held']) / int(row['answered']):.1%}"
        found.setdefault(row["asked"], []).append(f"{row['size']} {row['of']}: {share}")
    lines = [f"| {asked} | {' · '.join(shares)} |" for asked, shares in found.items()]
    return "\n".join(["| asked | held the truth |", "|---|---|", *lines]) + "\n"
