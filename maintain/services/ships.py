"""Ships: laid down, put in and out of service, listed."""

from __future__ import annotations

from datetime import date
from typing import Any

import sqlalchemy as sa

from maintain.core.names import quoted
from maintain.core.when import When
from maintain.core.wording import count
from maintain.errors import InvalidRecord
from maintain.records import find, places
from maintain.records import tables as t
from maintain.records.journal import Recorder
from maintain.results.base import Column, Done, Listing
from maintain.services import placements, templates
from maintain.services.unit import Desk, reading, writing
from maintain.vocabulary import being

_COLUMNS = (
    Column("name", "Ship"),
    Column("club_number", "Number"),
    Column("captain", "Captain"),
    Column("type", "Kind"),
    Column("state", "State"),
    Column("fitted", "Parts fitted", numeric=True),
    Column("sorties", "Sorties", numeric=True),
    Column("sinkings", "Sinkings", numeric=True),
    Column("last_sailed", "Last sailed"),
)


def add(
    desk: Desk,
    *,
    name: str,
    captain: str | None,
    number: str | None,
    template: str | None,
    since: date | None,
) -> Done:
    """Add a ship, with the positions of a typical ship of her kind if a template is named."""
    kind, layout = templates.typical(template) if template else (None, ())
    with writing(desk, "ship add") as recorder:
        name = find.unused(recorder.connection, t.ship.c.name, name, "maintain ship list")
        _refuse_number(recorder.connection, number)
        captain_id = find.member(recorder.connection, captain).id if captain else None
        ship_id = recorder.insert(
            t.ship,
            name=name,
            club_number=number,
            captain_id=captain_id,
            type=kind,
            state="in commission",
            records_from=since or desk.today,
        )
        templates.lay_out(recorder, ship_id, layout)
        did = f"added {name}" + (f" with {count(len(layout), 'position')} of a {kind}" if layout else "")
        recorder.summarise(did)
    hint = () if layout else (f"add her positions with: maintain position add {quoted(f'{name}/rudder-servo')} ...",)
    return Done(did, notes=hint, record={"ship": name, "positions": len(layout)})


def _refuse_number(connection: sa.Connection, number: str | None) -> None:
    """Two ships with one number could not be told apart on the water."""
    if number is None:
        return
    holder = connection.execute(sa.select(t.ship.c.name).where(t.ship.c.club_number == number)).scalar()
    if holder is not None:
        raise InvalidRecord(f"{holder} has the number {number} already", hint="give another number, or none")


def change_state(desk: Desk, *, ship: str, state: str, since: date | None) -> Done:
    """Put a ship in dry dock, back in commission, or strike her off as lost or paid off."""
    with writing(desk, "ship state") as recorder:
        row = find.ship(recorder.connection, ship)
        day = since or desk.today
        if row.state_since is not None and day < row.state_since:
            raise InvalidRecord(
                f"{row.name} has been {being(row.state)} since {row.state_since}, after {day}",
                hint="give --since a later day, or take the last change back with: maintain undo",
            )
        recorder.update(t.ship, row.id, state=state, state_since=day)
        closed = _strip(recorder, row, state, day) if state in ("lost", "paid off") else ()
        did = f"{row.name}: {row.state} until {day}, {state} from then"
        recorder.summarise(did)
    return Done(did, closed=closed, record={"ship": row.name, "state": state, "since": day})


def _strip(recorder: Recorder, ship: sa.Row[Any], state: str, day: date) -> tuple[str, ...]:
    """Parts of a lost ship are lost with her; those of one paid off go home to their owners or the pool."""
    connection = recorder.connection
    aboard = connection.execute(
        sa.select(t.part)
        .join(t.placement, sa.and_(t.placement.c.part_id == t.part.c.id, t.placement.c.until_on.is_(None)))
        .join(t.position, t.position.c.id == t.placement.c.position_id)
        .where(t.position.c.ship_id == ship.id)
        .order_by(t.part.c.tag)
    ).all()
    leaving = placements.leaving_moment(connection, ship.id, placements.Timing(When(day)), day)
    for part in aboard:
        spot = placements.Spot("lost") if state == "lost" else placements.home(part)
        placements.move(recorder, part, spot, leaving, reason=f"ship {state}")
    where = "lost with her" if state == "lost" else "gone home to their owners or the pool"
    return (f"{count(len(aboard), 'part')} {where}",) if aboard else ()


def listing(desk: Desk) -> Listing:
    """All ships with captain, state, positions and sinkings."""
    fitted = (
        sa.select(t.position.c.ship_id, sa.func.count(t.placement.c.id).label("fitted"))
        .join(t.placement, sa.and_(t.placement.c.position_id == t.position.c.id, places.held_on(desk.today)))
        .group_by(t.position.c.ship_id)
        .subquery()
    )
    sailed = (
        sa.select(
            t.sortie.c.ship_id,
            sa.func.count().label("sorties"),
            sa.func.sum(sa.case((t.sortie.c.ending == "sank", 1), else_=0)).label("sinkings"),
            sa.func.max(t.sortie.c.sailed_on).label("last_sailed"),
        )
        .where(t.sortie.c.sailed_on <= desk.today)
        .group_by(t.sortie.c.ship_id)
        .subquery()
    )
    query = (
        sa.select(
            t.ship.c.name,
            t.ship.c.club_number,
            t.member.c.name.label("captain"),
            t.ship.c.type,
            sa.case((t.ship.c.state_since > desk.today, None), else_=t.ship.c.state).label("state"),
            sa.func.coalesce(fitted.c.fitted, 0).label("fitted"),
            sa.func.coalesce(sailed.c.sorties, 0).label("sorties"),
            sa.func.coalesce(sailed.c.sinkings, 0).label("sinkings"),
            sailed.c.last_sailed,
        )
        .outerjoin(t.member, t.member.c.id == t.ship.c.captain_id)
        .outerjoin(fitted, fitted.c.ship_id == t.ship.c.id)
        .outerjoin(sailed, sailed.c.ship_id == t.ship.c.id)
        .order_by(sa.func.lower(t.ship.c.name))
    )
    with reading(desk) as connection:
        rows = tuple(dict(row) for row in connection.execute(query).mappings())
    unknown = any(row["state"] is None for row in rows)
    footer = (f"State –: changed after {desk.today}; only the last state is on record",) if unknown else ()
    empty = "none yet; add one with: maintain ship add NAME --like cruiser"
    return Listing("Ships", _COLUMNS, rows, footer, empty)
