"""Positions: the places on a ship that take one part each."""

from __future__ import annotations

from typing import Any

import sqlalchemy as sa

from maintain.errors import InvalidRecord
from maintain.records import find
from maintain.records import tables as t
from maintain.records.journal import Recorder
from maintain.results.base import Column, Done, Listing
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
        source = _on_same_ship(recorder, ship.name, powered_by)
        position_id = recorder.insert(t.position, ship_id=ship.id, name=name, powered_by_id=source, **facts)
        _let_fit(recorder, position_id, families)
        did = f"added {ship.name}/{name}"
        recorder.summarise(did)
    return Done(did, record={"ship": ship.name, "position": name})


def change(desk: Desk, *, where: str, families: tuple[str, ...], powered_by: str | None, facts: dict[str, Any]) -> Done:
    """Change facts of a position; those that are None stay. Families named replace those that fitted before."""
    given = {key: value for key, value in facts.items() if value is not None}
    with writing(desk, "position change") as recorder:
        row = find.position(recorder.connection, where)
        if powered_by:
            given["powered_by_id"] = _on_same_ship(recorder, row.ship, powered_by)
        recorder.update(t.position, row.id, **given)
        if families:
            fits = t.position_family
            for old in recorder.connection.execute(sa.select(fits.c.id).where(fits.c.position_id == row.id)).scalars():
                recorder.delete(fits, old)
            _let_fit(recorder, row.id, families)
        changed = [*(each.removesuffix("_id").replace("_", " ") for each in given), *(["families"] if families else [])]
        did = f"changed {row.ship}/{row.name}: {', '.join(changed) or 'nothing'}"
        recorder.summarise(did)
    return Done(did, record={"ship": row.ship, "position": row.name})


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
        fits = t.position_family
        for old in recorder.connection.execute(sa.select(fits.c.id).where(fits.c.position_id == row.id)).scalars():
            recorder.delete(fits, old)
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


def listing(desk: Desk, *, ship: str | None, system: str | None, empty_only: bool) -> Listing:
    """Positions with the part each holds now."""
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
        .outerjoin(t.placement, sa.and_(t.placement.c.position_id == t.position.c.id, t.placement.c.until_on.is_(None)))
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
    return Listing("Positions", columns, rows, empty="none; add one with: maintain position add SHIP/NAME")
