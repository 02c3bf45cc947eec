"""What is in each ship, and does it work?"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from maintain.results.base import Column, Listing, Result


@dataclass(frozen=True)
class RollCallLine:
    """
    One position.

    Attributes
    ----------
    part, family : str, optional
        As the records have it now; None: empty, or nobody knows.
    answer : str, optional
        None: not asked yet.
    found : str, optional
        The part that was there.
    """

    position: str
    system: str
    zone: str
    part: str | None
    family: str | None
    answer: str | None = None
    found: str | None = None
    by: str | None = None
    at: str | None = None
    note: str | None = None


@dataclass(frozen=True)
class RollCall(Result):
    """
    The roll call of a ship in one half of a season.

    Attributes
    ----------
    half_from, half_until : date
        The half of the season.
    begun_on, finished_on : date, optional
        None: not begun, not finished.
    """

    ship: str
    captain: str | None
    half_from: date
    half_until: date
    begun_on: date | None
    finished_on: date | None
    answered: int
    lines: tuple[RollCallLine, ...]

    def pending(self) -> RollCallLine | None:
        """The first position without an answer."""
        return next((line for line in self.lines if line.answer is None), None)

    def listing(self) -> Listing:
        """Position by position, as a table."""
        rows = tuple({column.key: getattr(line, column.key) for column in _COLUMNS} for line in self.lines)
        told = "not called" if self.begun_on is None else f"{self.answered} of {len(self.lines)} answered"
        title = f"{self.ship}, {self.half_from} to {self.half_until}: {told}"
        return Listing(title, _COLUMNS, rows, empty="no positions: maintain position add SHIP/POSITION")


_COLUMNS = (
    Column("position", "Position"),
    Column("system", "System"),
    Column("part", "Part"),
    Column("family", "Family"),
    Column("answer", "Answer"),
    Column("found", "Found"),
    Column("by", "By"),
    Column("at", "When"),
    Column("note", "Note"),
)
