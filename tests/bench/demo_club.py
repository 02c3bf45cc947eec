"""The two largest jobs of a club's day on the demo club: taking its records in, and asking what is due."""

from __future__ import annotations

import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path

from docs.regenerate import leaves
from maintain.services import club, demo
from maintain.services.importing import import_folder
from maintain.services.unit import Desk
from tests.bench.timing import line, process_seconds, seconds


def lines() -> Iterator[str]:
    """The import in this process; the questions as a captain asks them, in processes of their own."""
    with tempfile.TemporaryDirectory() as folder:
        desk = Desk(str(Path(folder) / "club.db"), "bench", demo.today())

        def take_in() -> None:
            club.remove(Path(desk.db))
            club.create(desk.db)
            import_folder(desk, demo.fleet_folder())

        yield line("import of the demo club into a new file", seconds(take_in, times=3))
        program = Path(sys.executable).with_name("maintain")
        for words in (("due",), ("spares",)):
            if words in leaves():
                command = [program, *words, "--db", desk.db, "--on", str(desk.today)]
                yield line(f"maintain {' '.join(words)} on the demo club, cold", process_seconds(command, times=3))
            else:
                yield f"maintain {' '.join(words)}: no such command yet"
