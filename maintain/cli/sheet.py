"""maintain sheet."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from maintain.cli._command import reads
from maintain.cli._options import choice_option

if TYPE_CHECKING:
    from maintain.results.base import Result
    from maintain.services.unit import Desk

app = typer.Typer()


@reads(app, table=False)
def sheet(
    desk: Desk,
    ship: Annotated[str | None, typer.Option(help="One ship's pages.", show_default=False)] = None,
    fleet: Annotated[bool, typer.Option("--fleet", help="The pages of all ships in commission.")] = False,
    meet: Annotated[
        str | None,
        typer.Option(
            help="The fleet's pages for this battle, and what the pool issues.", metavar="BATTLE", show_default=False
        ),
    ] = None,
    pack: Annotated[
        bool,
        typer.Option(
            "--pack", help="With --meet: print how many of each spare to take, as spares --meet works it out."
        ),
    ] = False,
    out: Annotated[Path | None, typer.Option(help="The page's file (default: print it).", metavar="FILE.html")] = None,
    paper: Annotated[str, choice_option("The paper", ("A4", "Letter"))] = "A4",
) -> Result:
    """Pages to print: the check, the log card, what the pool issues."""
    if (ship is not None) + fleet + (meet is not None) != 1:
        raise typer.BadParameter("ask for one of --ship, --fleet and --meet", param_hint="SHEET")
    if pack and meet is None:
        raise typer.BadParameter("goes with --meet", param_hint="--pack")
    from maintain.render.html import write
    from maintain.render.sheet import html
    from maintain.results.base import Done
    from maintain.services.paper.sheets import Wanted, sheets

    made = sheets(desk, Wanted(ship, meet, issue=meet is not None, paper=paper, pack=pack))
    if out is None:
        return made
    write(out, html(made))
    did = f"wrote {out}: {made.title}"
    return Done(did, notes=made.notes, record={"file": str(out), "ships": len(made.ships), "paper": paper})
