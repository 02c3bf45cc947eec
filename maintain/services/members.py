"""Members of the club: captains, the quartermaster, whoever owns or borrows parts."""

from __future__ import annotations

import sqlalchemy as sa

from maintain.records import find
from maintain.records import tables as t
from maintain.results.base import Column, Done, Listing
from maintain.services.unit import Desk, reading, writing


def add(desk: Desk, *, name: str, note: str | None) -> Done:
    """Add a member; a nickname or initials will do."""
    with writing(desk, "member add") as recorder:
        name = find.unused(recorder.connection, t.member.c.name, name, "maintain member list")
        recorder.insert(t.member, name=name, note=note)
        did = f"added {name}"
        recorder.summarise(did)
    return Done(did, record={"member": name})


def listing(desk: Desk) -> Listing:
    """All members with their ships."""
    query = (
        sa.select(t.member.c.name, t.member.c.left_on, t.member.c.note, t.ship.c.name.label("ship"))
        .outerjoin(t.ship, t.ship.c.captain_id == t.member.c.id)
        .order_by(sa.func.lower(t.member.c.name), sa.func.lower(t.ship.c.name))
    )
    ships: dict[str, list[str]] = {}
    members = {}
    with reading(desk) as connection:
        for row in connection.execute(query).mappings():
            members[row["name"]] = row
            ships.setdefault(row["name"], []).extend([row["ship"]] if row["ship"] else [])
    columns = (Column("name", "Member"), Column("ships", "Ships"), Column("left_on", "Left on"), Column("note", "Note"))
    rows = tuple({**row, "ships": ", ".join(ships[name]) or None} for name, row in members.items())
    return Listing("Members", columns, rows, empty="none yet; add one with: maintain member add NAME")
