"""Families: parts that swap without rework."""

from __future__ import annotations

from typing import Any

import sqlalchemy as sa

from maintain.records import find
from maintain.records import tables as t
from maintain.results.base import Column, Done, Listing
from maintain.services.unit import Desk, reading, writing


def add(desk: Desk, *, name: str, **facts: Any) -> Done:
    """Add a family; `facts` are columns of the family table."""
    with writing(desk, "family add") as recorder:
        recorder.insert(t.family, name=name, **facts)
        did = f"added family {name} ({facts['category']})"
        recorder.summarise(did)
    return Done(did, record={"family": name})


def change(desk: Desk, *, family: str, facts: dict[str, Any]) -> Done:
    """Change facts of a family; those that are None stay as they are."""
    given = {key: value for key, value in facts.items() if value is not None}
    with writing(desk, "family change") as recorder:
        row = find.family(recorder.connection, family)
        recorder.update(t.family, row.id, **given)
        did = f"changed {row.name}: {', '.join(each.replace('_', ' ') for each in given) or 'nothing'}"
        recorder.summarise(did)
    return Done(did, record={"family": row.name, **given})


def listing(desk: Desk, *, category: str | None) -> Listing:
    """All families with how many are installed and in the pool."""
    now = (
        sa.select(
            t.part.c.family_id,
            sa.func.sum(sa.case((t.placement.c.place == "installed", 1), else_=0)).label("installed"),
            sa.func.sum(sa.case((t.placement.c.place == "pool", 1), else_=0)).label("pool"),
        )
        .join(t.placement, sa.and_(t.placement.c.part_id == t.part.c.id, t.placement.c.until_on.is_(None)))
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
            {**row, "unit_cost": None if row["unit_cost_cents"] is None else f"{row['unit_cost_cents'] / 100:.2f}"}
            for row in connection.execute(query).mappings()
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
