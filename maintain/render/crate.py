"""The crate for a meet: a list to print, tick and pack by."""

from __future__ import annotations

from typing import TYPE_CHECKING

from rich.text import Text

from maintain.render.phrases import say
from maintain.render.spares import below, percent, shopping
from maintain.render.tables import table
from maintain.results.base import Column

if TYPE_CHECKING:
    from rich.console import Console

    from maintain.results.crate import Crate, Packed


def crate(result: Crate, console: Console) -> None:
    """The list first, with what is still missing, then what to add, what to mind, and what it rests on."""
    supply = "" if result.resupply else ", no spares to be had there"
    say(console, f"Crate for {result.meet}, {result.from_on} to {result.until}", bold=True)
    say(console, f"{result.ships} ships in commission{supply}.")
    late = any(line.there < line.pack for line in result.packed)
    columns = [each for each in _COLUMNS if late or each.key not in _IF_LATE]
    console.print(table("", columns, [_packed(line) for line in result.packed]))
    say(console, _weight(result))
    say(console, shopping(result))
    if result.consumables:
        rows = [{"box": "[ ]", "quantity": each.quantity, "name": each.name} for each in result.consumables]
        console.print(table("To add, kept in no records (common practice, no source)", _ADDED, rows))
    for each in result.cautions:
        console.print(Text(f"! {each.about}: {each.text} ({each.source}); {each.decider} decides."))
    below(result, console)


_COLUMNS = (
    Column("family", "Family"),
    Column("box", "In"),
    Column("pack", "Pack", numeric=True),
    Column("missing", "Missing", numeric=True),
    Column("there", "There in time", numeric=True),
    Column("running_out", "Runs out", numeric=True),
    Column("asked", "With all asked", numeric=True),
    Column("weight", "Grams", numeric=True),
    Column("ships", "Ships", numeric=True, wide=True),
)
_IF_LATE = ("there", "asked")
_ADDED = (Column("name", "What"), Column("box", "In"), Column("quantity", "How much"))


def _packed(line: Packed) -> dict[str, object]:
    return {
        "box": "[ ]",
        "pack": line.pack,
        "family": f"{line.family}{' (guess)' if line.guess else ''}",
        "missing": line.missing or None,
        "there": line.there,
        "running_out": percent(line.running_out),
        "asked": percent(line.running_out_asked),
        "weight": None if line.weight_grams is None else f"{line.weight_grams:.0f}",
        "ships": len(line.ships) or None,
    }


def _weight(result: Crate) -> str:
    unknown = [line.family for line in result.packed if line.weight_grams is None]
    told = f"Together {result.weight_grams / 1000:.1f} kg"
    return f"{told}, without {'; '.join(unknown)}, which nobody weighed." if unknown else f"{told}."
