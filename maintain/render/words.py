"""What a command did, in a line; and lines of words wherever they stand."""

from __future__ import annotations

import textwrap
from typing import TYPE_CHECKING

from rich.text import Text

if TYPE_CHECKING:
    from rich.console import Console

    from maintain.results.base import Done

_NARROW = 100  # a file or pipe as wide gets each line whole: scripts look for words, and people scroll


def done(result: Done, console: Console) -> None:
    """One line for what was done, one for each thing it closed or wants known."""
    line(console, result.did)
    for more in (*result.closed, *result.notes):
        line(console, f"  {more}")


def line(console: Console, text: str, style: str = "") -> None:
    """A line of words, broken between words where a terminal or a narrow page would break it anywhere."""
    if console.is_terminal or console.width < _NARROW:
        text = "\n".join(_broken(each, console.width) for each in text.split("\n"))
    console.print(Text(text, style=style), soft_wrap=True)


def _broken(text: str, width: int) -> str:
    """What follows the first line stands further in, as deep as two steps."""
    indent = " " * (len(text) - len(text.lstrip()) + 2)
    if len(text) <= width or width <= 2 * len(indent):
        return text
    return textwrap.fill(
        text, width, subsequent_indent=indent, break_long_words=False, break_on_hyphens=False, replace_whitespace=False
    )
