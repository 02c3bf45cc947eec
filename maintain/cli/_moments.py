"""Options that say when a part was moved."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

if TYPE_CHECKING:
    from maintain.core.when import When
    from maintain.services.placements import Timing
    from maintain.services.unit import Desk

From = Annotated[
    str | None,
    typer.Option(
        "--from", metavar="WHEN", help="Since when: 2026-05-03, 2026-05, 2026, 'before 2024-03-01' or 'before records'."
    ),
]
Until = Annotated[str | None, typer.Option("--until", metavar="WHEN", help="When: 2026-05-03, 2026-05 or 2026.")]
Found = Annotated[str | None, typer.Option("--found", metavar="DATE", help="The day it was found (default: today).")]
AfterSortie = Annotated[
    int | None, typer.Option("--after-sortie", min=0, help="After how many of the ship's sorties that day.")
]


def when(desk: Desk, text: str | None, option: str) -> When | None:
    """The date an option gives, as far as it is known."""
    from maintain.core.when import parse_when

    return parse_when(text, desk.today, what=option) if text else None


def timing(desk: Desk, text: str | None, option: str, after_sortie: int | None) -> Timing:
    """The date and sortie that options give."""
    from maintain.services.placements import Timing

    if text and text.strip().lower() == "before records":
        return Timing(None, after_sortie, before_records=True)
    return Timing(when(desk, text, option), after_sortie)


def found(desk: Desk, text: str | None, after_sortie: int | None) -> Timing:
    """The exact day of --found, and the sortie: a failure is found on a day, --last-good says how early it may be."""
    from maintain.core.when import When, parse_day
    from maintain.services.placements import Timing

    return Timing(When(parse_day(text, desk.today, what="--found")) if text else None, after_sortie)
