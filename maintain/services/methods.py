"""Waterproofing methods."""

from __future__ import annotations

import sqlalchemy as sa

from maintain.records import find
from maintain.records import tables as t
from maintain.results.base import Column, Done, Listing
from maintain.services.unit import Desk, reading, writing


def add(desk: Desk, *, name: str, note: str | None) -> Done:
    """Add a way of keeping water out."""
    with writing(desk, "method add") as recorder:
        name = find.unused(recorder.connection, t.method.c.name, name, "maintain method list")
        recorder.insert(t.method, name=name, note=note)
        did = f"added waterproofing method {name}"
        recorder.summarise(did)
    return Done(did, record={"method": name})


def listing(desk: Desk) -> Listing:
    """All methods, and how many parts ever had each."""
    query = (
        sa.select(
            t.method.c.name,
            sa.func.count(t.treatment.c.part_id.distinct()).label("parts"),
            sa.func.max(t.treatment.c.done_on).label("last_used"),
            t.method.c.note,
        )
        .outerjoin(t.treatment, t.treatment.c.method_id == t.method.c.id)
        .group_by(t.method.c.id)
        .order_by(sa.func.lower(t.method.c.name))
    )
    with reading(desk) as connection:
        rows = tuple(dict(row) for row in connection.execute(query).mappings())
    columns = (
        Column("name", "Method"),
        Column("parts", "Parts", numeric=True),
        Column("last_used", "Last used"),
        Column("note", "Note"),
    )
    return Listing("Waterproofing methods", columns, rows, empty="none yet; add one with: maintain method add NAME")
