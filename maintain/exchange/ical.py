"""
Calendars as phones and other programs take them in: RFC 5545, whole days only.

What such a file needs of the standard is small: lines of at most 75 octets that end in CR LF, text with its commas,
semicolons, backslashes and line ends escaped, and of each event a uid, a time stamp and its first day.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable, Iterator
from datetime import date, datetime

from maintain.core.recurrence import days_later
from maintain.results.calendar import Entry

_OCTETS = 75


def calendar_text(name: str, entries: Iterable[Entry], written: datetime, edition: int) -> str:
    """
    A calendar as one text.

    Parameters
    ----------
    name : str
        What the calendar is called where it is shown.
    entries : iterable of Entry
    written : datetime
        When, in UTC.
    edition : int
        The larger the newer: a program that took in an older one replaces what has the same uid.
    """
    lines = ["BEGIN:VCALENDAR", "VERSION:2.0", "PRODID:-//maintain//maintain//EN", "CALSCALE:GREGORIAN"]
    lines += [f"X-WR-CALNAME:{escaped(name)}"]
    for entry in entries:
        lines += _event(entry, written, edition)
    lines.append("END:VCALENDAR")
    return "".join(f"{folded(line)}\r\n" for line in lines)


def _event(entry: Entry, written: datetime, edition: int) -> Iterator[str]:
    yield "BEGIN:VEVENT"
    yield f"UID:{entry.uid}"
    yield f"DTSTAMP:{written:%Y%m%dT%H%M%SZ}"
    yield f"SEQUENCE:{edition}"
    yield f"DTSTART;VALUE=DATE:{_day(entry.on)}"
    if entry.until > entry.on:  # the end is the day after the last one; an event without an end lasts one day
        yield f"DTEND;VALUE=DATE:{_day(days_later(entry.until, 1))}"
    yield f"SUMMARY:{escaped(entry.what)}"
    if entry.details:
        yield f"DESCRIPTION:{escaped(chr(10).join(entry.details))}"
    if entry.place:
        yield f"LOCATION:{escaped(entry.place)}"
    yield f"CATEGORIES:{escaped(entry.kind)}"
    yield f"STATUS:{'CANCELLED' if entry.called_off else 'CONFIRMED'}"
    yield "TRANSP:TRANSPARENT"  # nobody is busy all day for it
    yield "END:VEVENT"


def _day(day: date) -> str:
    return day.isoformat().replace("-", "")


def escaped(text: str) -> str:
    r"""
    Text as the value of a property; control characters, which none may hold, are left out.

    Examples
    --------
    >>> print(escaped("grease, oil; then\nclose"))
    grease\, oil\; then\nclose
    """
    seen = "".join(each for each in "\n".join(text.splitlines()) if each in "\n\t" or _may_stand(each))
    for mark, written in (("\\", "\\\\"), (";", "\\;"), (",", "\\,"), ("\n", "\\n")):
        seen = seen.replace(mark, written)
    return seen


def _may_stand(character: str) -> bool:
    return unicodedata.category(character) not in ("Cc", "Cs")


def folded(line: str) -> str:
    """
    A line broken so that no piece has more than 75 octets, and no character is broken.

    Examples
    --------
    >>> [len(piece) for piece in folded("x" * 160).split("\\r\\n")]
    [75, 75, 12]
    """
    pieces, width = [""], 0
    for character in line:
        octets = len(character.encode())
        if width + octets > _OCTETS:
            pieces.append(" ")
            width = 1
        pieces[-1] += character
        width += octets
    return "\r\n".join(pieces)
