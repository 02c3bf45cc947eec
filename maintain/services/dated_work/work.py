"""What a thing to do by a date or count is made of."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date


@dataclass(frozen=True)
class DatedWork:
    """
    One thing to do by a date or count.

    Attributes
    ----------
    kind : str
        "certificate" or "task".
    what : str
        What to do.
    ship, position, part : str, optional
        Where; None where it does not apply.
    due_on : date, optional
        By when; None if a count decides.
    why : str
        The reason in plain words.
    source, decider : str, optional
        Who says so, and who decides.
    overdue : bool
        True if its day is past, or its count was reached before today.
    first : bool
        True if it goes before all else: what failed is still aboard.
    key : str, optional
        What names it for ever, whatever becomes of its words: a calendar knows it again by that.
    """

    kind: str
    what: str
    ship: str | None
    position: str | None
    part: str | None
    system: str | None
    due_on: date | None
    why: str
    source: str | None
    decider: str | None
    overdue: bool = False
    first: bool = False
    key: str | None = None
