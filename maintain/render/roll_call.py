"""A roll call on the screen: position by position, or all of them."""

from __future__ import annotations

from typing import TYPE_CHECKING

from rich.text import Text

from maintain.render import asking
from maintain.render.tables import listing

if TYPE_CHECKING:
    from rich.console import Console

    from maintain.results.roll_call import RollCall, RollCallLine


def ask(line: RollCallLine) -> None:
    """Ask about a position; on stderr, beside the answer of the command."""
    there = f"{line.part}, {line.family}" if line.part else "nothing recorded"
    asking.console().print(
        Text(f"{line.position} ({line.system}, {line.zone}): {there}. Is it there, and does it work?")
    )


def roll_call(result: RollCall, console: Console) -> None:
    """What was found at each position."""
    listing(result.listing(), console)
