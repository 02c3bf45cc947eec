"""Venues and battles."""

from __future__ import annotations

from datetime import date
from typing import Any

import sqlalchemy as sa

from maintain.core.wording import count
from maintain.errors import InvalidRecord
from maintain.records import find
from maintain.records import tables as t
from maintain.results.base import Column, Done, Listing
from maintain.services import changes
from maintain.services.unit import Desk, reading, writing


def add_venue(desk: Desk, *, name: str, water: str, depth_m: float | None, note: str | None) -> Done:
    """Add a pond."""
    with writing(desk, "venue add") as recorder:
        name = find.unused(recorder.connection, t.venue.c.name, name, "maintain venue list")
        recorder.insert(t.venue, name=name, water=water, depth_m=depth_m, note=note)
        did = f"added {name} ({water} water)"
        recorder.summarise(did)
    return Done(did, record={"venue": name})


def change_venue(desk: Desk, *, venue: str, water: str | None, depth_m: float | None, note: str | None) -> Done:
    """Change what is known of a pond; what is None stays."""
    with writing(desk, "venue change") as recorder:
        row = find.venue(recorder.connection, venue)
        new = changes.differing(row, row.name, {"water": water, "depth_m": depth_m, "note": note})
        recorder.update(t.venue, row.id, **new)
        did = f"changed {row.name}: {changes.told(row, new)}"
        recorder.summarise(did)
    return Done(did, record={"venue": row.name})


def list_venues(desk: Desk) -> Listing:
    """All ponds."""
    query = (
        sa.select(
            t.venue.c.name,
            t.venue.c.water,
            t.venue.c.depth_m,
            sa.func.count(t.battle.c.id).label("battles"),
            t.venue.c.note,
        )
        .outerjoin(t.battle, t.battle.c.venue_id == t.venue.c.id)
        .group_by(t.venue.c.id)
        .order_by(sa.func.lower(t.venue.c.name))
    )
    with reading(desk) as connection:
        rows = tuple(dict(row) for row in connection.execute(query).mappings())
    columns = (
        Column("name", "Venue"),
        Column("water", "Water"),
        Column("depth_m", "Depth (m)", numeric=True),
        Column("battles", "Battles", numeric=True),
        Column("note", "Note"),
    )
    return Listing("Venues", columns, rows, empty="none yet; add one with: maintain venue add NAME --water fresh")


def add_battle(
    desk: Desk,
    *,
    name: str,
    days: tuple[date, date],
    venue: str | None,
    planned_sorties: int | None,
    resupply: bool,
) -> Done:
    """Add a battle from its first to its last day; one wholly in the past counts as fought."""
    first, last = days
    if last < first:
        raise InvalidRecord(f"{name} would end on {last}, before it begins on {first}", hint="give --until a later day")
    state = "fought" if last < desk.today else "planned"
    with writing(desk, "battle add") as recorder:
        name = find.unused(recorder.connection, t.battle.c.name, name, "maintain battle list")
        venue_id = find.venue(recorder.connection, venue).id if venue else None
        recorder.insert(
            t.battle,
            name=name,
            venue_id=venue_id,
            from_on=first,
            until_on=last,
            state=state,
            planned_sorties=planned_sorties,
            resupply=resupply,
        )
        when = f"{first}" if last == first else f"{first} to {last}"
        did = f"added battle {name}, {when}, {state}"
        recorder.summarise(did)
    notes = (
        ()
        if planned_sorties or state == "fought"
        else ("give --planned-sorties, or the club's usual number is assumed",)
    )
    return Done(did, notes=notes, record={"battle": name, "state": state})


def change_battle(
    desk: Desk, *, battle: str, name: str | None, first: date | None, last: date | None, venue: str | None
) -> Done:
    """
    Change a battle's name, days or venue; what is None stays, and one that only begins on another day lasts as long.

    Raises
    ------
    InvalidRecord
        If nothing changes, it would end before it begins, or a sortie on record would lie outside it.
    """
    with writing(desk, "battle change") as recorder:
        connection = recorder.connection
        row = find.battle(connection, battle)
        began = first or row.from_on
        ends = last or (began + (row.until_on - row.from_on))
        if name is not None and name.strip().lower() != row.name.lower():
            name = find.unused(connection, t.battle.c.name, name, "maintain battle list")
        venue_id = find.venue(connection, venue).id if venue else None
        facts = {"name": name, "from_on": began, "until_on": ends, "venue_id": venue_id}
        new = changes.differing(row, row.name, facts)
        _require_days(connection, row, began, ends)
        recorder.update(t.battle, row.id, **new)
        days = f"{began}" if began == ends else f"{began} to {ends}"
        did = f"changed battle {new.get('name', row.name)}, {days}" + (f", at {venue}" if venue else "")
        recorder.summarise(did)
    return Done(did, record={"battle": new.get("name", row.name)})


def _require_days(connection: sa.Connection, row: sa.Row[Any], first: date, last: date) -> None:
    """Refuse days that end before they begin, or leave out a sortie of the battle."""
    if last < first:
        raise InvalidRecord(
            f"{row.name} would end on {last}, before it begins on {first}", hint="give --until a later day"
        )
    sortie = t.sortie.c
    outside = sa.or_(sortie.sailed_on < first, sortie.sailed_on > last)
    query = sa.select(sortie.sailed_on).where(sortie.battle_id == row.id, outside).order_by(sortie.sailed_on)
    sailed = connection.execute(query.limit(1)).scalar()
    if sailed is not None:
        raise InvalidRecord(
            f"{row.name} has a sortie on record on {sailed}, outside {first} to {last}", hint="keep that day within it"
        )


def change_state(desk: Desk, *, battle: str, state: str) -> Done:
    """Mark a battle as planned, fought or called off."""
    with writing(desk, "battle state") as recorder:
        row = find.battle(recorder.connection, battle)
        if state == "called off":
            sailed = sa.select(sa.func.count()).where(t.sortie.c.battle_id == row.id)
            sorties = recorder.connection.execute(sailed).scalar_one()
            if sorties:
                raise InvalidRecord(
                    f"{row.name} can't be called off: it has {count(sorties, 'sortie')} on record",
                    hint="leave it fought",
                )
        recorder.update(t.battle, row.id, state=state)
        did = f"{row.name}: {state}"
        recorder.summarise(did)
    return Done(did, record={"battle": row.name, "state": state})


_BATTLE_COLUMNS = (
    Column("name", "Battle"),
    Column("from_on", "From"),
    Column("until_on", "Until"),
    Column("venue", "Venue"),
    Column("state", "State"),
    Column("planned_sorties", "Planned sorties", numeric=True),
    Column("ships", "Ships", numeric=True),
    Column("sorties", "Sorties", numeric=True),
    Column("sinkings", "Sinkings", numeric=True),
)


def list_battles(desk: Desk, *, planned_only: bool) -> Listing:
    """Battles by date with venue, ships and sinkings."""
    sailed = (
        sa.select(
            t.sortie.c.battle_id,
            sa.func.count(t.sortie.c.ship_id.distinct()).label("ships"),
            sa.func.count().label("sorties"),
            sa.func.sum(sa.case((t.sortie.c.ending == "sank", 1), else_=0)).label("sinkings"),
        )
        .group_by(t.sortie.c.battle_id)
        .subquery()
    )
    query = (
        sa.select(
            t.battle.c.name,
            t.battle.c.from_on,
            t.battle.c.until_on,
            t.venue.c.name.label("venue"),
            t.battle.c.state,
            t.battle.c.planned_sorties,
            sailed.c.ships,
            sailed.c.sorties,
            sailed.c.sinkings,
        )
        .outerjoin(t.venue, t.venue.c.id == t.battle.c.venue_id)
        .outerjoin(sailed, sailed.c.battle_id == t.battle.c.id)
        .order_by(t.battle.c.from_on, t.battle.c.id)
    )
    if planned_only:
        query = query.where(t.battle.c.state == "planned")
    with reading(desk) as connection:
        rows = tuple(dict(row) for row in connection.execute(query).mappings())
    return Listing(
        "Battles", _BATTLE_COLUMNS, rows, empty="none yet; add one with: maintain battle add NAME --from DATE"
    )
