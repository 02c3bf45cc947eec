"""What follows a sinking, on the screen."""

from __future__ import annotations

from typing import TYPE_CHECKING

from maintain.render.phrases import CANT_TELL, between, count, limits, number, say, share
from maintain.render.tables import table
from maintain.results.base import Column

if TYPE_CHECKING:
    from rich.console import Console

    from maintain.results.life import Figure
    from maintain.results.life_aftermath import LifeAftermath


def aftermath(result: LifeAftermath, console: Console) -> None:
    """How many died of how many soakings, by when, and whether sooner than without; then all by days."""
    who = f"{count(result.parts, 'part')} went under {count(result.soakings, 'time')}"
    half = f"half of them found dead within {_within(result.half_by)}"
    say(console, f"{who}: {result.deaths} died before the next sinking, {half}; {_verdict(result)}", bold=True)
    columns = (
        Column("days", "Days", numeric=True),
        Column("dead", f"Dead ({result.conf:.0%} limits)", numeric=True),
        Column("deaths", "Deaths", numeric=True),
        Column("as_often", "Times as often", numeric=True),
        Column("sunk_again", "Sunk again", numeric=True),
        Column("at_risk", "Followed", numeric=True),
    )
    rows = [
        {
            "days": number(point.days),
            "dead": _dead(point.dead),
            "deaths": point.deaths,
            "as_often": _as_often(point.as_often),
            "sunk_again": share(point.sunk_again),
            "at_risk": point.at_risk,
        }
        for point in result.at
    ]
    console.print(table("Of all that went under, by days since the sinking", columns, rows))
    unsunk = f"{count(result.unsunk.deaths, 'death')} in {result.unsunk.days:,.0f} days"
    say(console, f"before their first sinking such parts had {unsunk}")
    for note in result.notes:
        say(console, note)


def _within(half: Figure) -> str:
    return f"{number(half.value)} days{limits(half.lower, half.upper)}"


def _verdict(result: LifeAftermath) -> str:
    first, last = result.at[0], result.at[-1]
    like = "parts of their family and age not yet sunk"
    if result.sooner_until is None:
        return f"{CANT_TELL} whether sooner than {like}"
    told = f"within {_days(first.days)} of it {_as_often(first.as_often)} times as often as {like}"
    if result.sooner_until == last.days:
        return f"{told}, and more often all the way to {_days(last.days)}"
    also = f", and more often up to {_days(result.sooner_until)}" if result.sooner_until > first.days else ""
    return f"{told}{also}; later, {CANT_TELL}"


def _days(days: float) -> str:
    return "1 day" if days == 1 else f"{number(days)} days"


def _dead(dead: Figure) -> str:
    """To a tenth of a per cent: few die of any one sinking."""
    value, lower, upper = (None if each is None else f"{each:.1%}" for each in (dead.value, dead.lower, dead.upper))
    return f"{value} ({between(lower, upper)})" if dead.value else f"none ({between(None, upper)})"


def _as_often(ratio: Figure) -> str:
    """To two figures; a lower limit alone says something only above 1."""
    if ratio.value is None:
        return CANT_TELL if (ratio.lower or 0.0) < 1 else f"at least {_two(ratio.lower)}"
    if not ratio.value:
        return f"none ({between(None, _two(ratio.upper))})"
    return f"{_two(ratio.value)} ({between(_two(ratio.lower), _two(ratio.upper))})"


def _two(value: float | None) -> str | None:
    if value is None:
        return None
    return f"{value:.0f}" if value >= 10 else f"{value:.1f}" if value >= 0.05 else "<0.1"
