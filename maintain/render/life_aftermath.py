"""What follows a sinking, on the screen."""

from __future__ import annotations

from typing import TYPE_CHECKING

from maintain.render.phrases import between, count, number, say, share
from maintain.render.tables import table
from maintain.results.base import Column

if TYPE_CHECKING:
    from rich.console import Console

    from maintain.results.life_aftermath import LifeAftermath


def aftermath(result: LifeAftermath, console: Console) -> None:
    """How many died of how many soakings and by when; then the shares by days since the sinking."""
    who = f"{count(result.parts, 'part')} went under {count(result.soakings, 'time')}"
    died = f"{result.deaths} died before the next sinking"
    say(console, f"{who}: {died}, half of them found dead within {number(result.half_by)} days", bold=True)
    columns = (
        Column("days", "Days since the sinking", numeric=True),
        Column("dead", "Dead", numeric=True),
        Column("limits", f"{result.conf:.0%} limits", numeric=True),
        Column("sunk_again", "Sunk again first", numeric=True),
        Column("at_risk", "Still followed", numeric=True),
    )
    rows = [
        {
            "days": number(point.days),
            "dead": _fine(point.dead.value),
            "limits": between(
                *(None if side is None else f"{side:.1%}" for side in (point.dead.lower, point.dead.upper))
            ),
            "sunk_again": share(point.sunk_again),
            "at_risk": point.at_risk,
        }
        for point in result.at
    ]
    console.print(table("Of all that went under", columns, rows))
    for note in result.notes:
        say(console, note)


def _fine(value: float | None) -> str | None:
    return None if value is None else f"{value:.1%}"
