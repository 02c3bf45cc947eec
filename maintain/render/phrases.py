"""Numbers, limits and counts in words, the same in every answer about lives."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from maintain.core.wording import count
from maintain.render import words

if TYPE_CHECKING:
    from rich.console import Console

    from maintain.results.life_source import Exclusion

__all__ = [
    "CANT_TELL",
    "between",
    "count",
    "fine",
    "left_out",
    "limits",
    "number",
    "say",
    "share",
    "share_limits",
    "would_tell",
]

CANT_TELL = "can't tell yet"
MINUS = "−"


def say(console: Console, line: str, *, bold: bool = False) -> None:
    """Print a line that wraps with the window; bold if it is the answer."""
    words.line(console, line, "bold" if bold else "")


def left_out(console: Console, excluded: Sequence[Exclusion], noun: str) -> None:
    """Say what an answer does not rest on, and why; some of it by name."""
    for each in excluded:
        names = ", ".join(each.examples) + (" ..." if each.n > len(each.examples) else "")
        say(console, f"{each.n} of {count(each.of, noun)} left out: {each.reason} ({names})")


def limits(lower: float | None, upper: float | None) -> str:
    """Limits in brackets, after a number."""
    return f" ({between(number(lower), number(upper))})"


def share_limits(lower: float | None, upper: float | None) -> str:
    """Limits in brackets, after a share."""
    return f" ({between(share(lower), share(upper))})"


def between(lower: str | None, upper: str | None) -> str:
    """
    Both limits, or in words which of them the data do not give.

    Examples
    --------
    >>> between(number(54), number(383)), between(number(-383), number(-53.8))
    ('54–383', 'from −383 to −53.8')
    """
    if lower is None and upper is None:
        return f"limits: {CANT_TELL}"
    if upper is None:
        return f"{lower} or more, {CANT_TELL} how much"
    if lower is None:
        return f"up to {upper}"
    return f"from {lower} to {upper}" if MINUS in lower + str(upper) else f"{lower}–{upper}"


def would_tell(needed: int | None, failures: int) -> str:
    """How many failures would tell a shape from 1, in brackets; nothing where no club will see as many."""
    from maintain.core.sample_size import FEWEST_FOR_A_SHAPE

    if failures < FEWEST_FOR_A_SHAPE:
        return " (so few failures don't even say how many more it takes)"
    return f" (about {count(needed, 'failure')} in all would tell, four times in five)" if needed else ""


def number(value: float | None) -> str | None:
    """A number to three figures; None if there is none."""
    if value is None:
        return None
    figures = f"{abs(value):.0f}" if 100 <= abs(value) < 1e9 else f"{abs(value):.3g}"
    return f"{MINUS}{figures}" if value < 0 else figures


def share(value: float | None) -> str | None:
    """A share in per cent; None if there is none."""
    return None if value is None else f"{value:.0%}"


def fine(value: float | None) -> str | None:
    """A share in per cent, to a tenth below 1 %, which of many parts is still some; None if there is none."""
    return f"{value:.1%}" if value is not None and value < 0.00995 else share(value)
