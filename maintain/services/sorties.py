"""Sorties: one line logs the whole fleet's outcome."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Any

import sqlalchemy as sa

from maintain.core.names import quoted
from maintain.core.wording import count, whose
from maintain.errors import InvalidRecord
from maintain.records import find, salvage
from maintain.records import tables as t
from maintain.records.journal import Recorder
from maintain.results.base import Column, Done, Listing
from maintain.services import outcomes
from maintain.services.unit import Desk, reading, writing
from maintain.vocabulary import being


@dataclass(frozen=True)
class Trip:
    """
    Which sortie is meant.

    Attributes
    ----------
    battle : str, optional
        None for a practice day.
    venue : str, optional
        Of a practice day; a battle has its own.
    day : date, optional
        None: the battle's only day, or today.
    number : int, optional
        Of the day; None: the one after the last recorded.
    """

    battle: str | None
    venue: str | None
    day: date | None
    number: int | None


def log(desk: Desk, *, trip: Trip, written: tuple[str, ...], shared: dict[str, Any]) -> Done:
    """
    Log one sortie of many ships.

    Parameters
    ----------
    trip : Trip
        Which sortie.
    written : tuple of str
        SHIP=OUTCOME each, in the syntax of `outcomes`.
    shared : dict
        Columns that hold for every ship that does not say otherwise (minutes_afloat).
    """
    parsed = [outcomes.parse(each) for each in written]
    shared = {key: None if value is None else outcomes.sensible(key, value) for key, value in shared.items()}
    with writing(desk, "sortie log") as recorder:
        battle = find.battle(recorder.connection, trip.battle) if trip.battle else None
        day = _day(battle, trip.day, desk.today)
        ships = [(_sailing_ship(recorder, name, day), facts) for name, facts in parsed]
        _refuse_twice([ship.name for ship, _ in ships])
        number = trip.number or _next_number(recorder, [ship.id for ship, _ in ships], day)
        place = {
            "battle_id": battle.id if battle else None,
            "venue_id": find.venue(recorder.connection, trip.venue).id if trip.venue else None,
            "sailed_on": day,
            "number": number,
        }
        for ship, facts in ships:
            _refuse_recorded(recorder, ship, day, number)
            recorder.insert(t.sortie, ship_id=ship.id, **place, **{**shared, **facts})
        notes = (
            *_mark_fought(recorder, battle),
            *_before_records(recorder.connection, [ship for ship, _ in ships], day),
        )
        sunk = [ship.name for ship, facts in ships if facts.get("ending") == "sank"]
        told = f"{count(len(ships), 'ship')}, " + (f"sunk: {', '.join(sunk)}" if sunk else "none sank")
        did = f"logged sortie {number} of {day}" + (f" ({battle.name})" if battle else " (practice)") + f": {told}"
        recorder.summarise(did)
    return Done(did, notes=(*notes, *_after_sinking(sunk)), record={"day": day, "number": number, "sunk": sunk})


def correct(desk: Desk, *, written: str, day: date, number: int) -> Done:
    """Replace the outcome of a recorded sortie; what the new text leaves out stays, where it still makes sense."""
    name, facts = outcomes.parse(written)
    with writing(desk, "sortie correct") as recorder:
        ship = find.ship(recorder.connection, name)
        row = _recorded(recorder, ship.id, day, number)
        if row is None:
            raise InvalidRecord(
                f"{ship.name} has no sortie {number} on {day}",
                hint=f"see: maintain sortie list --ship {quoted(ship.name)}",
            )
        new = _replaced(row, facts, named="unknown" in written.lower().split(":"))
        recorder.update(t.sortie, row.id, **new)
        did = f"corrected {whose(ship.name)} sortie {number} of {day}: {written.partition('=')[2]}"
        recorder.summarise(did)
        notes = _salvage_left(recorder.connection, row, new)
    return Done(did, notes=notes, record={"ship": ship.name, "day": day, "number": number})


def _salvage_left(connection: sa.Connection, row: Any, new: dict[str, Any]) -> tuple[str, ...]:
    """What hangs on a sinking that is corrected away."""
    if row.ending != "sank" or new.get("ending") == "sank" or salvage.of_sortie(connection, row.id) is None:
        return ()
    return (
        "a salvage was begun after that sinking: what it found of her parts stays, and so do their retests; if she did "
        "sink, correct the sortie again, else: maintain db check",
    )


def _replaced(row: Any, facts: dict[str, Any], *, named: bool) -> dict[str, Any]:
    """The facts, and what no longer makes sense beside them; a cause on record stays unless it is `named` unknown."""
    if facts.get("ending") != "sank":
        gone = {"sinking_cause": None, "sinking_system": None, "minutes_under": None}
        return {**gone, **({"ending": None} if row.ending == "sank" else {}), **facts}
    if row.ending == "sank" and facts["sinking_cause"] == "unknown" and not named:
        facts = {key: value for key, value in facts.items() if key not in ("sinking_cause", "sinking_system")}
    return {**({} if facts["wetness"] == row.wetness else {"minutes_under": None}), **facts}


_ON_SCREEN = 40
_COLUMNS = (
    Column("sailed_on", "Day"),
    Column("number", "Sortie", numeric=True),
    Column("ship", "Ship"),
    Column("battle", "Battle"),
    Column("wetness", "Wetness"),
    Column("ending", "Ended by"),
    Column("sinking_cause", "Cause of sinking"),
    Column("sinking_system", "System"),
    Column("minutes_afloat", "Min afloat", numeric=True),
    Column("minutes_under", "Min under", numeric=True),
    Column("shots", "Shots", numeric=True),
    Column("hits_above", "Hits above", numeric=True, on_screen=False),
    Column("hits_on", "Hits on", numeric=True, on_screen=False),
    Column("hits_below", "Hits below", numeric=True, on_screen=False),
)


def listing(desk: Desk, *, ship: str | None, battle: str | None, sunk_only: bool, limit: int | None) -> Listing:
    """Sorties, newest first; `limit` is how many at the most."""
    query = (
        sa.select(
            t.sortie.c.sailed_on,
            t.sortie.c.number,
            t.ship.c.name.label("ship"),
            t.battle.c.name.label("battle"),
            t.sortie.c.wetness,
            t.sortie.c.ending,
            t.sortie.c.sinking_cause,
            t.sortie.c.sinking_system,
            t.sortie.c.minutes_afloat,
            t.sortie.c.minutes_under,
            t.sortie.c.shots,
            t.sortie.c.hits_above,
            t.sortie.c.hits_on,
            t.sortie.c.hits_below,
        )
        .join(t.ship, t.ship.c.id == t.sortie.c.ship_id)
        .outerjoin(t.battle, t.battle.c.id == t.sortie.c.battle_id)
        .order_by(t.sortie.c.sailed_on.desc(), t.sortie.c.number.desc(), sa.func.lower(t.ship.c.name))
    )
    with reading(desk) as connection:
        if ship:
            query = query.where(t.ship.c.id == find.ship(connection, ship).id)
        if battle:
            query = query.where(t.battle.c.id == find.battle(connection, battle).id)
        if sunk_only:
            query = query.where(t.sortie.c.ending == "sank")
        rows = tuple(dict(row) for row in connection.execute(query).mappings())
    empty = "none yet; log one with: maintain sortie log SHIP=W0 ..."
    found = Listing("Sorties, newest first", _COLUMNS, rows, empty=empty, on_screen=_ON_SCREEN)
    return found if limit is None else found.cut(limit)


def sailed_that_day(connection: sa.Connection, ship_id: int, day: date) -> int:
    """Number of the last sortie a ship is recorded to have sailed on a day; 0 if none."""
    query = sa.select(sa.func.max(t.sortie.c.number)).where(t.sortie.c.ship_id == ship_id, t.sortie.c.sailed_on == day)
    return int(connection.execute(query).scalar() or 0)


def _day(battle: Any, day: date | None, today: date) -> date:
    if battle is None:
        chosen = day or today
    elif battle.state == "called off":
        mend = f"if it took place: maintain battle state {quoted(battle.name)} fought"
        raise InvalidRecord(f"{battle.name} was called off", hint=mend)
    else:
        chosen = day or (battle.from_on if battle.from_on == battle.until_on else today)
        if not battle.from_on <= chosen <= battle.until_on:
            raise InvalidRecord(
                f"{chosen} is no day of {battle.name} ({battle.from_on} to {battle.until_on})", hint="give --day"
            )
    if chosen > today:
        raise InvalidRecord(f"{chosen} is in the future", hint="a sortie is logged when it has been sailed")
    return chosen


def _sailing_ship(recorder: Recorder, name: str, day: date) -> Any:
    ship = find.ship(recorder.connection, name)
    out_of_service = ship.state != "in commission" and (ship.state_since is None or ship.state_since <= day)
    if out_of_service:
        since = f" since {ship.state_since}" if ship.state_since else ""
        raise InvalidRecord(
            f"{ship.name} did not sail on {day}: she is {being(ship.state)}{since}",
            hint=f"if she did: maintain ship state {quoted(ship.name)} 'in commission' --since {day}",
        )
    return ship


def _refuse_twice(names: list[str]) -> None:
    twice = sorted({name for name in names if names.count(name) > 1})
    if twice:
        raise InvalidRecord(f"{', '.join(twice)} stands there twice", hint="one outcome a ship and sortie")


def _refuse_recorded(recorder: Recorder, ship: Any, day: date, number: int) -> None:
    if _recorded(recorder, ship.id, day, number) is not None:
        raise InvalidRecord(
            f"{whose(ship.name)} sortie {number} of {day} is recorded already",
            hint=f"mend it with: maintain sortie correct {quoted(f'{ship.name}=W1')} --day {day} --number {number}",
        )


def _recorded(recorder: Recorder, ship_id: int, day: date, number: int) -> Any:
    same = (t.sortie.c.ship_id == ship_id, t.sortie.c.sailed_on == day, t.sortie.c.number == number)
    return recorder.connection.execute(sa.select(t.sortie).where(*same)).one_or_none()


def _next_number(recorder: Recorder, ship_ids: list[int], day: date) -> int:
    return 1 + max(sailed_that_day(recorder.connection, each, day) for each in ship_ids)


def _mark_fought(recorder: Recorder, battle: Any) -> tuple[str, ...]:
    if battle is None or battle.state == "fought":
        return ()
    recorder.update(t.battle, battle.id, state="fought")
    return (f"{battle.name} now counts as fought",)


def _before_records(connection: sa.Connection, ships: list[Any], day: date) -> list[str]:
    """History may be entered late, but a wrong year looks just like it."""
    of_club = connection.execute(sa.select(t.club.c.records_from)).scalar()
    begun = {ship.name: ship.records_from or of_club for ship in ships}
    return [
        f"check the year: {whose(name)} records begin on {first}, and lives are counted from that day on"
        for name, first in begun.items()
        if first is not None and day < first
    ]


def _after_sinking(sunk: list[str]) -> tuple[str, ...]:
    if not sunk:
        return ()
    return (
        "people first: cold water, cease-fire, pins in; shut the gas and disconnect every battery before anything else",
        *(f"then step by step: maintain salvage run {quoted(name)}" for name in sunk),
    )
