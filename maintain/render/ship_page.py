"""The page of one ship on the screen."""

from __future__ import annotations

from typing import TYPE_CHECKING

from rich.text import Text

from maintain.core.wording import count
from maintain.render.tables import table
from maintain.vocabulary import being

if TYPE_CHECKING:
    from rich.console import Console

    from maintain.results.ship_page import ShipPage


def ship_page(result: ShipPage, console: Console) -> None:
    """Who she is, what is in her, what is doubted, and how often she sank."""
    state = being(result.state) if result.state else "state then unknown"
    state += f" since {result.state_since}" if result.state_since else ""
    about = [f"captain {result.captain}" if result.captain else None, result.kind, result.number, state]
    console.print(Text(f"{result.ship}: {', '.join(each for each in about if each)}", style="bold"))
    listing = result.listing()
    if not listing.rows:
        console.print(Text(listing.empty), soft_wrap=True)
        return
    console.print(table("", listing.columns, listing.rows))
    if any(line.tag and not line.use_known for line in result.lines):
        console.print(Text("Days –: used before the records began; its sorties count from there on only."))
    if result.unknown_wetness:
        console.print(
            Text(f"{count(result.unknown_wetness, 'sortie')} of unknown wetness counted neither wet nor dry.")
        )
    for line in result.suspects:
        console.print(Text(f"Suspect: {line}"))
    for season, sorties, sinkings in result.seasons:
        console.print(Text(f"{season}: {count(sorties, 'sortie')}, {count(sinkings, 'sinking')}"))
