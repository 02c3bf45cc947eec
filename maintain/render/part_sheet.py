"""The sheet of one part on the screen."""

from __future__ import annotations

from typing import TYPE_CHECKING

from rich.text import Text

from maintain.core.wording import count
from maintain.render import words
from maintain.render.tables import cell, table

if TYPE_CHECKING:
    from rich.console import Console

    from maintain.results.part_sheet import PartSheet, Worked


def part_sheet(result: PartSheet, console: Console) -> None:
    """What it is, where it is, how much it has been through, then its history."""
    where = f"{result.where} since {result.since}" if result.where else "nobody knows where"
    words.line(console, f"{result.tag}: {result.facts['family']}, {where}", "bold")
    known = [f"{key.replace('_', ' ')} {cell(value)}" for key, value in result.facts.items() if value is not None]
    words.line(console, ", ".join(known[1:]))
    least = "" if result.use_known else "at least "
    words.line(console, f"Use: {least}{_told(result.use)}")
    if result.opened_on and result.use_since_opened:
        console.print(Text(f"Last opened {result.opened_on}; since then {_told(result.use_since_opened)}"))
    for listing in result.listings():
        if listing.rows:
            console.print(table(listing.title, listing.columns, listing.rows))


def _told(use: Worked) -> str:
    told = f"{count(use.days, 'day')}, {count(use.sorties, 'sortie')}, {use.wet_sorties} wet, "
    told += count(use.immersions, "immersion")
    return told + (f" ({count(use.unknown_wetness, 'sortie')} of unknown wetness)" if use.unknown_wetness else "")
