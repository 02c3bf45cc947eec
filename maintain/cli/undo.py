"""maintain undo."""

from __future__ import annotations

from typing import TYPE_CHECKING

import typer

from maintain.cli._command import writes

if TYPE_CHECKING:
    from maintain.results.base import Result
    from maintain.services.unit import Desk

app = typer.Typer()


@writes(app)
def undo(desk: Desk) -> Result:
    """Take back the last change."""
    from maintain.services import history

    return history.undo(desk)
