"""maintain demo."""

from __future__ import annotations

import tempfile
from pathlib import Path
from typing import Annotated

import typer

from maintain.cli._command import AsJson, login

app = typer.Typer()


@app.command()
def demo(
    db: Annotated[
        Path | None, typer.Option(metavar="PATH", help="Build it here (a new file) instead of a temporary folder.")
    ] = None,
    as_json: AsJson = False,
) -> None:
    """Build an invented club in a scratch database and ask it the main questions."""
    from maintain.render.show import show
    from maintain.services import demo

    # Not the common --db: that one reads MAINTAIN_DB, and the demo never touches the user's own file.
    path = db or Path(tempfile.mkdtemp(prefix="maintain-demo-")) / "club.db"
    show(demo.answers(demo.build(path, login())), as_json=as_json)
