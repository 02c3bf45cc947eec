"""What a command did, in a line."""

from __future__ import annotations

from typing import TYPE_CHECKING

from rich.text import Text

if TYPE_CHECKING:
    from rich.console import Console

    from maintain.results.base import Done


def done(result: Done, console: Console) -> None:
    """One line for what was done, one for each thing it closed or wants known."""
    console.print(Text(result.did), soft_wrap=True)
    for line in (*result.closed, *result.notes):
        console.print(Text(f"  {line}"), soft_wrap=True)
