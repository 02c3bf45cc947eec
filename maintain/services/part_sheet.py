"""The sheet of one part: everything recorded of it."""

from __future__ import annotations

from datetime import date
from typing import Any

import sqlalchemy as sa

from maintain.core.when import When
from maintain.records import find, places, ship_page, use
from maintain.records import tables as t
from maintain.records.use import Trip
from maintain.results.base import money
from maintain.results.part_sheet import PartSheet, Worked
from maintain.services.placements import start_of
from maintain.services.unit import Desk, reading

Row = sa.Row[Any]


def part_sheet(desk: Desk, *, part: str) -> PartSheet:
    """Everything recorded of a part up to today."""
    today = desk.today
    with reading(desk) as connection:
        row = find.part(connection, part, today)
        now = places.of_part_on(connection, row.id, today)
        trips = use.trips(connection, [row.id], today)[row.id]
        service = use.service(connection, [row.id], today)[row.id]
        opened = _last_opened(connection, now, today)
        return PartSheet(
            tag=row.tag,
            facts=_facts(connection, row),
            where=places.spoken(now) if now else None,
            since=str(start_of(now)) if now else None,
            use=_worked(trips, service.days),
            use_known=row.prior_use == "none" and service.exact,
            opened_on=opened,
            use_since_opened=_since_opened(trips, opened, now, today),
            places=tuple(_stay(each, today) for each in places.of_part_by(connection, row.id, today)),
            treatments=_treatments(connection, row.id, today),
            failures=_rows(connection, t.failure, t.failure.c.found_on, row.id, today),
            suspicions=_suspicions(connection, row.id, today),
            readings=_rows(connection, t.reading, t.reading.c.taken_on, row.id, today),
        )


def _worked(trips: list[Trip], days: int) -> Worked:
    used = use.total(trips)
    return Worked(days, used.sorties, used.wet_sorties, used.immersions, used.unknown_wetness)


def _last_opened(connection: sa.Connection, now: Row | None, today: date) -> date | None:
    if now is None or now.ship_id is None:
        return None
    opened: date | None = ship_page.last_opened(connection, now.ship_id, today).get(now.position_id)
    return opened


def _since_opened(trips: list[Trip], opened: date | None, now: Row | None, today: date) -> Worked | None:
    """What it went through where it is now since that was last opened."""
    if opened is None or now is None:
        return None
    days = (today - max(opened, min(now.from_on, today))).days
    return _worked([trip for trip in trips if trip.sailed_on > opened], days)


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
        "cost": money(part.cost_cents),
        "note": part.note,
    }


def _stay(row: Row, today: date) -> dict[str, Any]:
    start, end = str(start_of(row)), None
    if row.from_sortie:
        start = f"{start} after sortie {row.from_sortie}"
    left = row.until_on is not None and (row.until_on <= today or row.until_precision != "day")
    if left:
        end = str(When(row.until_on, row.until_precision))
        end = f"{end} after sortie {row.until_sortie}" if row.until_sortie else end
    return {"where": places.spoken(row), "from": start, "until": end, "reason": row.reason if left else None}


def _treatments(connection: sa.Connection, part_id: int, today: date) -> tuple[dict[str, Any], ...]:
    done = t.treatment
    query = sa.select(done, t.method.c.name.label("method")).join(t.method, t.method.c.id == done.c.method_id)
    query = query.order_by(done.c.done_on, done.c.id)
    rows = connection.execute(query.where(done.c.part_id == part_id, done.c.done_on <= today)).all()
    return tuple(
        {"on": str(When(row.done_on, row.done_precision)), "method": row.method, "kind": row.kind, "note": row.note}
        for row in rows
    )


def _suspicions(connection: sa.Connection, part_id: int, today: date) -> tuple[dict[str, Any], ...]:
    """Suspicions as they stood; what was decided later is not told."""
    rows = _rows(connection, t.suspicion, t.suspicion.c.raised_on, part_id, today)
    undecided = {"closed_on": None, "outcome": None}
    return tuple({**row, **undecided} if row["closed_on"] and row["closed_on"] > today else row for row in rows)


def _rows(
    connection: sa.Connection, table: sa.Table, day: sa.Column[Any], part_id: int, today: date
) -> tuple[dict[str, Any], ...]:
    """Rows of a table up to today that belong to a part, without the ids that mean something to the database only."""
    shown = [column for column in table.columns if column.name != "uid" and not column.name.endswith("id")]
    query = sa.select(table.c.id.label("number"), *shown).where(table.c.part_id == part_id, day <= today)
    return tuple(dict(row) for row in connection.execute(query.order_by(day, table.c.id)).mappings())
