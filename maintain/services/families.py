"""Families: parts that swap without rework."""

from __future__ import annotations

from typing import Any

import sqlalchemy as sa

from maintain.records import find, places
from maintain.records import tables as t
from maintain.results.base import Column, Done, Listing, money
from maintain.services import changes
from maintain.services.unit import Desk, reading, writing


def add(desk: Desk, *, name: str, **facts: Any) -> Done:
    """Add a family; `facts` are columns of the family table."""
    with writing(desk, "family add") as recorder:
        name = find.unused(recorder.connection, t.family.c.name, name, "maintain family list")
        recorder.insert(t.family, name=name, **facts)
        did = f"added family {name} ({facts['category']})"
        recorder.summarise(did)
    return Done(did, record={"family": name})


def change(desk: Desk, *, family: str, facts: dict[str, Any]) -> Done:
    """Change facts of a family; those that are None stay as they are."""
    with writing(desk, "family change") as recorder:
        row = find.family(recorder.connection, family)
        new = changes.differing(row, row.name, facts)
        recorder.update(t.family, row.id, **new)
        did = f"changed {row.name}: {changes.told(row, new)}"
        recorder.summarise(did)
    return Done(did, record={"family": row.name, **new})


def listing(desk: Desk, *, category: str | None) -> Listing:
    """All families with how many are installed and in the pool today."""
    now = (
        sa.select(
            t.part.c.family_id,
            sa.func.sum(sa.case((t.placement.c.place == "installed", 1), else_=0)).label("installed"),
            sa.func.sum(sa.case((t.placement.c.place == "pool", 1), else_=0)).label("pool"),
        )
        .join(t.placement, sa.and_(t.placement.c.part_id == t.part.c.id, places.held_on(desk.today)))
        .group_by(t.part.c.family_id)
        .subquery()
    )
    query = (
        sa.select(
            t.family,
            sa.func.coalesce(now.c.installed, 0).label("installed"),
            sa.func.coalesce(now.c.pool, 0).label("pool"),
        )
        .outerjoin(now, now.c.family_id == t.family.c.id)
        .order_by(t.family.c.category, sa.func.lower(t.family.c.name))
    )
    if category:
        query = query.where(t.family.c.category == category)
    with reading(desk) as connection:
        rows = tuple(
            {**row, "unit_cost": money(row["unit_cost_cents"])} for row in connection.execute(query).mappings()
        )
    columns = (
        Column("name", "Family"),
        Column("category", "Category"),
        Column("tracking", "Kept"),
        Column("hidden", "Hidden"),
        Column("unit_cost", "Unit cost", numeric=True),
        Column("lead_time_days", "Lead time (days)", numeric=True),
        Column("shelf_life_days", "Shelf life (days)", numeric=True),
        Column("installed", "Installed", numeric=True),
        Column("pool", "In the pool", numeric=True),
    )
    return Listing("Families", columns, rows, empty="none yet; add one with: maintain family add NAME --category servo")
