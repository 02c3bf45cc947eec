"""maintain import."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from maintain import vocabulary
from maintain.cli._command import writes
from maintain.cli._options import choice_option

if TYPE_CHECKING:
    from maintain.results.base import Result
    from maintain.services.unit import Desk

app = typer.Typer()

Kind = Annotated[str | None, choice_option("Of a club's own sheet: what its rows are", vocabulary.SHEET_KINDS)]
Order = Annotated[str | None, choice_option("Of a club's own sheet: how it writes dates", vocabulary.DATE_ORDERS)]
Mark = Annotated[
    str | None, choice_option("Of a club's own sheet: what stands before decimals", vocabulary.DECIMAL_MARKS)
]


@writes(app, "import")
def import_(
    desk: Desk,
    source: Annotated[
        Path | None,
        typer.Argument(
            help="A folder of our CSV files, one of them, an XLSX file of them, the JSON file a phone handed over, "
            "or a club's own CSV or XLSX sheet in any layout.",
            metavar="FOLDER|FILE",
            show_default=False,
        ),
    ] = None,
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
    clock: Annotated[
        str | None,
        typer.Option(
            help="What the time really was when a phone whose clock is wrong handed over: 'YYYY-MM-DD HH:MM'.",
            metavar="TIME",
            show_default=False,
        ),
    ] = None,
    agree: Annotated[bool, typer.Option("--agree", help="Import a club's own sheet as it was shown.")] = False,
    ask: Annotated[
        bool | None, typer.Option("--ask/--no-ask", help="Ask what a sheet leaves open (default: at a terminal).")
    ] = None,
    skip_unread: Annotated[
        bool, typer.Option("--skip-unread", help="Leave out the rows of a sheet that can't be read.")
    ] = False,
    kind: Kind = None,
    column: Annotated[
        list[str] | None,
        typer.Option(
            help="What a column of a sheet is, or 'out'; may be given again.",
            metavar="HEADING=FIELD",
            show_default=False,
        ),
    ] = None,
    date_order: Order = None,
    decimals: Mark = None,
    means: Annotated[
        list[str] | None,
        typer.Option(
            help="What a name or word of a sheet means; may be given again.",
            metavar="WRITTEN=MEANT",
            show_default=False,
        ),
    ] = None,
    sheet: Annotated[str | None, typer.Option(help="Which sheet of a workbook.", metavar="NAME")] = None,
    remembered: Annotated[bool, typer.Option("--remembered", help="List the sheets whose reading is agreed.")] = False,
    forget: Annotated[bool, typer.Option("--forget", help="Forget how a sheet is read.")] = False,
) -> Result:
    """Take in records from files; all of them, or none."""
    if remembered:
        from maintain.services.own_sheets import remembered as kept

        return kept.listing(desk)
    if source is None:
        raise typer.BadParameter("missing; name a folder or a file", param_hint="FOLDER|FILE")
    if forget:
        from maintain.services.own_sheets import remembered as kept

        return kept.forget(desk, source, sheet)
    if source.suffix.lower() == ".json":
        from maintain.services.handover.take import Settled, take

        return take(desk, source, dry_run=dry_run, settled=Settled(prefer, skip_conflicts), clock=clock)
    from maintain.services import importing

    if kind or importing.is_own_sheet(source):
        from maintain.cli._own_sheet import bring
        from maintain.services.own_sheets.bring import Wish

        wish = Wish(sheet, kind, date_order, decimals, tuple(column or ()), tuple(means or ()))
        return bring(desk, source, wish, agree=agree, skip_unread=skip_unread, ask=ask, dry_run=dry_run)
    from maintain.render.progress import bar

    with bar() as progress:
        return importing.import_folder(desk, source, dry_run=dry_run, progress=progress)
