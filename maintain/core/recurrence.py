"""How often work comes round: so much of a clock ("2 battle days"), or so many times a season ("twice a season")."""

from __future__ import annotations

import calendar
import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from maintain.errors import InvalidRecord
from maintain.vocabulary import A_SEASON

_MOST = 1_000_000  # of any clock: more is a slip of the keyboard
_DAYS = {"day": 1.0, "week": 7.0, "month": 365.25 / 12, "year": 365.25}
_USES = {
    "battle day": "battle days",
    "sortie": "sorties",
    "wet sortie": "wet sorties",
    "minute afloat": "minutes afloat",
    "immersion": "immersions",
    "sinking": "immersions",
    "minute under": "minutes under",
    "shot": "shots",
}
_TIMES = {"once": 1, "twice": 2}
_HINT = "write for example '2 battle days', '1 immersion', '1 year' or 'twice a season'"


@dataclass(frozen=True)
class Interval:
    """
    How much of a clock lies between two times.

    Attributes
    ----------
    every : int
        So much of the clock; on the clock of seasons: so many times in each.
    clock : str
        One of vocabulary.TASK_CLOCKS.
    """

    every: int
    clock: str

    def __str__(self) -> str:
        if self.clock == A_SEASON:
            return {1: "once a season", 2: "twice a season"}.get(self.every, f"{self.every} times a season")
        return f"every {self.every} {self.clock}" if self.every > 1 else f"every {_singular(self.clock)}"


def _singular(clock: str) -> str:
    return next((one for one, several in _USES.items() if several == clock), "day")


def parse_interval(text: str) -> Interval:
    """
    Read how often: "2 battle days", "immersion", "1 year", "twice a season".

    Weeks, months and years become days.

    Examples
    --------
    >>> str(parse_interval("2 battle days")), str(parse_interval("1 Immersion")), str(parse_interval("year"))
    ('every 2 battle days', 'every immersion', 'every 365 days')
    >>> str(parse_interval("2 times a season"))
    'twice a season'

    Raises
    ------
    InvalidRecord
        If it is no number of a clock, or none that can be meant.
    """
    said = " ".join(text.lower().split()).removeprefix("every ")
    season = re.fullmatch(r"(?:(once|twice)|(\d+)(?: times?)?) (?:a|per) season", said)
    if season:
        return Interval(_counted(_TIMES.get(season[1]) or int(season[2]), text), A_SEASON)
    found = re.fullmatch(r"(?:(\d+) )?([a-z ]+)", said)
    unit = _unit(found[2]) if found else None
    if found is None or unit is None:
        raise InvalidRecord(f"{text!r} does not say how often", hint=_HINT)
    number = _counted(int(found[1] or 1), text)
    if unit in _DAYS:
        return Interval(_counted(round(number * _DAYS[unit]), text), "days")
    return Interval(number, _USES[unit])


def _unit(words: str) -> str | None:
    """A unit in the singular, as it may be written in either."""
    for unit in (*_USES, *_DAYS):
        first, _, rest = unit.partition(" ")
        if words in (unit, f"{unit}s", f"{first}s {rest}"):
            return unit
    return None


def _counted(number: int, text: str) -> int:
    if not 1 <= number <= _MOST:
        raise InvalidRecord(f"{text!r} is no interval anybody can keep", hint=_HINT)
    return number


def parse_intervals(texts: Sequence[str]) -> tuple[Interval, ...]:
    """
    Read several; work is due as soon as any of them is reached.

    Raises
    ------
    InvalidRecord
        If one can't be read, or two run on the same clock.
    """
    found = tuple(parse_interval(text) for text in texts)
    clocks = [each.clock for each in found]
    twice = next((clock for clock in clocks if clocks.count(clock) > 1), None)
    if twice is not None:
        raise InvalidRecord(f"two intervals count {twice}", hint="give the shorter one; it is always reached first")
    return found


def told(intervals: Sequence[Interval]) -> str:
    """
    How often, in words.

    Examples
    --------
    >>> told([Interval(2, "battle days"), Interval(1, "immersions")])
    'every 2 battle days or every immersion'
    """
    return " or ".join(map(str, intervals))


def days_later(day: date, days: int) -> date:
    """A day so many days later; the last day of the calendar, if it would lie beyond."""
    return day + timedelta(days=min(days, (date.max - day).days))


def season_part(day: date, times: int) -> tuple[date, date]:
    """
    First and last day of the part of the season that a day lies in, of so many equal ones; a season is a year.

    Halves are halves of the year to the month: until the end of June, and from July.

    Examples
    --------
    >>> [each.isoformat() for each in season_part(date(2026, 5, 3), 2)]
    ['2026-01-01', '2026-06-30']
    """
    times = min(times, 366)
    begins = [_begins(day.year, number, times) for number in range(times)]
    number = max(index for index, first in enumerate(begins) if first <= day)
    later = [first for first in begins[number:] if first > day]
    return begins[number], (later[0] - timedelta(days=1)) if later else date(day.year, 12, 31)


def _begins(year: int, number: int, times: int) -> date:
    """First day of a part, by months and the share of a month."""
    month, rest = divmod(12 * number, times)
    return date(year, month + 1, 1 + rest * calendar.monthrange(year, month + 1)[1] // times)


def amount(number: int, clock: str) -> str:
    """
    So much of a clock of use.

    Examples
    --------
    >>> amount(1, "battle days"), amount(3, "minutes afloat")
    ('1 battle day', '3 minutes afloat')
    """
    return f"{number} {_singular(clock) if number == 1 else clock}"
