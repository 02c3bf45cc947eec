"""The page for a phone: one file, with its data, that asks no network for anything."""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING, Any

from maintain import vocabulary as say
from maintain.render.html import embedded, escaped, piece
from maintain.render.ladder import ladder
from maintain.results.phone import FORMAT, VERSION, PhonePage

if TYPE_CHECKING:
    from rich.console import Console

_CAUTIONS = (
    "The safety officer stops and clears; the contest director runs the event. This page decides nothing.",
    "Cease-fire, pins in, eye wear on. Never wade alone: cold water takes the use of your hands within minutes.",
    "Lifted ship: shut the gas, then disconnect every battery, then look. A hot, hissing or swollen battery goes "
    "outdoors, away from people; call the fire service.",
)

# What a captain can tell of the time under water, in a tap; of more than a day nobody counts minutes.
_MINUTES = {"W3": (1, 2, 3, 5, 8), "W4": (10, 20, 30, 60, 120), "W5": ()}


def html(page: PhonePage) -> str:
    """The whole page as one HTML document."""
    parts = {
        "title": escaped(f"{page.battle}: ships’ log"),
        "style": piece("phone.css"),
        "script": piece("phone.js"),
        "given": embedded(_given(page)),
        "cautions": "\n".join(f"<li>{escaped(each)}</li>" for each in _CAUTIONS),
    }
    before, *rest = piece("phone.html").split("{{")
    # Each mark is filled once and what fills it is not read again, whatever a name holds.
    return before + "".join(parts[name] + text for name, _, text in (each.partition("}}") for each in rest))


def printed(page: PhonePage, _: Console) -> None:
    """The page on stdout, to be sent into a file."""
    sys.stdout.write(html(page))


def _given(page: PhonePage) -> dict[str, Any]:
    words = {code: {"short": step.short, "long": step.long} for code, step in ladder().items()}
    return {
        "format": FORMAT,
        "version": VERSION,
        "battle": {"uid": page.uid, "name": page.battle, "days": [day.isoformat() for day in page.days]},
        "ships": [{"uid": ship.uid, "name": ship.name, "positions": list(ship.positions)} for ship in page.ships],
        "wetness": {**words, "unknown": {"short": "sailed", "long": "nobody looked"}},
        "sunk": list(say.SUNK),
        "causes": list(say.SINKING_CAUSES),
        "minutes": _MINUTES,
        "findings": list(say.OPENED_FINDINGS),
        "modes": list(say.MODES),
    }
