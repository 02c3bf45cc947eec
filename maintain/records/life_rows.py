"""The rows from which lives are made: one pass over each table, column by column, no object per row."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import sqlalchemy as sa

from maintain.records import evidence
from maintain.records import tables as t
from maintain.records.evidence import NONE

Columns = dict[str, list[Any]]

CHUNK = 500  # rows that go before the garbage collector looks at them; a table's worth would cost half as much again


@dataclass(frozen=True)
class LifeRows:
    """
    Columns by name, table by table; a missing id is NONE, any other missing value None.

    Attributes
    ----------
    part, placement, treatment
        Parts followed under a tag, in order of id, and what happened to them.
    ship, position, family, method
        Names to which ids lead, in order of id.
    sortie, opening
    failure, suspicion
    evidence
        Days on which a part, or whatever part was in a position, was seen to work (`records.evidence`).
    """

    part: Columns
    placement: Columns
    treatment: Columns
    ship: Columns
    position: Columns
    family: Columns
    method: Columns
    sortie: Columns
    opening: Columns
    failure: Columns
    suspicion: Columns
    evidence: Columns


def read(connection: sa.Connection) -> LifeRows:
    """Read all that lives are made of."""
    return LifeRows(
        part=_columns(connection, _parts()),
        placement=_columns(connection, _placements()),
        treatment=_columns(connection, sa.select(*_pick(t.treatment, "part_id method_id kind done_on"))),
        ship=_columns(connection, _ships()),
        position=_columns(connection, _positions()),
        family=_columns(connection, _families()),
        method=_columns(connection, sa.select(t.method.c.id, t.method.c.name).order_by(t.method.c.id)),
        sortie=_columns(connection, _sorties()),
        opening=_columns(connection, _openings()),
        failure=_columns(connection, _failures()),
        suspicion=_columns(connection, sa.select(*_pick(t.suspicion, "part_id raised_on mode closed_on outcome"))),
        evidence=_columns(connection, evidence.seen_working()),
    )


def _columns(connection: sa.Connection, query: sa.Select[Any] | sa.CompoundSelect[Any]) -> Columns:
    """Run a query without parameters on the driver's own cursor: an object for each row would cost as much again."""
    text = str(query.compile(dialect=connection.dialect, compile_kwargs={"literal_binds": True}))
    columns: list[list[Any]] = [[] for _ in query.selected_columns]
    cursor = connection.connection.cursor()
    try:
        cursor.execute(text)
        while rows := cursor.fetchmany(CHUNK):
            for column, values in zip(columns, zip(*rows, strict=True), strict=True):
                column.extend(values)
    finally:
        cursor.close()
    return {column.name: values for column, values in zip(query.selected_columns, columns, strict=True)}


def _pick(table: sa.Table, names: str) -> list[sa.Column[Any]]:
    return [table.c[name] for name in names.split()]


def _id(column: sa.Column[Any], name: str = "") -> sa.Label[Any]:
    return sa.func.coalesce(column, NONE).label(name or column.name)


def _parts() -> sa.Select[Any]:
    fitted = t.family.c.tracking == "tagged"
    columns = _pick(t.part, "id tag family_id model batch prior_use")
    return sa.select(*columns).select_from(t.part).join(t.family).where(fitted).order_by(t.part.c.id)


def _placements() -> sa.Select[Any]:
    names = "part_id place from_on from_sortie from_precision until_on until_precision reason"
    ended = sa.func.coalesce(t.placement.c.until_sortie, 0).label("until_sortie")
    return sa.select(*_pick(t.placement, names), _id(t.placement.c.position_id), ended)


def _ships() -> sa.Select[Any]:
    club_from = sa.select(sa.func.min(t.club.c.records_from)).scalar_subquery()
    records_from = sa.func.coalesce(t.ship.c.records_from, club_from).label("records_from")
    return sa.select(*_pick(t.ship, "id name state state_since"), records_from).order_by(t.ship.c.id)


def _positions() -> sa.Select[Any]:
    columns = _pick(t.position, "id ship_id name zone system")
    return sa.select(*columns, _id(t.position.c.powered_by_id)).order_by(t.position.c.id)


def _families() -> sa.Select[Any]:
    return sa.select(*_pick(t.family, "id name category hidden ages_on_shelf")).order_by(t.family.c.id)


def _sorties() -> sa.Select[Any]:
    venue = sa.func.coalesce(t.sortie.c.venue_id, t.battle.c.venue_id)
    water = sa.func.coalesce(t.venue.c.water, "unknown").label("water")
    columns = _pick(t.sortie, "id ship_id sailed_on number wetness minutes_afloat minutes_under shots")
    return (
        sa.select(*columns, water).select_from(t.sortie).outerjoin(t.battle).outerjoin(t.venue, t.venue.c.id == venue)
    )


def _openings() -> sa.Select[Any]:
    zone = sa.func.coalesce(t.position.c.zone, t.opening.c.zone).label("zone")
    optional = (_id(t.opening.c.sortie_id), _id(t.opening.c.position_id))
    return (
        sa.select(*_pick(t.opening, "ship_id opened_on found"), *optional, zone)
        .select_from(t.opening)
        .outerjoin(t.position)
    )


def _failures() -> sa.Select[Any]:
    names = "id part_id found_on found_sortie last_good_on mode cause effect found_by secondary"
    last_good = sa.func.coalesce(t.failure.c.last_good_sortie, 0).label("last_good_sortie")
    return sa.select(*_pick(t.failure, names), last_good, _id(t.failure.c.sortie_id))
