"""Options and arguments that several commands share, each defined once."""

from __future__ import annotations

import re
from datetime import date
from typing import TYPE_CHECKING, Annotated, Any

import typer

from maintain.errors import InvalidRecord
from maintain.vocabulary import MOST_SORTIES_A_DAY

if TYPE_CHECKING:
    from maintain.services.unit import Desk

Since = Annotated[str | None, typer.Option("--since", help="From which day (default: today).", metavar="DATE")]
Day = Annotated[str | None, typer.Option("--day", help="Which day (default: today).", metavar="DATE")]
Number = Annotated[
    int | None, typer.Option("--number", help="Which sortie of that day.", min=1, max=MOST_SORTIES_A_DAY)
]
Note = Annotated[str | None, typer.Option("--note", help="Anything worth remembering.")]
Anyway = Annotated[bool, typer.Option("--anyway", help="It fits after rework.")]
Yes = Annotated[bool, typer.Option("--yes", help="Don't ask, even at a terminal.")]
Refit = Annotated[bool, typer.Option("--refit", help="Work it out anew, whatever is kept from the last time.")]
UntilDay = Annotated[
    str | None,
    typer.Option("--until", metavar="DATE", help="Hold for demand until this day (default: the last battle planned)."),
]
UntilBattle = Annotated[str | None, typer.Option("--battle", help="Until the end of this battle.")]
UntilYearsEnd = Annotated[bool, typer.Option("--season", help="Until the end of the year.")]
Service = Annotated[float, typer.Option("--service", help="Chance with which each holding should suffice.")]
ShipFilter = Annotated[str | None, typer.Option("--ship", help="Only this ship.")]


def choice(what: str, words: tuple[str, ...]) -> Any:
    """An argument that takes one of `words`."""
    return typer.Argument(
        help=f"{what}: {', '.join(words)}.", callback=_one_of(words), autocompletion=lambda: list(words)
    )


def choice_option(what: str, words: tuple[str, ...]) -> Any:
    """An option that takes one of `words`."""
    return typer.Option(
        help=f"{what}: {', '.join(words)}.", callback=_one_of(words), autocompletion=lambda: list(words)
    )


def _one_of(words: tuple[str, ...]) -> Any:
    def check(value: str | None) -> str | None:
        if value is None:
            return None
        folded = value.strip().lower()
        meant = [word for word in words if word.lower() == folded] or [w for w in words if w.lower().startswith(folded)]
        if len(meant) != 1:
            raise typer.BadParameter(f"{value!r} is not one of: {', '.join(words)}")
        return meant[0]

    return check


def day(desk: Desk, text: str | None, option: str) -> date | None:
    """The day an option names, if it was given."""
    from maintain.core.when import parse_day

    return parse_day(text, desk.today, what=option) if text else None


_SIGNS = "€$£¥₹"  # of money
_POWER = re.compile(r"\d[eE][+-]?\d+$")  # of ten


def cents(text: str | None, option: str) -> int | None:
    """Money as whole cents; 12.50 and 12,50 are both read."""
    if text is None:
        return None
    worded = any(map(str.isdigit, text)) and any(map(str.isalpha, text)) and not _POWER.search(text)
    if worded or any(each in _SIGNS for each in text):
        raise InvalidRecord(
            f"{option} {text!r} names a currency: the club keeps its money in one",
            hint="convert it and write the amount alone, for example 12.50",
        )
    whole, _, rest = text.strip().replace(",", ".").partition(".")
    if not (whole.isdigit() and (rest == "" or (rest.isdigit() and len(rest) <= 2))):
        raise InvalidRecord(f"{option} {text!r} is not an amount of money", hint="write for example 12.50")
    return int(whole) * 100 + int(rest.ljust(2, "0") or 0)
