"""The club's days ahead: battles, legal dates and work by its day, to look at or to take into a calendar."""

from __future__ import annotations

import uuid
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any

import sqlalchemy as sa

from maintain.core.wording import count
from maintain.errors import InvalidRecord, NotFound
from maintain.exchange.ical import calendar_text
from maintain.exchange.writing import write_file
from maintain.records import find
from maintain.records import tables as t
from maintain.records.journal import stamp
from maintain.results.base import Done
from maintain.results.calendar import Calendar, CalendarText, Entry
from maintain.services.dated_work.gather import dated_work
from maintain.services.dated_work.recurring import recurring_work
from maintain.services.dated_work.work import DatedWork
from maintain.services.horizon import until_day
from maintain.services.unit import Desk, reading

_FIRST_EDITION = date(2000, 1, 1)
_AHEAD = timedelta(days=365)
_DAY = timedelta(days=1)
_ENTRIES = uuid.UUID("3d0a7c1e-8a55-5d53-9a0e-6c1b2f4f7d11")
_MANY = 5  # things without a day that are named; of more, how many


@dataclass(frozen=True)
class Wanted:
    """Of which ship or whose ships, and until when (default: a year ahead)."""

    ship: str | None = None
    captain: str | None = None
    until: date | None = None


def calendar(desk: Desk, wanted: Wanted) -> Calendar:
    """
    Battles, certificates and work by day.

    Work that falls due by use has no day of its own: it stands on the eve of the first battle by whose end it is due.

    Raises
    ------
    InvalidRecord
        If the last day asked for is past.
    """
    until = wanted.until or desk.today + _AHEAD
    if until < desk.today:
        raise InvalidRecord(f"--until {until} is past", hint=f"today is {desk.today}")
    with reading(desk) as connection:
        whose, ships = _ships(connection, wanted)
        club = connection.execute(sa.select(t.club.c.name)).scalar()
        battles = _battles(connection, desk.today, until)
        dated, undated = _work(connection, desk.today, until, [row for row in battles if row.state != "called off"])
    mine = [(work, day) for work, day in dated if ships is None or work.ship in ships]
    left = [work for work in undated if ships is None or work.ship in ships]
    entries = [*map(_battle, battles), *(_entry(work, day, desk.today) for work, day in mine)]
    entries.sort(key=lambda each: (each.on, each.kind, each.what, each.uid))
    name = f"{club}: {whose}" if whose else str(club)
    return Calendar(name, until, tuple(entries), _without_day(left))


def _ships(connection: sa.Connection, wanted: Wanted) -> tuple[str | None, set[str] | None]:
    """Whose days are asked for, and the names of the ships; None: all, and what belongs to none."""
    if wanted.ship:
        ship = find.ship(connection, wanted.ship)
        return ship.name, {ship.name}
    if wanted.captain:
        captain = find.member(connection, wanted.captain)
        hers = sa.select(t.ship.c.name).where(t.ship.c.captain_id == captain.id)
        return captain.name, set(connection.execute(hers).scalars())
    return None, None


def _battles(connection: sa.Connection, today: date, until: date) -> list[Any]:
    """Battles that are on or to come, with their venues; called-off ones too, for a calendar may have them still."""
    battle = t.battle.c
    query = (
        sa.select(t.battle, t.venue.c.name.label("venue"))
        .outerjoin(t.venue, t.venue.c.id == battle.venue_id)
        .where(battle.until_on >= today, battle.from_on <= until)
        .order_by(battle.from_on, battle.id)
    )
    return list(connection.execute(query))


def _work(
    connection: sa.Connection, today: date, until: date, battles: list[Any]
) -> tuple[list[tuple[DatedWork, date]], list[DatedWork]]:
    """All work due by a day with its day, and what will fall due by use that no battle planned brings about."""
    found = {_key(work): work for work in dated_work(connection, until_day(connection, today, until))}
    eves = [max(row.from_on - _DAY, today) for row in battles]
    days = {key: [work.due_on] if work.due_on else [] for key, work in found.items()}
    for key, work in found.items():
        if work.due_on is None and work.key is None:  # it waits for nothing but to be done
            days[key] += eves[:1]
    for row, eve in reversed(list(zip(battles, eves, strict=True))):
        for work in recurring_work(connection, until_day(connection, today, row.until_on)):
            if work.due_on is None:
                found[_key(work)] = work  # as it stands by the earliest of these battles
                days.setdefault(_key(work), []).append(eve)
    return (
        [(work, min(days[key])) for key, work in found.items() if days[key]],
        [work for key, work in found.items() if not days[key]],
    )


def _key(work: DatedWork) -> str:
    """What names it for ever, or as long as it is called the same."""
    return work.key or "/".join(str(each) for each in (work.kind, work.what, work.ship, work.position, work.part))


def _battle(row: Any) -> Entry:
    planned = f"{count(row.planned_sorties, 'sortie')} planned" if row.planned_sorties else None
    return Entry(
        uid=_uid(f"battle-{row.uid}"),
        on=row.from_on,
        until=row.until_on,
        kind="battle",
        what=f"Battle: {row.name}",
        why="called off" if row.state == "called off" else planned,
        place=row.venue,
        called_off=row.state == "called off",
    )


def _entry(work: DatedWork, day: date, today: date) -> Entry:
    """Work on its day; what is overdue stands on today, where it is seen."""
    where = "/".join(filter(None, (work.ship, work.position)))
    of = ", ".join(filter(None, (where, work.part)))
    on = max(day, today)
    return Entry(
        uid=_uid(_key(work)),
        on=on,
        until=on,
        kind=work.kind,
        what=("overdue: " if work.overdue else "") + (f"{of}: {work.what}" if of else work.what),
        why=work.why[:1].upper() + work.why[1:],
        source=work.source,
        decider=work.decider,
    )


def _uid(key: str) -> str:
    return str(uuid.uuid5(_ENTRIES, key))


def _without_day(works: list[DatedWork]) -> tuple[str, ...]:
    if not works:
        return ()
    named = sorted({f"{work.what} ({work.ship})" if work.ship else work.what for work in works})
    told = ", ".join(named) if len(named) <= _MANY else count(len(named), "task")
    return (f"without a day, since no battle planned brings it about: {told}",)


def as_text(desk: Desk, made: Calendar) -> CalendarText:
    """
    A calendar as phones and other programs take it in.

    Raises
    ------
    NotFound
        If it is empty, which such a file can't be.
    """
    if not made.entries:
        raise NotFound(
            f"nothing has a day until {made.until}", hint="plan a battle: maintain battle add NAME --from DATE"
        )
    with reading(desk) as connection:
        changes = connection.execute(sa.select(sa.func.max(t.change.c.id))).scalar() or 0
    edition = max((desk.today - _FIRST_EDITION).days, 0) + changes  # grows with the days, and with each change
    return CalendarText(calendar_text(made.name, made.entries, _written(desk.today), edition))


def _written(today: date) -> datetime:
    """The moment it is written, if that is today; else the beginning of the day it is as of, whenever it is asked."""
    now = datetime.fromisoformat(stamp())
    return now if now.date() == today else datetime(today.year, today.month, today.day, tzinfo=UTC)


def write(desk: Desk, made: Calendar, out: Path, *, replace: bool) -> Done:
    """
    Write a calendar into a file, whole or not at all.

    Raises
    ------
    NotFound, InvalidRecord, DatabaseUnusable
        If it is empty, that is no name for a calendar or there already, or it can't be written.
    """
    if out.suffix.lower() != ".ics":
        raise InvalidRecord(f"{out} is no name for a calendar", hint="let it end in .ics")
    if out.exists() and not replace:
        raise InvalidRecord(f"{out} exists already", hint="overwrite it with --replace")
    if not out.parent.is_dir():
        raise InvalidRecord(f"there is no folder {out.parent}", hint="make it first, or name another")
    write_file(out, as_text(desk, made).text.encode())
    notes = ("open it on a phone or send it to the captains; taken in again, it moves its entries and doubles none",)
    record = {"file": str(out), "entries": len(made.entries), "until": made.until}
    return Done(f"wrote {out}: {count(len(made.entries), 'entry')}", notes=(*made.notes, *notes), record=record)
