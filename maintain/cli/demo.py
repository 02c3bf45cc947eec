"""maintain demo."""

from __future__ import annotations

import tempfile
from pathlib import Path
from typing import Annotated

import typer

from maintain.cli._command import AsJson, login
from maintain.cli._told import told
from maintain.errors import InvalidRecord

app = typer.Typer()


@app.command()
def demo(
    db: Annotated[
        str | None, typer.Option(metavar="PATH", help="Build it here (a new file) instead of a temporary folder.")
    ] = None,
    as_json: AsJson = False,
) -> None:
    """Build an invented club in a scratch database and ask it the main questions."""
    from maintain.render.show import show
    from maintain.services import demo

    with told(as_json=as_json):
        # Not the common --db: that one reads MAINTAIN_DB, and the demo never touches the user's own file.
        if db and "://" in db:
            raise InvalidRecord(
                "the demo makes a file of its own, not a URL's", hint="give --db the path of a new file"
            )
        path = Path(db or Path(tempfile.mkdtemp(prefix="maintain-demo-")) / "club.db")
        show(demo.answers(demo.build(path, login())), as_json=as_json)
