"""Readings: a measured value of a part or position."""

from __future__ import annotations

from datetime import date
from typing import Any

import sqlalchemy as sa

from maintain.core.names import quoted
from maintain.errors import InvalidRecord
from maintain.records import find, places
from maintain.records import tables as t
from maintain.records.readings import family_of
from maintain.results.base import Column, Done, Listing
from maintain.services.battle_day.figures import beyond, sensible
from maintain.services.readings.limits import limit_of
from maintain.services.unit import Desk, reading, writing
from maintain.vocabulary import DEMAND_TEST, MEASURES, SHOWN_BY, many


def add(desk: Desk, *, of: str, measure: str, value: float, unit: str | None, note: str | None) -> Done:
    """Record a reading; it belongs to the position and to the part in it."""
    unit = _unit(measure, unit)
    sensible(value, measure)
    with writing(desk, "reading add") as recorder:
        connection = recorder.connection
        if "/" in of:
            position = find.position(connection, of)
            part_id = _on_the_day(places.of_position(connection, position.id), desk.today, "part_id")
            position_id, what = position.id, f"{position.ship}/{position.name}"
        else:
            part = find.part(connection, of)
            position_id = _on_the_day(places.of_part(connection, part.id), desk.today, "position_id")
            part_id, what = part.id, part.tag
        recorder.insert(
            t.reading,
            part_id=part_id,
            position_id=position_id,
            measure=measure,
            value=value,
            unit=unit,
            taken_on=desk.today,
            note=note,
        )
        did = f"{what}: {_told(measure, value, unit)} on {desk.today}"
        recorder.summarise(did)
        said = beyond(limit_of(connection, measure, part_id, position_id), value)
        notes = (
            [f"nothing was fitted in {what} on {desk.today}"]
            if part_id is None
            else _doubts(connection, part_id, measure, value)
        )
    return Done(
        did,
        notes=(*notes, *((said,) if said else ())),
        record={"of": what, "measure": measure, "value": value, "unit": unit},
    )


def _told(measure: str, value: float, unit: str | None) -> str:
    if measure == DEMAND_TEST:
        return f"{measure} {'passed' if value else 'failed'}"
    return f"{measure} {value:g} {unit or ''}".rstrip()


def _doubts(connection: sa.Connection, part_id: int, measure: str, value: float) -> list[str]:
    """What to do about a failed test, or that a measure does not show whether such a part works."""
    if measure == DEMAND_TEST and value == 0:
        tag = connection.execute(sa.select(t.part.c.tag).where(t.part.c.id == part_id)).scalar_one()
        log = f"maintain failure log {quoted(tag)} --mode dead --cause unknown --found-by 'demand test'"
        return [f"{tag} did not do its job: log it with: {log}; if you doubt the test: add --to suspect"]
    category = family_of(connection, part_id).category
    if measure in SHOWN_BY and category not in SHOWN_BY[measure]:
        return [f"{measure} does not show whether {many(category)} work: it counts as no test of this one"]
    return []


def _unit(measure: str, given: str | None) -> str | None:
    usual = MEASURES[measure]
    if given and usual and given.strip().lower() != usual.lower():
        raise InvalidRecord(f"{measure} is recorded in {usual}, not {given}", hint=f"convert it to {usual} first")
    return usual or (given.strip() or None if given else None)


def _on_the_day(history: list[sa.Row[Any]], day: date, column: str) -> Any:
    """What stands in `column` of the last place that held on a day."""
    held = [row for row in history if row.from_on <= day and (row.until_on is None or day <= row.until_on)]
    return getattr(held[-1], column) if held else None


def listing(desk: Desk, *, ship: str | None, part: str | None, measure: str | None) -> Listing:
    """Readings, newest first."""
    query = (
        sa.select(
            t.reading.c.taken_on,
            t.ship.c.name.label("ship"),
            t.position.c.name.label("position"),
            t.part.c.tag.label("part"),
            t.reading.c.measure,
            t.reading.c.value,
            t.reading.c.unit,
            t.reading.c.note,
        )
        .outerjoin(t.position, t.position.c.id == t.reading.c.position_id)
        .outerjoin(t.ship, t.ship.c.id == t.position.c.ship_id)
        .outerjoin(t.part, t.part.c.id == t.reading.c.part_id)
        .order_by(t.reading.c.taken_on.desc(), t.reading.c.id.desc())
    )
    if measure:
        query = query.where(t.reading.c.measure == measure)
    with reading(desk) as connection:
        if ship:
            query = query.where(t.ship.c.id == find.ship(connection, ship).id)
        if part:
            query = query.where(t.part.c.id == find.part(connection, part).id)
        rows: tuple[dict[str, Any], ...] = tuple(dict(row) for row in connection.execute(query).mappings())
    headings = {
        "taken_on": "Day",
        "ship": "Ship",
        "position": "Position",
        "part": "Part",
        "measure": "Measure",
        "value": "Value",
        "unit": "Unit",
        "note": "Note",
    }
    columns = tuple(Column(key, heading, numeric=key == "value") for key, heading in headings.items())
    empty = "none yet; add one with: maintain reading add SHIP/POSITION MEASURE VALUE"
    return Listing("Readings, newest first", columns, rows, empty=empty)
