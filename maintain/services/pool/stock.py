"""Moving stock: counted pieces in the ledger, tagged parts from place to place. Nothing leaves that isn't there."""

from __future__ import annotations

from datetime import date
from typing import Any

import sqlalchemy as sa

from maintain.core.names import quoted
from maintain.core.when import When
from maintain.errors import InvalidRecord
from maintain.records import ledger, places
from maintain.records import tables as t
from maintain.records.journal import Recorder
from maintain.records.ledger import POOL, Spot
from maintain.services import parts, placements
from maintain.services.parts import NewPart
from maintain.services.placements import Moment
from maintain.services.pool import stale
from maintain.services.pool.items import Item, named

Row = sa.Row[Any]

SUPPLIER, COUNT, SCRAP = Spot("supplier"), Spot("count"), Spot("scrap")


def move(recorder: Recorder, family: Row, quantity: int, way: tuple[Spot, Spot], on: date, **facts: Any) -> None:
    """Write a movement of counted stock; `facts` are further columns."""
    giver, taker = way
    recorder.insert(
        t.movement,
        family_id=family.id,
        quantity=quantity,
        from_place=giver.place,
        to_place=taker.place,
        from_member_id=giver.member_id,
        to_member_id=taker.member_id,
        ship_id=giver.ship_id or taker.ship_id,
        moved_on=on,
        **facts,
    )


def take(recorder: Recorder, family: Row, quantity: int, on: date, *, uncounted: bool) -> tuple[str, ...]:
    """
    See to it that the pool holds what is to leave it; what it lacked is then a discrepancy to settle.

    Raises
    ------
    InvalidRecord
        If it lacks some and that was not said to be known.
    """
    free = ledger.free(recorder.connection, family.id, POOL, on)
    old = stale.caution_of_pieces(recorder.connection, family.name, on)
    if quantity <= free:
        return old
    if not uncounted:
        raise InvalidRecord(
            f"{family.name}: the pool holds {free}, not {quantity}",
            hint="count them: maintain pool count; or say that they were there all the same: --uncounted",
            family=family.name,
            held=free,
        )
    move(recorder, family, quantity - free, (COUNT, POOL), on, reason="uncounted")
    return (*_disagree(recorder, family, quantity - free, on), *old)


def take_parts(
    recorder: Recorder, of: Item, quantity: int, on: date, *, uncounted: bool
) -> tuple[list[Row], tuple[str, ...]]:
    """
    The tagged parts that leave the pool, the oldest first of those that are not stale, and what to mind of them.

    What the records lack is entered, and a discrepancy.

    Raises
    ------
    InvalidRecord
        If the part named is elsewhere, or the pool holds too few.
    """
    connection = recorder.connection
    if of.part is not None:
        require_in_pool(connection, of.part)
        return [of.part], stale.cautions(connection, [of.part], on)
    found = stale.fresh_first(connection, places.in_pool(connection, [of.family.id], on), on)[:quantity]
    missing = quantity - len(found)
    if missing and not uncounted:
        raise InvalidRecord(
            f"{of.family.name}: the pool holds {len(found)}, not {quantity}",
            hint="see: maintain pool status; or say that it was there all the same: --uncounted",
            family=of.family.name,
            held=len(found),
        )
    notes = list(stale.cautions(connection, found, on))
    for _ in range(missing):
        new = enter(recorder, NewPart(of.family.name, note="found in the pool, not in its records"), on)
        notes += _disagree(recorder, of.family, 1, on, part_id=new.id)
        notes.append(f"tag made for it: {new.tag}; write it on the part")
        found.append(new)
    return found, tuple(notes)


def enter(recorder: Recorder, new: NewPart, on: date) -> Row:
    """Enter a tagged part that lies in the pool from a day on."""
    row = parts.insert(recorder, new, on)
    placements.begin(recorder, row, placements.Spot("pool"), Moment(When(on)))
    return row


def require_in_pool(connection: sa.Connection, part: Row) -> None:
    """
    Refuse a part that the pool does not hold.

    Raises
    ------
    InvalidRecord
    """
    now = next(reversed(places.of_part(connection, part.id)), None)
    parts.require_usable(part, now)
    if now is None or now.until_on is not None or now.place != "pool":
        where = "nowhere" if now is None or now.until_on is not None else places.being(now)
        raise InvalidRecord(
            f"{part.tag} is {where}, not in the pool", hint=f"see: maintain part show {quoted(part.tag)}"
        )


def _disagree(recorder: Recorder, family: Row, quantity: int, on: date, part_id: int | None = None) -> tuple[str, ...]:
    """Note that more was there than the records held."""
    recorder.insert(t.discrepancy, family_id=family.id, part_id=part_id, quantity=quantity, found_on=on)
    what = named(quantity, family)
    return (f"{what} more than the records held: settle it with: maintain pool count {quoted(family.name)} NUMBER",)
