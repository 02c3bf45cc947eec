"""Who changed what and when, and taking it back."""

from __future__ import annotations

from typing import Any

import sqlalchemy as sa

from maintain.records import journal
from maintain.records import tables as t
from maintain.results.base import Column, Done, Listing
from maintain.services.unit import Desk, reading, writing


def listing(desk: Desk, *, limit: int) -> Listing:
    """The last changes, newest first."""
    undoing = t.change.alias()
    rows_of = sa.select(sa.func.count()).where(t.change_row.c.change_id == t.change.c.id).scalar_subquery()
    query = (
        sa.select(
            t.change.c.made_at,
            t.change.c.who,
            t.change.c.command,
            t.change.c.summary,
            rows_of.label("rows"),
            t.change.c.undoes_id,
            undoing.c.id.is_not(None).label("undone"),
        )
        .outerjoin(undoing, undoing.c.undoes_id == t.change.c.id)
        .order_by(t.change.c.id.desc())
        .limit(limit)
    )
    with reading(desk) as connection:
        # an undoing can't be undone itself: to say that it was not would be no answer
        rows = tuple(
            {**row, "undone": bool(row["undone"]) if row["undoes_id"] is None else None}
            for row in connection.execute(query).mappings()
        )
        total = connection.execute(sa.select(sa.func.count()).select_from(t.change)).scalar_one()
    columns = (
        Column("made_at", "When (UTC)"),
        Column("who", "Who"),
        Column("command", "Command"),
        Column("summary", "What"),
        Column("rows", "Rows", numeric=True),
        Column("undone", "Undone"),
    )
    footer = (f"{len(rows)} of {total}; --limit for more",) if len(rows) < total else ()
    return Listing("Journal, newest first", columns, rows, footer)


def last(desk: Desk) -> str:
    """The last change that still stands, in words."""
    with reading(desk) as connection:
        return _spoken(journal.last_change(connection))


def undo(desk: Desk) -> Done:
    """Take back the last change that still stands."""
    with writing(desk, "undo") as recorder:
        change = journal.last_change(recorder.connection)
        recorder.undoes_id = change.id
        count = journal.undo(recorder, change.id)
        did = f"undid {_spoken(change)}"
        recorder.summarise(did)
    return Done(did, record={"command": change.command, "made_at": change.made_at, "rows": count})


def _spoken(change: sa.Row[Any]) -> str:
    return f"{change.command} by {change.who}" + (f": {change.summary}" if change.summary else "")
