"""The sheet of one part: everything recorded of it."""

from __future__ import annotations

from datetime import date
from typing import Any

import sqlalchemy as sa

from maintain.core.when import When
from maintain.records import find, places, ship_page, use
from maintain.records import tables as t
from maintain.records.use import Trip
from maintain.results.part_sheet import PartSheet, Worked
from maintain.services.placements import start_of
from maintain.services.unit import Desk, reading

Row = sa.Row[Any]


def part_sheet(desk: Desk, *, part: str) -> PartSheet:
    """Everything recorded of a part."""
    with reading(desk) as connection:
        row = find.part(connection, part)
        history = places.of_part(connection, row.id)
        now = history[-1] if history and history[-1].until_on is None else None
        trips = use.trips(connection, [row.id])[row.id]
        opened = _last_opened(connection, now)
        since_opened = None if opened is None else [trip for trip in trips if trip.sailed_on > opened]
        born = _born(row, history, desk.today)
        return PartSheet(
            tag=row.tag,
            facts=_facts(connection, row),
            where=places.spoken(now) if now else None,
            since=str(start_of(now)) if now else None,
            use=_worked(trips, born.on, desk.today),
            use_known=row.prior_use == "none" and born.precision == "day",
            opened_on=opened,
            use_since_opened=_worked(since_opened, opened, desk.today) if opened and since_opened is not None else None,
            places=tuple(_stay(each) for each in history),
            treatments=_treatments(connection, row.id),
            failures=_rows(connection, t.failure, row.id, "found_on"),
            suspicions=_rows(connection, t.suspicion, row.id, "raised_on"),
            readings=_rows(connection, t.reading, row.id, "taken_on"),
        )


def _born(part: Row, history: list[Row], today: date) -> When:
    """From when its days count: when it was bought, or else first seen."""
    if part.acquired_on is not None:
        return When(part.acquired_on, part.acquired_precision)
    return start_of(history[0]) if history else When(today)


def _worked(trips: list[Trip], since: date, today: date) -> Worked:
    used = use.total(trips)
    return Worked((today - since).days, used.sorties, used.wet_sorties, used.immersions, used.unknown_wetness)


def _last_opened(connection: sa.Connection, now: Row | None) -> date | None:
    if now is None or now.ship_id is None:
        return None
    opened: date | None = ship_page.last_opened(connection, now.ship_id).get(now.position_id)
    return opened


def _facts(connection: sa.Connection, part: Row) -> dict[str, Any]:
    family = connection.execute(sa.select(t.family.c.name).where(t.family.c.id == part.family_id)).scalar_one()
    owner = connection.execute(sa.select(t.member.c.name).where(t.member.c.id == part.owner_id)).scalar()
    bought = part.acquired_on
    return {
        "family": family,
        "model": part.model,
        "batch": part.batch,
        "origin": part.origin,
        "prior_use": part.prior_use,
        "owner": owner or "pool",
        "acquired": None if bought is None else str(When(bought, part.acquired_precision)),
        "made": part.made_on,
        "cost": None if part.cost_cents is None else f"{part.cost_cents / 100:.2f}",
        "note": part.note,
    }


def _stay(row: Row) -> dict[str, Any]:
    start, end = str(start_of(row)), None
    if row.from_sortie:
        start = f"{start} after sortie {row.from_sortie}"
    if row.until_on is not None:
        end = str(When(row.until_on, row.until_precision))
        end = f"{end} after sortie {row.until_sortie}" if row.until_sortie else end
    return {"where": places.spoken(row), "from": start, "until": end, "reason": row.reason}


def _treatments(connection: sa.Connection, part_id: int) -> tuple[dict[str, Any], ...]:
    done = t.treatment
    query = sa.select(done, t.method.c.name.label("method")).join(t.method, t.method.c.id == done.c.method_id)
    rows = connection.execute(query.where(done.c.part_id == part_id).order_by(done.c.done_on, done.c.id)).all()
    return tuple(
        {"on": str(When(row.done_on, row.done_precision)), "method": row.method, "kind": row.kind, "note": row.note}
        for row in rows
    )


def _rows(connection: sa.Connection, table: sa.Table, part_id: int, by: str) -> tuple[dict[str, Any], ...]:
    """Rows of a table that belong to a part, without the ids that mean something to the database only."""
    shown = [column for column in table.columns if column.name != "uid" and not column.name.endswith("id")]
    query = sa.select(table.c.id.label("number"), *shown).where(table.c.part_id == part_id)
    return tuple(dict(row) for row in connection.execute(query.order_by(table.c[by], table.c.id)).mappings())
