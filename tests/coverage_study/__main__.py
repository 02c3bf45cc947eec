"""Regenerate docs/coverage.csv, from which docs/life.md shows how often intervals hold the truth.

python -m tests.coverage_study             # 3000 clubs each, some minutes
python -m tests.coverage_study 200 -       # fewer, to the terminal only
"""

from __future__ import annotations

import csv
import sys
from pathlib import Path

from tests.coverage_study.study import CLUBS, TABLE, study

if __name__ == "__main__":
    clubs = int(sys.argv[1]) if len(sys.argv) > 1 else CLUBS
    rows = study(clubs)
    if len(sys.argv) > 2:
        for row in rows:
            print(*row, sep="\t")
    else:
        with Path(TABLE).open("w", encoding="utf-8", newline="") as file:
            csv.writer(file, lineterminator="\n").writerows(
                [("asked", "size", "of", "clubs", "answered", "held"), *rows]
            )
