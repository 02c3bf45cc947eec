"""Calendars against an independent reader of RFC 5545, the icalendar library."""

from __future__ import annotations

import unicodedata
from datetime import UTC, date, datetime, timedelta
from typing import Any

import icalendar
import pytest
from hypothesis import given
from hypothesis import strategies as st

from maintain.exchange.ical import calendar_text, escaped, folded
from maintain.results.calendar import Entry

TODAY = date(2026, 6, 1)
WRITTEN = datetime(2026, 6, 1, 9, 30, tzinfo=UTC)
TEXTS = st.text(st.characters(exclude_categories=("Cs",)), min_size=1, max_size=200)
DAYS = st.dates(date(1970, 1, 1), date(9998, 12, 31))


def entry(**values: Any) -> Entry:
    return Entry(**{"uid": "a-1", "on": TODAY, "until": TODAY, "kind": "task", "what": "re-grease", **values})


def read(*entries: Entry, name: str = "Mill Pond") -> Any:
    return icalendar.Calendar.from_ical(calendar_text(name, entries, WRITTEN, 1).encode())


def events(*entries: Entry) -> list[Any]:
    return list(read(*entries).walk("VEVENT"))


def seen(text: str) -> str:
    """What may be left of a text: its lines, without characters that no calendar may hold."""
    lines = "\n".join(text.splitlines())
    return "".join(each for each in lines if each in "\n\t" or unicodedata.category(each) != "Cc")


def unescaped(value: str) -> str:
    """Section 3.3.11 of RFC 5545, read by hand: a backslash takes the next character with it."""
    found, marks = "", iter(value)
    for mark in marks:
        if mark == "\\":
            following = next(marks)
            found += "\n" if following in "nN" else following
        else:
            found += mark
    return found


def test_a_calendar_has_all_that_the_standard_asks_for() -> None:
    made = read(entry())
    assert (made["VERSION"], made["PRODID"], made["CALSCALE"]) == ("2.0", "-//maintain//maintain//EN", "GREGORIAN")
    (event,) = made.walk("VEVENT")
    assert event["UID"] == "a-1"
    assert event.decoded("DTSTAMP").isoformat() == "2026-06-01T09:30:00+00:00"
    assert event.decoded("DTSTART") == TODAY
    assert not made.errors
    assert not event.errors


def test_an_entry_of_several_days_ends_on_the_day_after_its_last() -> None:
    one, several = events(entry(), entry(uid="a-2", until=TODAY + timedelta(days=3)))
    assert "DTEND" not in one
    assert several.decoded("DTEND") == TODAY + timedelta(days=4)
    assert several["DTEND"].params["VALUE"] == several["DTSTART"].params["VALUE"] == "DATE"


def test_what_is_called_off_says_so() -> None:
    assert [each["STATUS"] for each in events(entry(), entry(called_off=True))] == ["CONFIRMED", "CANCELLED"]


def test_every_line_ends_in_cr_lf_and_has_at_most_75_octets() -> None:
    text = calendar_text("Mühlteich", [entry(what="näß " * 60, why="x" * 300, source="🛥" * 100)], WRITTEN, 1)
    lines = text.encode().split(b"\r\n")
    assert lines[-1] == b""
    assert all(len(line) <= 75 for line in lines)
    assert b"\n" not in b"".join(lines)
    assert [line.decode() for line in lines]  # no character is broken


@given(what=TEXTS, why=TEXTS, place=TEXTS, on=DAYS, days=st.integers(0, 9))
def test_hostile_text_comes_back_as_it_was(what: str, why: str, place: str, on: date, days: int) -> None:
    until = on + timedelta(days=days)
    made = entry(what=what, why=why, place=place, on=on, until=until)
    text = calendar_text(what, [made], WRITTEN, 1)
    (event,) = icalendar.Calendar.from_ical(text.encode()).walk("VEVENT")
    raw = properties(text)
    assert unescaped(raw["SUMMARY"]) == seen(what)
    assert unescaped(raw.get("LOCATION", "")) == seen(place)
    assert unescaped(raw.get("DESCRIPTION", "")) == seen(why)
    assert event.decoded("DTSTART") == on
    assert [each.name for each in icalendar.Calendar.from_ical(text.encode()).walk()] == ["VCALENDAR", "VEVENT"]


def properties(text: str) -> dict[str, str]:
    """What stands in the one event of a calendar, unfolded, by the name of the property."""
    inside = text.replace("\r\n ", "").split("BEGIN:VEVENT\r\n")[1]
    parted = (line.partition(":") for line in inside.split("\r\n") if line)
    return {name.partition(";")[0]: value for name, _, value in parted}


@pytest.mark.parametrize(
    "text", ["oil, grease; both", "a\nb", "BEGIN:VEVENT\r\nUID:evil", "C:\\temp", 'say "no"', "x:y;z=1,2"]
)
def test_the_library_reads_what_was_meant(text: str) -> None:
    (event,) = events(entry(what=text))
    assert str(event["SUMMARY"]) == seen(text)


@given(TEXTS)
def test_folding_breaks_no_character_and_is_undone_by_unfolding(text: str) -> None:
    line = escaped(text)
    pieces = folded(line).encode().split(b"\r\n")
    assert all(len(piece) <= 75 for piece in pieces)
    assert all(piece.decode().startswith(" ") for piece in pieces[1:])
    assert "".join([pieces[0].decode(), *(piece.decode()[1:] for piece in pieces[1:])]) == line
