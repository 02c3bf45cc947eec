"""The clocks of phones: set right where somebody says what the time was, else held against the taps of other phones.

A phone's clock may be hours or a year wrong. The days are those chosen on the page, so nothing is put on a wrong day;
but one sinking that two phones numbered differently is known by its time. What is on record of the same sorties by
other phones tells how far the clocks are apart, if it is the same distance again and again.
"""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import date, datetime, timedelta
from statistics import median
from typing import Any

import sqlalchemy as sa

from maintain.errors import InvalidRecord
from maintain.exchange.handover import Handover, Tap
from maintain.records import tables as t
from maintain.services.handover.heard import heard, times
from maintain.services.handover.plan import Plan

Row = sa.Row[Any]
TWENTY_MINUTES = timedelta(minutes=20)  # to be lifted, drained and launched again (common practice, no source)
_A_DAY = timedelta(days=1)
_PAIRS = 2  # one sortie on two phones may be two; twice the same distance is no accident
_AGREE = 2 / 3


def set_right(phone: Handover, clock: str | None) -> Handover:
    """
    Say how far a phone's clock was off, by the time it really was when it handed over.

    Raises
    ------
    InvalidRecord
        If `clock` is no time, or puts what was tapped on another day than was chosen on the page.
    """
    if clock is None:
        return phone
    if phone.handed_at is None:
        raise InvalidRecord("the file does not say when it was handed over", hint="leave out --clock")
    if not re.fullmatch(r"\d{4}-\d\d-\d\d[ T]\d\d:\d\d", clock.strip()):
        raise InvalidRecord(f"--clock {clock!r} is no time", hint="write the day and the time: '2026-05-30 18:05'")
    try:
        really = datetime.fromisoformat(clock.strip()).replace(tzinfo=phone.handed_at.tzinfo)
        right = replace(phone, shift=really - phone.handed_at.replace(second=0, microsecond=0))
        off = _off(right)
    except (ValueError, OverflowError):
        raise InvalidRecord(f"--clock {clock!r} is no time of the calendar", hint="write '2026-05-30 18:05'") from None
    for tap in off:
        raise InvalidRecord(
            f"with that clock {tap.ship.name} was tapped at {tap.at + right.shift:%Y-%m-%d %H:%M}, but on the page the "
            f"day was {tap.day}",
            hint=f"its own clock stood at {phone.handed_at:%Y-%m-%d %H:%M} when it handed over: what was it really?",
        )
    return right


def _off(phone: Handover) -> list[Tap]:
    """Taps whose time is of another day than the one chosen on the page."""
    return [tap for tap in (*phone.sorties, *phone.symptoms) if abs((tap.at + phone.shift).date() - tap.day) > _A_DAY]


def ahead(
    connection: sa.Connection, phone: Handover, aboard: dict[str, Row], today: date, plan: Plan
) -> timedelta | None:
    """How much later other phones' clocks stand, to compare times with theirs; None if the times mean nothing."""
    apart = _apart(connection, phone, aboard)
    if phone.shift:
        plan.notes.append(f"the clock of {phone.name} is set right by {_spoken(phone.shift)}")
        return phone.shift
    if apart is not None and abs(apart) > TWENTY_MINUTES:
        plan.notes.append(
            f"the clock of {phone.name} stands {_spoken(abs(apart))} {'behind' if apart > timedelta() else 'ahead of'} "
            f"those of the phones taken in before; that is allowed for"
        )
        return apart
    handed = phone.handed_at
    mend = "if times matter, say what it really was when it handed over: --clock 'YYYY-MM-DD HH:MM'"
    if off := _off(phone):
        plan.notes.append(
            f"the clock of {phone.name} is wrong: it stood at {off[0].at:%Y-%m-%d %H:%M} on {off[0].day}; the days are "
            f"those chosen on the page, and its times are not compared; {mend}"
        )
        return None
    if handed is not None and handed.date() > today + _A_DAY:
        plan.notes.append(f"{phone.name} handed over on {handed.date()} by its clock, and today is {today}; {mend}")
    return timedelta()


def _apart(connection: sa.Connection, phone: Handover, aboard: dict[str, Row]) -> timedelta | None:
    """What most sorties logged by this phone and another agree on; None if they don't."""
    found = []
    for tap in phone.sorties:
        ship = aboard.get(tap.ship.uid)
        if ship is None or tap.undone:
            continue
        same = (t.sortie.c.ship_id == ship.id, t.sortie.c.sailed_on == tap.day, t.sortie.c.number == tap.sortie)
        note = connection.execute(sa.select(t.sortie.c.note).where(*same)).scalar()
        if not heard(note, tap, phone):
            found += [(time - tap.at).total_seconds() for time in times(note)[:1]]
    if len(found) < _PAIRS:
        return None
    middle = median(found)
    agreeing = [each for each in found if abs(each - middle) <= TWENTY_MINUTES.total_seconds()]
    enough = len(agreeing) >= max(_PAIRS, _AGREE * len(found))
    return timedelta(seconds=median(agreeing)) if enough else None


def _spoken(apart: timedelta) -> str:
    """A length of time to the minute: 366 days 2 h 5 min."""
    minutes = round(abs(apart).total_seconds() / 60)
    parts = ((minutes // 1440, "days"), (minutes // 60 % 24, "h"), (minutes % 60, "min"))
    told = " ".join(f"{number} {unit}" for number, unit in parts if number) or "less than a minute"
    return f"-{told}" if apart < timedelta() else told
