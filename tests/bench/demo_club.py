"""The two largest jobs of a club's day on the demo club: taking its records in, and asking what is due."""

from __future__ import annotations

import subprocess
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path

from maintain.services import club, demo
from maintain.services.importing import import_folder
from maintain.services.unit import Desk
from tests.bench.timing import line, process_seconds, seconds

KEPT_AIM = 2.0
FRESH_AIM = 1.0  # all worked out in about the time in which lifelines is loaded


def lines() -> Iterator[str]:
    """The import in this process; the questions as a captain asks them, in processes of their own."""
    with tempfile.TemporaryDirectory() as folder:
        desk = Desk(str(Path(folder) / "club.db"), "bench", demo.today())

        def take_in() -> None:
            club.remove(Path(desk.db))
            club.create(desk.db)
            import_folder(desk, demo.fleet_folder())

        yield line("import of the demo club into a new file", seconds(take_in, times=3))

        def asked(*words: str) -> float:
            program = Path(sys.executable).with_name("maintain")
            return process_seconds([program, *words, "--db", desk.db, "--on", str(desk.today)], times=3)

        listing = asked("ship", "list")
        load = process_seconds([sys.executable, "-c", "import lifelines"], times=3)
        fresh = asked("due", "--refit")
        yield line("maintain due on the demo club, cold, worked out", fresh, "import lifelines", load, FRESH_AIM)
        yield line("maintain due, cold, kept", asked("due"), "maintain ship list", listing, KEPT_AIM)
        others = iter(range(1, 9))  # each time a question nobody has asked
        program = Path(sys.executable).with_name("maintain")

        def another() -> None:
            words = ["due", "--hours", str(next(others)), "--db", desk.db, "--on", str(desk.today)]
            subprocess.run([program, *words], check=True, stdout=subprocess.DEVNULL)

        yield line("maintain due, cold, another question", seconds(another, times=3))
        yield line("maintain spares on the demo club, cold", asked("spares"))
