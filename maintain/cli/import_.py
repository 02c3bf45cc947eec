"""maintain import."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from maintain.cli._command import writes

if TYPE_CHECKING:
    from maintain.results.base import Result
    from maintain.services.unit import Desk

app = typer.Typer()


@writes(app, "import")
def import_(
    desk: Desk,
    source: Annotated[
        Path,
        typer.Argument(
            help="A folder of CSV files, one CSV, an XLSX file, or the JSON file a phone handed over.",
            metavar="FOLDER|FILE",
        ),
    ],
    dry_run: Annotated[bool, typer.Option("--dry-run", help="Check everything and write nothing.")] = False,
    prefer: Annotated[
        str | None,
        typer.Option(
            help="Whose word counts where a phone contradicts the records: its name or id, or 'records'.",
            metavar="NAME",
            show_default=False,
        ),
    ] = None,
    skip_conflicts: Annotated[
        bool, typer.Option("--skip-conflicts", help="Leave out where a phone contradicts the records.")
    ] = False,
) -> Result:
    """Take in records from files; all of them, or none."""
    if source.suffix.lower() == ".json":
        from maintain.services.handover.take import Settled, take

        return take(desk, source, dry_run=dry_run, settled=Settled(prefer, skip_conflicts))
    from maintain.render.progress import bar
    from maintain.services import importing

    with bar() as progress:
        return importing.import_folder(desk, source, dry_run=dry_run, progress=progress)
