"""Issuing: a spare leaves the pool for good, into a ship or to a captain."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import sqlalchemy as sa

from maintain.core.when import When
from maintain.errors import InvalidRecord
from maintain.records import find
from maintain.records import tables as t
from maintain.records.journal import Recorder
from maintain.records.ledger import POOL, Spot
from maintain.results.base import Done
from maintain.services import parts, placements
from maintain.services.placements import Moment, Timing
from maintain.services.pool import cautions, stock
from maintain.services.pool.items import Item, item, named
from maintain.services.unit import Desk, writing

Row = sa.Row[Any]


@dataclass(frozen=True)
class Issue:
    """
    What leaves the pool, and where to: one of `into`, `ship` and `to`.

    Attributes
    ----------
    item : str
        A tag or a family.
    quantity : int, optional
    into : str, optional
        The position a tagged part is fitted to.
    ship : str, optional
        The ship counted pieces go into.
    to : str, optional
        The member who gets it.
    uncounted : bool
        It was there, whatever the records hold.
    anyway : bool
        It fits after rework.
    """

    item: str
    quantity: int | None = None
    into: str | None = None
    ship: str | None = None
    to: str | None = None
    uncounted: bool = False
    anyway: bool = False
    note: str | None = None


def issue(desk: Desk, wish: Issue) -> Done:
    """Issue a part or pieces from the pool."""
    if sum(each is not None for each in (wish.into, wish.ship, wish.to)) != 1:
        raise InvalidRecord(
            "it goes to one place", hint="say --into SHIP/POSITION, --ship SHIP (counted stock) or --to MEMBER"
        )
    with writing(desk, "pool issue") as recorder:
        of = item(recorder.connection, wish.item)
        number = of.pieces(wish.quantity)
        hand_out = _pieces if of.counted else _parts
        what, where, notes = hand_out(recorder, of, wish, desk)
        did = f"issued {what} {where}"
        recorder.summarise(did)
        first = of.part if of.part is not None else None
        notes = (*notes, *cautions.of(recorder.connection, of.family, first, desk.today))
    return Done(did, notes=notes, record={"family": of.family.name, "quantity": number})


def _pieces(recorder: Recorder, of: Item, wish: Issue, desk: Desk) -> tuple[str, str, tuple[str, ...]]:
    """Counted stock: what, where to, and what to say of it."""
    connection = recorder.connection
    quantity = of.pieces(wish.quantity)
    if wish.to is not None:
        member = find.member(connection, wish.to)
        spot, where = Spot("captain", member_id=member.id), f"to {member.name}"
    else:
        name = (wish.into or wish.ship or "").partition("/")[0]
        ship = find.ship(connection, name)
        spot, where = Spot("ship", ship_id=ship.id), f"into {ship.name}"
    notes = stock.take(recorder, of.family, quantity, desk.today, uncounted=wish.uncounted)
    stock.move(recorder, of.family, quantity, (POOL, spot), desk.today, reason=wish.note)
    return named(quantity, of.family), where, notes


def _parts(recorder: Recorder, of: Item, wish: Issue, desk: Desk) -> tuple[str, str, tuple[str, ...]]:
    """Tagged parts: what, where to, and what to say of it."""
    connection = recorder.connection
    quantity = of.pieces(wish.quantity)
    if wish.ship is not None or (wish.into is not None and quantity > 1):
        raise InvalidRecord(
            f"{of.family.name} are tagged: each is fitted to its position",
            hint="say --into SHIP/POSITION, one at a time",
        )
    if wish.into is not None:
        return _fit(recorder, of, wish, desk)
    member = find.member(connection, wish.to or "")
    taken, notes = stock.take_parts(recorder, of, quantity, desk.today, uncounted=wish.uncounted)
    for part in taken:
        recorder.update(t.part, part.id, owner_id=member.id)
        spot = placements.Spot("captain", member_id=member.id)
        placements.move(recorder, part, spot, Moment(When(desk.today)))
    return ", ".join(part.tag for part in taken), f"to {member.name}, who owns it now", notes


def _fit(recorder: Recorder, of: Item, wish: Issue, desk: Desk) -> tuple[str, str, tuple[str, ...]]:
    connection = recorder.connection
    position = find.position(connection, wish.into or "")
    parts.require_in_service(connection, position)
    (part,), notes = stock.take_parts(recorder, of, 1, desk.today, uncounted=wish.uncounted)
    if not wish.anyway:
        parts.require_fit(connection, part, position)
    moment = placements.fitting_moment(connection, position.id, Timing(), desk.today)
    moment, closed = placements.move(recorder, part, placements.Spot("installed", position_id=position.id), moment)
    return part.tag, f"into {position.ship}/{position.name} from {moment}", (*closed, *notes)
