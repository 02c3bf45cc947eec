"""Where questions are put to people: on stderr, beside the answer of the command."""

from __future__ import annotations

import os
import sys
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from rich.console import Console

_UNCUT = 200  # columns, where nobody says how many there are


def console() -> Console:
    """A console that honours NO_COLOR, and COLUMNS where nobody looks on."""
    from rich.console import Console

    width = None if sys.stderr.isatty() else int(os.environ.get("COLUMNS") or _UNCUT)
    return Console(stderr=True, width=width, highlight=False)
