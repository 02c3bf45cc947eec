"""Print how fast the program is, in one run: `python -m tests.bench`. Names after it choose some of the parts."""

from __future__ import annotations

import importlib
import platform
import sys

PARTS = {
    "start": "cold_start",
    "club": "demo_club",
    "lives": "extraction",
    "fits": "fits",
    "million": "lives_million",
    "draws": "draws",
    "federation": "federation",
    "stock": "stock",
}


def main() -> None:
    """Run the parts named on the command line, else all."""
    print(f"Python {platform.python_version()}, {platform.machine()}; wall clock, medians if nothing else is said")
    for name in sys.argv[1:] or PARTS:
        for line in importlib.import_module(f"tests.bench.{PARTS[name]}").lines():
            print(line, flush=True)


if __name__ == "__main__":
    main()
