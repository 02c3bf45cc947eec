"""Dates as people write them: the order of day, month and year is decided by a whole column, never by one cell."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from datetime import date, timedelta

from maintain import vocabulary as say
from maintain.errors import InvalidRecord
from maintain.exchange.own_sheets.grid import Cell, Unreadable
from maintain.exchange.own_sheets.settling import Settled, settle

ORDERS = say.DATE_ORDERS
_PLACES = {"day-first": (2, 1, 0), "month-first": (2, 0, 1), "year-first": (0, 1, 2)}  # of year, month and day
# Day numbers of a spreadsheet count from here (ECMA-376 part 1, 18.17.4.1, the 1900 system after its 29 February 1900).
_DAY_ZERO = date(1899, 12, 30)
_SERIALS = range(29_221, 65_000)  # 1980 to 2077
# Two digits: 69 to 99 are 1969 to 1999, 00 to 68 are 2000 to 2068 (POSIX, strptime %y).
_PIVOT = 69
_MONTHS = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")
_WEEKDAY = re.compile(r"^(?:mon|tue|wed|thu|fri|sat|sun)[a-z]*[.,]?\s+", re.IGNORECASE)
_MIDNIGHT = re.compile(r"[T ]00:00(:00)?(\.0+)?$")
_NUMBERS = re.compile(r"(\d{1,4})\s*([./\- ])\s*(\d{1,2})\s*\2\s*(\d{1,4})\.?", re.ASCII)
_DAY_MONTH_NAME = re.compile(r"(\d{1,2})(?:st|nd|rd|th)?[\s.\-/]*(?:of\s+)?([a-z]{3,9})\.?[\s.,\-/']*(\d{2}|\d{4})")
_MONTH_NAME_DAY = re.compile(r"([a-z]{3,9})\.?[\s\-]+(\d{1,2})(?:st|nd|rd|th)?[\s,]+(\d{4})")
_MONTH_NAME_YEAR = re.compile(r"([a-z]{3,9})\.?[\s\-,/']*(\d{4})")
_YEAR_MONTH = re.compile(r"(\d{4})[\-/.](\d{1,2})", re.ASCII)
_MONTH_YEAR = re.compile(r"(\d{1,2})[\-/.](\d{4})", re.ASCII)
_YEAR = re.compile(r"(?:(?:summer|season)(?: of)? )?(\d{4})(?: season)?", re.ASCII)
_BEFORE = re.compile(r"before\s+(.+)")


def readings(cell: Cell) -> Mapping[str, str]:
    """What a cell says in each order that can read it, as our own files write dates."""
    if isinstance(cell, date):
        return dict.fromkeys(ORDERS, cell.isoformat())
    if isinstance(cell, Unreadable | bool | float):
        return {}
    if isinstance(cell, int) or (cell.isdigit() and len(cell) == 5):
        number = int(cell)
        if number in _SERIALS:
            return dict.fromkeys(ORDERS, (_DAY_ZERO + timedelta(days=number)).isoformat())
        return dict.fromkeys(ORDERS, str(number)) if 1900 < number < 2100 else {}
    return _of_text(_MIDNIGHT.sub("", _WEEKDAY.sub("", cell.strip())).lower())


def _of_text(text: str) -> dict[str, str]:
    before = _BEFORE.fullmatch(text)
    if before:
        found = _of_text(before[1])
        return {order: f"before {_first_day(day)}" for order, day in found.items()}
    numbers = _NUMBERS.fullmatch(text)
    if numbers:
        return _of_numbers((numbers[1], numbers[3], numbers[4]))
    told = _in_words(text)
    return dict.fromkeys(ORDERS, told) if told else {}


def _first_day(text: str) -> str:
    return text + "-01-01"[len(text) - 4 :]


def _of_numbers(numbers: tuple[str, str, str]) -> dict[str, str]:
    if len(numbers[0]) == 4:  # ISO 8601, in whatever order the rest of the column stands
        told = _iso(numbers[0], int(numbers[1]), int(numbers[2])) if len(numbers[2]) <= 2 else None
        return dict.fromkeys(ORDERS, told) if told else {}
    found = {}
    for order, places in _PLACES.items():
        year, month, day = (numbers[place] for place in places)
        if len(year) in (2, 4) and len(month) <= 2 and len(day) <= 2:
            told = _iso(year, int(month), int(day))
            if told:
                found[order] = told
    return found


def _in_words(text: str) -> str | None:
    """A date whose order nobody can mistake: its month is a word, or its year has four digits and no day is named."""
    for pattern, places in (
        (_DAY_MONTH_NAME, (3, 2, 1)),
        (_MONTH_NAME_DAY, (3, 1, 2)),
        (_MONTH_NAME_YEAR, (2, 1, 0)),
        (_YEAR_MONTH, (1, 2, 0)),
        (_MONTH_YEAR, (2, 1, 0)),
        (_YEAR, (1, 0, 0)),
    ):
        match = pattern.fullmatch(text)
        if match:
            year, month, day = (match[place] if place else None for place in places)
            number = _month(month) if month else None
            if month and number is None:
                continue
            return _iso(year or "", number, int(day) if day else None)
    return None


def _month(text: str) -> int | None:
    if text.isdigit():
        return int(text)
    names = ("january", "february", "march", "april", "may", "june", "july", "august", "september", "october")
    full = (*names, "november", "december")
    known = text in _MONTHS or text in full or text == "sept"
    return _MONTHS.index(text[:3]) + 1 if known else None


def _iso(year: str, month: int | None, day: int | None) -> str | None:
    """Year, month and day as our files write them; None: no such day."""
    whole = int(year) if len(year) == 4 else int(year) + (1900 if int(year) >= _PIVOT else 2000)
    if not 1900 < whole < 2200:
        return None
    if month is None:
        return f"{whole}"
    if not 1 <= month <= 12:
        return None
    if day is None:
        return f"{whole}-{month:02d}"
    try:
        return date(whole, month, day).isoformat()
    except ValueError:
        return None


def order_of(cells: Iterable[Cell], latest: date | None = None) -> Settled:
    """
    The order in which a column writes its dates, as far as its cells decide it.

    Parameters
    ----------
    cells : iterable of Cell
    latest : date, optional
        The last day that can be meant. A cell that would be a later day, but for a year of two digits that came first,
        is a slip or a plan: it decides nothing. An order of day and month is never decided by days to come alone.
    """
    votes, doubted = [], []
    for cell in cells:
        found = readings(cell) if cell != "" else {}
        if _to_come(cell, found, latest):
            doubted.append((str(cell), found))
        elif found:
            votes.append((str(cell), _without_years_to_come(found, latest)))
    settled = settle(ORDERS, votes, doubted)
    if settled.way == "year-first" and settled.why:
        return Settled(("year-first", "day-first", "month-first"), f"two digits of a year come first {settled.why}")
    return settled


def _to_come(cell: Cell, found: Mapping[str, str], latest: date | None) -> bool:
    """Whether a cell can only be a day to come, unless the first two of its digits are the year."""
    if latest is None or not isinstance(cell, str) or "before" in cell.lower():
        return False
    last = latest.isoformat()
    return bool(found) and all(text > last[: len(text)] for way, text in found.items() if way != "year-first")


def _without_years_to_come(found: Mapping[str, str], latest: date | None) -> Mapping[str, str]:
    """Readings but for a year that comes first and has not come."""
    told = found.get("year-first", "")
    is_later = latest is not None and told > latest.isoformat()[: len(told)]
    return {way: text for way, text in found.items() if way != "year-first"} if is_later else found


def swapped_by_the_spreadsheet(cells: Iterable[Cell]) -> bool:
    """
    Whether a spreadsheet of another country may have taken some texts for dates of its own.

    It then holds as days those whose day can pass for a month, and as texts those whose day can't; each of the former
    may have day and month the wrong way round.
    """
    cells = list(cells)
    kept = [cell for cell in cells if isinstance(cell, date)]
    texts = [_NUMBERS.fullmatch(cell) for cell in cells if isinstance(cell, str) and cell]
    numbers = [match for match in texts if match]
    return (
        bool(kept and numbers)
        and all(day.day <= 12 for day in kept)
        and all(max(int(each[1]), int(each[3])) > 12 for each in numbers)
    )


def read(cell: Cell, order: str, *, exact: bool) -> str:
    """
    A date in the order settled, as our own files write it.

    Raises
    ------
    InvalidRecord
        If it is none, or not in that order.
    """
    if isinstance(cell, Unreadable):
        raise InvalidRecord(cell.what, hint=cell.mend)
    told = readings(cell)
    if not told:
        raise InvalidRecord(f"{str(cell)!r} is no date", hint="write year-month-day, for example 2026-05-03")
    if order not in told:
        raise InvalidRecord(f"{str(cell)!r} is no date if read {order}", hint="write it year-month-day")
    if exact and len(told[order]) != 10:
        raise InvalidRecord(f"{str(cell)!r} is no single day", hint="write the day")
    return told[order]
