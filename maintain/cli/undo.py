"""maintain undo."""

from __future__ import annotations

from typing import TYPE_CHECKING

import typer

from maintain.cli._command import writes
from maintain.cli._missing import confirm
from maintain.cli._options import Yes

if TYPE_CHECKING:
    from maintain.results.base import Result
    from maintain.services.unit import Desk

app = typer.Typer()


@writes(app)
def undo(desk: Desk, yes: Yes = False) -> Result:
    """Take back the last change."""
    from maintain.services import history

    confirm(f"Take back {history.last(desk)}?", yes=yes)
    return history.undo(desk)
