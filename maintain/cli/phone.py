"""maintain phone."""

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
def phone(
    desk: Desk,
    battle: Annotated[str, typer.Option(help="The battle to log.", show_default=False)],
    out: Annotated[Path | None, typer.Option(help="The page's file (default: print it).", metavar="FILE.html")] = None,
) -> Result:
    """A page that logs a battle on a phone without network; import takes what it hands over."""
    from maintain.render.html import write
    from maintain.render.phone import html
    from maintain.results.base import Done
    from maintain.services.phone import page

    made = page(desk, battle=battle)
    if out is None:
        return made
    write(out, html(made))
    return Done(
        f"wrote {out}: {made.battle}, {len(made.ships)} ships",
        notes=(
            "send it to the captains' phones; opened once there, it works without network",
            "what they hand over: maintain import FILE.json --dry-run, then without",
        ),
        record={"file": str(out), "battle": made.battle, "ships": len(made.ships)},
    )
