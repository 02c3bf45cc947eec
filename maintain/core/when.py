"""Dates as people remember them: a day, a month, a season, or only "before the records begin"."""

from __future__ import annotations

import calendar
import re
from dataclasses import dataclass
from datetime import date, timedelta

from maintain.errors import InvalidRecord

_BEFORE = "before "
_MONTH = re.compile(r"([12]\d{3})-(0[1-9]|1[0-2])")
_QUARTER = re.compile(r"(spring|summer|autumn|fall|winter) (?:of )?([12]\d{3})")
_ITS_MONTH = {"spring": "04", "summer": "07", "autumn": "10", "fall": "10", "winter": "01"}  # north of the equator


@dataclass(frozen=True)
class When:
    """
    A date with its precision.

    Attributes
    ----------
    on : date
        The best single day: the day itself, the middle of the month or season, or the day the records begin.
    precision : str
        "day", "month", "season" (a calendar year) or "before records".
    """

    on: date
    precision: str = "day"

    @property
    def earliest(self) -> date | None:
        """First day it can have been; None if it has no lower bound."""
        if self.precision == "month":
            return self.on.replace(day=1)
        if self.precision == "season":
            return date(self.on.year, 1, 1)
        return None if self.precision == "before records" else self.on

    @property
    def latest(self) -> date:
        """Last day it can have been."""
        if self.precision == "month":
            return self.on.replace(day=calendar.monthrange(self.on.year, self.on.month)[1])
        if self.precision == "season":
            return date(self.on.year, 12, 31)
        return self.on

    def no_later_than(self, day: date) -> When:
        """Move the best single day back to `day` where the precision allows it; else return it unchanged."""
        if self.precision in ("month", "season") and self.on > day and (self.earliest or day) <= day:
            return When(day, self.precision)
        return self

    def no_earlier_than(self, day: date) -> When:
        """Move the best single day on to `day` where the precision allows it; else return it unchanged."""
        if self.precision in ("month", "season") and self.on < day <= self.latest:
            return When(day, self.precision)
        return self

    def __str__(self) -> str:
        if self.precision == "month":
            return f"{self.on:%Y-%m}"
        if self.precision == "season":
            return f"{self.on:%Y}"
        return f"{_BEFORE}{self.on}" if self.precision == "before records" else f"{self.on}"


def parse_day(text: str, today: date, *, what: str = "date") -> date:
    """
    Read an exact day: 2026-05-03, "today" or "yesterday".

    Raises
    ------
    InvalidRecord
        If it is not a day of the calendar or is written in another order.
    """
    named = {"today": today, "yesterday": today - timedelta(days=1)}
    word = text.strip().lower()
    if word in named:
        return named[word]
    if re.fullmatch(r"\d{4}-\d{2}-\d{2}", word):
        try:
            return date.fromisoformat(word)
        except ValueError:
            raise InvalidRecord(
                f"{what} {text!r} is no day of the calendar", hint="write year-month-day, for example 2026-05-03"
            ) from None
    raise InvalidRecord(f"{what} {text!r} is not a day", hint=_a_day_of(word))


def _a_day_of(word: str) -> str:
    """How to write a day, with one of the month or quarter that was written instead."""
    month, quarter = _MONTH.fullmatch(word), _QUARTER.fullmatch(word)
    if month:
        return f"write the day, for example {When(date(int(month[1]), int(month[2]), 1), 'month').latest}, its last"
    if quarter:
        return f"write the day, for example {quarter[2]}-{_ITS_MONTH[quarter[1]]}-15"
    return "write year-month-day, for example 2026-05-03"


def parse_last_day(text: str, today: date, *, what: str = "date") -> date:
    """
    Read the last day of something: a day, or a month, as it is stamped on a bottle, for the last day of it.

    Examples
    --------
    >>> parse_last_day("2028-02", date(2026, 1, 1)).isoformat()
    '2028-02-29'

    Raises
    ------
    InvalidRecord
        If it is neither.
    """
    month = _MONTH.fullmatch(text.strip())
    if month:
        return When(date(int(month[1]), int(month[2]), 1), "month").latest
    return parse_day(text, today, what=what)


def parse_when(text: str, today: date, *, what: str = "date") -> When:
    """
    Read a date as people remember it.

    2026-05-03 is a day, 2026-05 a month, 2026 a season, "before 2024-03-01" before the records begin.

    Examples
    --------
    >>> parse_when("2024-06", date(2026, 1, 1)).on.isoformat()
    '2024-06-15'

    Raises
    ------
    InvalidRecord
        If it is none of these.
    """
    word = text.strip().lower()
    if word.startswith(_BEFORE):
        return When(parse_day(word.removeprefix(_BEFORE), today, what=what), "before records")
    month = _MONTH.fullmatch(word)
    if month:
        return When(date(int(month[1]), int(month[2]), 15), "month")
    if re.fullmatch(r"[12]\d{3}", word):
        return When(date(int(word), 7, 1), "season")
    try:
        return When(parse_day(text, today, what=what))
    except InvalidRecord as error:
        quarter = _QUARTER.fullmatch(word)
        year, part = (quarter[2], _ITS_MONTH[quarter[1]]) if quarter else ("2026", "05")
        hint = f"write {year}-{part}-03 (day), {year}-{part} (month), {year} (season) or 'before 2024-03-01'"
        raise InvalidRecord(error.message, hint=hint) from None
