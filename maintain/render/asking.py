"""Where questions are put to people: on stderr, beside the answer of the command."""

from __future__ import annotations

import os
import sys
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from rich.console import Console, RenderableType
    from rich.text import Text

_UNCUT = 200  # columns, where nobody says how many there are


def console() -> Console:
    """A console that honours NO_COLOR, and COLUMNS where nobody looks on."""
    from rich.console import Console

    width = None if sys.stderr.isatty() else int(os.environ.get("COLUMNS") or _UNCUT)
    return Console(stderr=True, width=width, highlight=False)


def head(number: int, mark: Text, line: Text) -> RenderableType:
    """A question in its row: its number, what it was answered, and its words."""
    from rich.table import Table

    row = Table.grid(padding=(0, 1))
    row.add_column(width=2, justify="right")
    row.add_column(width=8)
    row.add_column()
    row.add_row(str(number), mark, line)
    return row


def hung(line: Text, left: int) -> RenderableType:
    """A line set off from the left, also where it goes on."""
    from rich.padding import Padding

    return Padding(line, (0, 0, 0, left), expand=False)
