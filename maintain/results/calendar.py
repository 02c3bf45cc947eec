"""A club's days ahead: battles, legal dates, and work by its day."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from maintain.results.base import Column, Listing, Result

_NO_CERTIFICATE = "A reminder, no certificate: the date that counts is the one stamped on the part."
_COLUMNS = (
    Column("on", "Day"),
    Column("until", "Until"),
    Column("kind", "Kind", on_screen=False),
    Column("what", "What"),
    Column("why", "Why", on_screen=False),
    Column("source", "Source"),
    Column("decider", "Who decides"),
    Column("place", "Where", on_screen=False),
    Column("called_off", "Called off", on_screen=False),
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
    why : str, optional
    source, decider : str, optional
        Whose rule it is, and who decides.
    place : str, optional
        Where it takes place.
    called_off : bool
    """

    uid: str
    on: date
    until: date
    kind: str
    what: str
    why: str | None = None
    source: str | None = None
    decider: str | None = None
    place: str | None = None
    called_off: bool = False

    @property
    def details(self) -> tuple[str, ...]:
        """All that is to be known besides, line by line."""
        lines = [self.why] if self.why else []
        lines += [f"Source: {self.source}"] if self.source else []
        lines += [f"Who decides: {self.decider}"] if self.decider else []
        return (*lines, _NO_CERTIFICATE) if self.kind == "certificate" else tuple(lines)


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
        rows = tuple(vars(each) for each in self.entries)
        return Listing(f"{self.name}, until {self.until}", _COLUMNS, rows, self.notes, empty="nothing has a day yet")


@dataclass(frozen=True)
class CalendarText(Result):
    """A calendar as phones and other programs take it in (RFC 5545), with its line ends."""

    text: str
