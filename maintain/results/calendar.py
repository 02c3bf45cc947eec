"""A club's days ahead: battles, legal dates, and work by its day."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from maintain.results.base import Column, Listing, Result

_COLUMNS = (
    Column("on", "Day"),
    Column("until", "Until"),
    Column("kind", "Kind"),
    Column("what", "What"),
    Column("details", "Details"),
    Column("uid", "Uid", on_screen=False),
)


@dataclass(frozen=True)
class Entry:
    """
    One entry of whole days.

    Attributes
    ----------
    uid : str
        Names it for ever: a calendar that has it moves it, and has it once.
    on, until : date
        First and last day.
    kind : str
        "battle", "certificate" or "task".
    what : str
        In a line.
    details : tuple of str
        More lines: why, whose rule it is, and who decides.
    place : str, optional
        Where it takes place.
    called_off : bool
    """

    uid: str
    on: date
    until: date
    kind: str
    what: str
    details: tuple[str, ...] = ()
    place: str | None = None
    called_off: bool = False


@dataclass(frozen=True)
class Calendar(Result):
    """
    The days ahead, earliest first.

    Attributes
    ----------
    name : str
        The club's, and whose days they are if not all.
    until : date
        The last day asked for.
    entries : tuple of Entry
    notes : tuple of str
        What has no day, and why.
    """

    name: str
    until: date
    entries: tuple[Entry, ...]
    notes: tuple[str, ...] = ()

    def listing(self) -> Listing:
        """One row for each entry."""
        rows = tuple({**vars(each), "details": "; ".join(each.details)} for each in self.entries)
        return Listing(
            f"{self.name}: days until {self.until}", _COLUMNS, rows, self.notes, empty="nothing has a day yet"
        )


@dataclass(frozen=True)
class CalendarText(Result):
    """A calendar as phones and other programs take it in (RFC 5545), with its line ends."""

    text: str
