"""What was found when a box or hull was opened: it outranks what the wetness of the sortie would make us expect."""

from __future__ import annotations

from datetime import date

import sqlalchemy as sa

from maintain.core.names import quoted
from maintain.core.wording import whose
from maintain.errors import InvalidRecord
from maintain.records import find
from maintain.records import tables as t
from maintain.records.journal import Recorder
from maintain.results.base import Column, Done, Listing
from maintain.services.unit import Desk, reading, writing


def log(desk: Desk, *, where: str, found: str, zone: str, sortie: tuple[date | None, int | None], dried: bool) -> Done:
    """Log that a zone of a ship, or one position, was opened after a sortie (day, number), and how it looked inside."""
    day, number = sortie
    opened_on = day or desk.today
    with writing(desk, "opening log") as recorder:
        position = find.position(recorder.connection, where) if "/" in where else None
        ship = find.ship(recorder.connection, where.partition("/")[0])
        zone = position.zone if position else zone
        sortie_id = _sortie(recorder, ship, opened_on, number)
        recorder.insert(
            t.opening,
            ship_id=ship.id,
            sortie_id=sortie_id,
            zone=zone,
            position_id=position.id if position else None,
            opened_on=opened_on,
            found=found,
            dried=dried,
        )
        what = f"{ship.name}/{position.name}" if position else f"{whose(ship.name)} {zone}"
        did = f"{what} opened on {opened_on}: {found}" + (", dried" if dried else "")
        recorder.summarise(did)
    notes = () if found == "dry" or dried else ("not dried: retest what is inside after a day and after a week",)
    return Done(did, notes=notes, record={"ship": ship.name, "zone": zone, "found": found})


def _sortie(recorder: Recorder, ship: sa.Row[tuple[object, ...]], day: date, number: int | None) -> int | None:
    """The sortie the finding speaks of: the numbered one of that day, else the last one sailed up to then."""
    query = sa.select(t.sortie.c.id).where(t.sortie.c.ship_id == ship.id, t.sortie.c.sailed_on <= day)
    if number is not None:
        query = query.where(t.sortie.c.sailed_on == day, t.sortie.c.number == number)
    last_first = query.order_by(t.sortie.c.sailed_on.desc(), t.sortie.c.number.desc()).limit(1)
    found = recorder.connection.execute(last_first).scalar()
    if found is None and number is not None:
        raise InvalidRecord(
            f"{ship.name} has no sortie {number} on {day}",
            hint=f"see: maintain sortie list --ship {quoted(ship.name)}",
        )
    return found


def listing(desk: Desk, *, ship: str | None) -> Listing:
    """Openings, newest first."""
    query = (
        sa.select(
            t.opening.c.opened_on,
            t.ship.c.name.label("ship"),
            t.position.c.name.label("position"),
            t.opening.c.zone,
            t.opening.c.found,
            t.opening.c.dried,
            t.opening.c.note,
        )
        .join(t.ship, t.ship.c.id == t.opening.c.ship_id)
        .outerjoin(t.position, t.position.c.id == t.opening.c.position_id)
        .order_by(t.opening.c.opened_on.desc(), t.opening.c.id.desc())
    )
    with reading(desk) as connection:
        if ship:
            query = query.where(t.ship.c.id == find.ship(connection, ship).id)
        rows = tuple(dict(row) for row in connection.execute(query).mappings())
    columns = (
        Column("opened_on", "Opened on"),
        Column("ship", "Ship"),
        Column("position", "Position"),
        Column("zone", "Zone"),
        Column("found", "Found"),
        Column("dried", "Dried"),
        Column("note", "Note"),
    )
    return Listing(
        "Openings, newest first", columns, rows, empty="none yet; log one with: maintain opening log SHIP dry"
    )
