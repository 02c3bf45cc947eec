"""What spares are to be held for: until a day, a battle, the end of the season, or for a meet far from any shop."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

import sqlalchemy as sa

from maintain.errors import InvalidRecord
from maintain.records import meets
from maintain.records import tables as t
from maintain.records.meets import PastMeets
from maintain.services.horizon import Horizon, until_battle, until_day, until_meet


@dataclass(frozen=True)
class Until:
    """
    How far ahead is asked; at most one of these, and none for the last battle planned.

    Attributes
    ----------
    day : date, optional
    battle, meet : str, optional
        Names.
    season : bool
        True for the rest of the year.
    """

    day: date | None = None
    battle: str | None = None
    season: bool = False
    meet: str | None = None


@dataclass(frozen=True)
class Spell:
    """
    What lies ahead, one stage after the other.

    Attributes
    ----------
    stages : tuple of Horizon
        What lies before a meet, if anything, and the meet; else all at once.
    meet : str, optional
        Its name.
    from_on : date, optional
        Its first day.
    resupply : bool
        True if spares can be had there.
    past : PastMeets, optional
        How wet meets of several days were, if this is one.
    """

    stages: tuple[Horizon, ...]
    meet: str | None = None
    from_on: date | None = None
    resupply: bool = True
    past: PastMeets | None = None

    @property
    def last(self) -> Horizon:
        """The stage that is held for."""
        return self.stages[-1]

    @property
    def notes(self) -> tuple[str, ...]:
        """What was assumed."""
        return tuple(dict.fromkeys(note for stage in self.stages for note in stage.notes))


def spell(connection: sa.Connection, today: date, until: Until) -> Spell:
    """
    Find out what lies ahead.

    Raises
    ------
    InvalidRecord, NotFound
        If several ends are named, the one named is past, or there is no such battle.
    """
    named = [
        option
        for option, given in (
            ("--until", until.day),
            ("--battle", until.battle),
            ("--season", until.season),
            ("--meet", until.meet),
        )
        if given
    ]
    if len(named) > 1:
        raise InvalidRecord(f"{' and '.join(named)} name different ends", hint="give one of them")
    if until.meet:
        row, before, within = until_meet(connection, today, _coming(connection, today, until.meet))
        stages = (within,) if before is None else (before, within)
        past = meets.past_meets(connection, today) if row.from_on < row.until_on else None
        return Spell(stages, row.name, row.from_on, bool(row.resupply), past)
    if until.battle:
        return Spell((until_battle(connection, today, _coming(connection, today, until.battle))[1],))
    return Spell((until_day(connection, today, date(today.year, 12, 31) if until.season else until.day),))


def _coming(connection: sa.Connection, today: date, name: str) -> str:
    """The battle to come that a beginning means, where it is the only one; else the name as it stands."""
    begins = sa.func.lower(t.battle.c.name).startswith(name.strip().lower(), autoescape=True)
    found = connection.execute(sa.select(t.battle.c.name).where(begins, t.battle.c.until_on >= today)).scalars().all()
    return str(found[0]) if len(found) == 1 else name
