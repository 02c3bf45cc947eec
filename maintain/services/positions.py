"""Positions: the places on a ship that take one part each."""

from __future__ import annotations

from typing import Any

import sqlalchemy as sa

from maintain.core.names import quoted
from maintain.errors import InvalidRecord
from maintain.records import find, places
from maintain.records import tables as t
from maintain.records.journal import Recorder
from maintain.results.base import Column, Done, Listing
from maintain.services import changes
from maintain.services.unit import Desk, reading, writing


def add(desk: Desk, *, where: str, families: tuple[str, ...], powered_by: str | None, **facts: Any) -> Done:
    """Add the position written as ship/position; `families` are those that fit it (none: any)."""
    ship_text, slash, name = where.partition("/")
    if not (slash and name):
        raise InvalidRecord(
            f"{where!r} names no position", hint="write ship/position, for example halberd/rudder-servo"
        )
    with writing(desk, "position add") as recorder:
        ship = find.ship(recorder.connection, ship_text)
        on_ship = t.position.c.ship_id == ship.id
        see = f"maintain position list --ship {quoted(ship.name)}"
        name = find.unused(recorder.connection, t.position.c.name, name, see, on_ship)
        source = _on_same_ship(recorder, ship.name, powered_by)
        position_id = recorder.insert(t.position, ship_id=ship.id, name=name, powered_by_id=source, **facts)
        _let_fit(recorder, position_id, families)
        did = f"added {ship.name}/{name}"
        recorder.summarise(did)
    return Done(did, record={"ship": ship.name, "position": name})


def change(desk: Desk, *, where: str, families: tuple[str, ...], powered_by: str | None, facts: dict[str, Any]) -> Done:
    """Change facts of a position; those that are None stay. Families named replace those that fitted before."""
    with writing(desk, "position change") as recorder:
        row = find.position(recorder.connection, where)
        named = f"{row.ship}/{row.name}"
        said = []
        if families:
            said.append(_refit(recorder, row.id, families))
        if powered_by:
            said.append(_repower(recorder, row, powered_by))
        if not said or any(value is not None for value in facts.values()):
            new = changes.differing(row, named, facts)
            recorder.update(t.position, row.id, **new)
            said.append(changes.told(row, new))
        did = f"changed {named}: {', '.join(said)}"
        recorder.summarise(did)
    return Done(did, record={"ship": row.ship, "position": row.name})


def _refit(recorder: Recorder, position_id: int, families: tuple[str, ...]) -> str:
    """Let other families fit; says old and new."""
    before = places.fitting_families(recorder.connection, position_id)
    _let_none_fit(recorder, position_id)
    _let_fit(recorder, position_id, families)
    after = places.fitting_families(recorder.connection, position_id)
    return f"fits {', '.join(before.values()) or 'any'} to {', '.join(after.values())}"


def _repower(recorder: Recorder, row: sa.Row[Any], powered_by: str) -> str:
    """Feed it from another battery; says old and new."""
    names = sa.select(t.position.c.name)
    before = recorder.connection.execute(names.where(t.position.c.id == row.powered_by_id)).scalar()
    source = _on_same_ship(recorder, row.ship, powered_by)
    recorder.update(t.position, row.id, powered_by_id=source)
    after = recorder.connection.execute(names.where(t.position.c.id == source)).scalar()
    return f"powered by {before or 'nothing'} to {after}"


def remove(desk: Desk, *, where: str) -> Done:
    """Remove a position that never held a part."""
    with writing(desk, "position remove") as recorder:
        row = find.position(recorder.connection, where)
        held = sa.select(sa.func.count()).where(t.placement.c.position_id == row.id)
        if recorder.connection.execute(held).scalar():
            raise InvalidRecord(
                f"{row.ship}/{row.name} has held parts, and their history stays",
                hint="leave it; an empty one costs nothing",
            )
        _let_none_fit(recorder, row.id)
        recorder.delete(t.position, row.id)
        did = f"removed {row.ship}/{row.name}"
        recorder.summarise(did)
    return Done(did, record={"ship": row.ship, "position": row.name})


def _on_same_ship(recorder: Recorder, ship: str, name: str | None) -> int | None:
    return int(find.position(recorder.connection, f"{ship}/{name}").id) if name else None


def _let_fit(recorder: Recorder, position_id: int, families: tuple[str, ...]) -> None:
    for family in families:
        family_id = find.family(recorder.connection, family).id
        recorder.insert(t.position_family, position_id=position_id, family_id=family_id)


def _let_none_fit(recorder: Recorder, position_id: int) -> None:
    fits = t.position_family
    for old in recorder.connection.execute(sa.select(fits.c.id).where(fits.c.position_id == position_id)).scalars():
        recorder.delete(fits, old)


def listing(desk: Desk, *, ship: str | None, system: str | None, empty_only: bool) -> Listing:
    """Positions with the part each holds today."""
    query = (
        sa.select(
            t.ship.c.name.label("ship"),
            t.position.c.name,
            t.position.c.system,
            t.position.c.zone,
            t.position.c.dependence,
            t.part.c.tag,
            t.family.c.name.label("family"),
        )
        .join(t.ship, t.ship.c.id == t.position.c.ship_id)
        .outerjoin(t.placement, sa.and_(t.placement.c.position_id == t.position.c.id, places.held_on(desk.today)))
        .outerjoin(t.part, t.part.c.id == t.placement.c.part_id)
        .outerjoin(t.family, t.family.c.id == t.part.c.family_id)
        .order_by(sa.func.lower(t.ship.c.name), t.position.c.system, t.position.c.name)
    )
    if system:
        query = query.where(t.position.c.system == system)
    if empty_only:
        query = query.where(t.part.c.id.is_(None))
    with reading(desk) as connection:
        if ship:
            query = query.where(t.ship.c.id == find.ship(connection, ship).id)
        rows = tuple(dict(row) for row in connection.execute(query).mappings())
    columns = (
        Column("ship", "Ship"),
        Column("name", "Position"),
        Column("system", "System"),
        Column("zone", "Zone"),
        Column("dependence", "Dependence"),
        Column("tag", "Part"),
        Column("family", "Family"),
    )
    sought = ship or system or empty_only
    empty = "none like that" if sought else "none yet; add one with: maintain position add SHIP/NAME"
    return Listing("Positions", columns, rows, empty=empty)
