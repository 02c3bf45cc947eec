"""The page of one ship: positions by system, the parts in them and what those went through."""

from __future__ import annotations

from datetime import date
from typing import Any

import sqlalchemy as sa

from maintain.core.when import When
from maintain.records import find, use
from maintain.records import ship_page as page
from maintain.records import tables as t
from maintain.results.ship_page import FittedLine, ShipPage
from maintain.services.unit import Desk, reading


def ship_page(desk: Desk, *, ship: str) -> ShipPage:
    """Everything recorded of a ship that her captain wants at hand."""
    with reading(desk) as connection:
        row = find.ship(connection, ship)
        captain = connection.execute(sa.select(t.member.c.name).where(t.member.c.id == row.captain_id)).scalar()
        fitted = page.fitted(connection, row.id, desk.today)
        aboard = _Aboard(connection, row.id, [each.part_id for each in fitted if each.part_id is not None], desk.today)
        lines = tuple(aboard.line(each) for each in fitted)
        suspects = tuple(
            f"{each.tag} (was {each.position}): {each.mode} since {each.raised_on}, awaits a retest"
            for each in page.suspects(connection, row.id, desk.today)
        )
        seasons = tuple(
            (int(each.season), each.sorties, int(each.sinkings))
            for each in page.seasons(connection, row.id, desk.today)
        )
    known = row.state_since is None or row.state_since <= desk.today
    return ShipPage(
        ship=row.name,
        captain=captain,
        number=row.club_number,
        kind=row.type,
        state=row.state if known else None,
        state_since=row.state_since if known else None,
        lines=lines,
        suspects=suspects,
        seasons=seasons,
        unknown_wetness=aboard.unknown_wetness,
    )


class _Aboard:
    """What was known on a day of all parts aboard, fetched at once."""

    def __init__(self, connection: sa.Connection, ship_id: int, part_ids: list[int], on: date) -> None:
        self._trips = use.trips(connection, part_ids, on)
        self._service = use.service(connection, part_ids, on)
        self._before_records = page.fitted_before_records(connection, part_ids)
        self._treatments = page.treatments(connection, part_ids, on)
        self._opened = page.last_opened(connection, ship_id, on)
        self._readings = {row.position_id: row for row in page.readings(connection, ship_id, on)}
        self.unknown_wetness = max((use.total(trips).unknown_wetness for trips in self._trips.values()), default=0)

    def line(self, row: Any) -> FittedLine:
        """One position with the part in it."""
        measured = self._readings.get(row.position_id)
        told = f"{measured.measure} {measured.value:g} {measured.unit or ''}".strip() if measured else None
        reading_ = f"{told} ({measured.taken_on})" if measured else None
        if row.part_id is None:
            return FittedLine(row.system, row.position, row.zone, reading=reading_)
        known = row.prior_use == "none" and row.part_id not in self._before_records
        used = use.total(self._trips[row.part_id])
        return FittedLine(
            system=row.system,
            position=row.position,
            zone=row.zone,
            tag=row.tag,
            family=row.family,
            fitted=str(When(row.from_on, row.from_precision)),
            days=self._service[row.part_id].days if known else None,
            use_known=known,
            sorties=used.sorties,
            wet_sorties=used.wet_sorties,
            immersions=used.immersions,
            since_opened=self._since_opened(row),
            treatment=self._treatment(row.part_id),
            reading=reading_,
        )

    def _since_opened(self, row: Any) -> int | None:
        opened = self._opened.get(row.position_id)
        if opened is None:
            return None
        return use.total([trip for trip in self._trips[row.part_id] if trip.sailed_on > opened]).immersions

    def _treatment(self, part_id: int) -> str | None:
        row = self._treatments.get(part_id)
        return None if row is None or row.kind == "removed" else f"{row.name} ({row.done_on})"
