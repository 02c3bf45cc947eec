"""The days ahead on the screen, and as the text of a calendar's file."""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING

from maintain.render.tables import listing

if TYPE_CHECKING:
    from rich.console import Console

    from maintain.results.calendar import Calendar, CalendarText


def calendar(result: Calendar, console: Console) -> None:
    """A table, a line for each entry."""
    listing(result.listing(), console)


def printed(result: CalendarText, _: Console) -> None:
    """The file on stdout, with its own line ends whatever those of the system."""
    sys.stdout.flush()
    sys.stdout.buffer.write(result.text.encode())
    sys.stdout.buffer.flush()
