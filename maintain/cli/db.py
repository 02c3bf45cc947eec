"""maintain db ..."""

from __future__ import annotations

from typing import TYPE_CHECKING

import typer

from maintain.cli._command import reads, writes

if TYPE_CHECKING:
    from maintain.results.base import Result
    from maintain.services.unit import Desk

app = typer.Typer(no_args_is_help=True, help="The database itself: upgrade, status, check.")


@writes(app)
def upgrade(desk: Desk) -> Result:
    """Bring an older database up to this program, keeping a copy."""
    from maintain.services import club

    return club.upgrade(desk)


@reads(app, table=False)
def status(desk: Desk) -> Result:
    """Say which database is used and its schema version."""
    from maintain.services import club

    return club.status(desk)


@reads(app, table=False)
def check(desk: Desk) -> Result:
    """Look through the records for what can't all be true; exit code 9 if anything is found."""
    from maintain.services import integrity

    return integrity.check(desk)
