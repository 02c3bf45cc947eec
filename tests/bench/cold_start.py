"""How long a listing takes from nothing, against only importing the libraries it needs."""

from __future__ import annotations

import sys
import tempfile
from collections.abc import Iterator
from datetime import date
from pathlib import Path

from maintain.services import club
from maintain.services.unit import Desk
from tests.bench.timing import line, process_seconds

AIM = 1.5


def lines() -> Iterator[str]:
    """The start of `maintain ship list`."""
    with tempfile.TemporaryDirectory() as folder:
        db = str(Path(folder) / "club.db")
        club.init(Desk(db, "bench", date(2026, 6, 1)), name="Mill Pond", currency="EUR", records_from=None)
        imports = process_seconds([sys.executable, "-c", "import typer, rich, sqlalchemy"])
        listing = process_seconds([Path(sys.executable).with_name("maintain"), "ship", "list", "--db", db])
    yield line("maintain ship list, cold", listing, "imports alone", imports, AIM)
