"""Out of the pool for good, or out of quarantine after a test."""

from __future__ import annotations

from typing import Any

import sqlalchemy as sa

from maintain.core.names import quoted
from maintain.core.when import When
from maintain.errors import InvalidRecord
from maintain.records import ledger, places
from maintain.records import tables as t
from maintain.records.ledger import POOL, QUARANTINE
from maintain.results.base import Done
from maintain.services import placements
from maintain.services.placements import Moment
from maintain.services.pool import stock
from maintain.services.pool.items import Item, item, named
from maintain.services.unit import Desk, writing

Row = sa.Row[Any]


def scrap(desk: Desk, *, item_text: str, quantity: int | None, reason: str | None, suspect: bool) -> Done:
    """Throw a part of the pool away, or counted pieces from its shelf or from quarantine."""
    with writing(desk, "pool scrap") as recorder:
        of = item(recorder.connection, item_text)
        number = of.pieces(quantity)
        if of.counted:
            spot = QUARANTINE if suspect else POOL
            _require(recorder.connection, of, number, spot, desk)
            stock.move(recorder, of.family, number, (spot, stock.SCRAP), desk.today, reason=reason)
            what = named(number, of.family)
        else:
            part = _named_part(of)
            stock.require_in_pool(recorder.connection, part)
            placements.move(recorder, part, placements.Spot("scrapped"), Moment(When(desk.today)), reason="working")
            there = places.of_part(recorder.connection, part.id)[-1]
            recorder.update(t.placement, there.id, note=reason)
            what = f"{part.tag} ({of.family.name})"
        did = f"scrapped {what}" + (f": {reason}" if reason else "")
        recorder.summarise(did)
    return Done(did, record={"family": of.family.name, "quantity": number, "reason": reason})


def clear(desk: Desk, *, item_text: str, quantity: int | None) -> Done:
    """Counted pieces that passed a test go from quarantine back on the shelf."""
    with writing(desk, "pool clear") as recorder:
        of = item(recorder.connection, item_text)
        if not of.counted:
            tag = of.part.tag if of.part is not None else "TAG"
            raise InvalidRecord(
                f"{of.family.name} are tagged: each has its own retest", hint=f"maintain retest {quoted(tag)} pass"
            )
        number = of.pieces(quantity)
        _require(recorder.connection, of, number, QUARANTINE, desk)
        stock.move(recorder, of.family, number, (QUARANTINE, POOL), desk.today, reason="passed its test")
        did = f"{named(number, of.family)} passed: out of quarantine, back in the pool"
        recorder.summarise(did)
    return Done(did, record={"family": of.family.name, "quantity": number})


def _named_part(of: Item) -> Row:
    if of.part is None:
        raise InvalidRecord(f"{of.family.name} are tagged: which one?", hint="name the tag")
    return of.part


def _require(connection: sa.Connection, of: Item, number: int, spot: ledger.Spot, desk: Desk) -> None:
    free = ledger.free(connection, of.family.id, spot, desk.today)
    if number > free:
        where = "the pool" if spot is POOL else "quarantine"
        raise InvalidRecord(
            f"{of.family.name}: {where} holds {free}, not {number}", hint="count them: maintain pool count"
        )
