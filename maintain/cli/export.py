"""maintain export."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from maintain.cli._command import reads

if TYPE_CHECKING:
    from maintain.results.base import Result
    from maintain.services.unit import Desk

app = typer.Typer()


@reads(app, table=False)
def export(
    desk: Desk,
    folder: Annotated[
        Path | None, typer.Argument(help="A folder for CSV files, or a workbook: FILE.xlsx.", show_default=False)
    ] = None,
    xlsx: Annotated[
        Path | None,
        typer.Option("--xlsx", help="Write a workbook as well.", metavar="FILE", show_default=False),
    ] = None,
    replace: Annotated[bool, typer.Option("--replace", help="Overwrite an earlier export.")] = False,
) -> Result:
    """Write all records to files that import takes back."""
    from maintain.services import exporting

    return exporting.export(desk, folder=folder, workbook=xlsx, replace=replace)
