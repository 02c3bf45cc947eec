"""Counting: what is really there corrects the records, and settles what was issued uncounted."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import sqlalchemy as sa

from maintain.core.names import quoted
from maintain.core.when import When
from maintain.core.wording import count as several
from maintain.errors import InvalidRecord
from maintain.records import find, ledger, open_items, places
from maintain.records import tables as t
from maintain.records.journal import Recorder
from maintain.records.ledger import POOL
from maintain.results.base import Done
from maintain.services import placements
from maintain.services.parts import NewPart
from maintain.services.placements import Moment
from maintain.services.pool import stock
from maintain.services.pool.items import Item, item
from maintain.services.unit import Desk, writing

Row = sa.Row[Any]


@dataclass(frozen=True)
class Counted:
    """
    What somebody counted in the pool.

    Attributes
    ----------
    family : str
    quantity : int
    missing : tuple of str
        Tags of parts that the records hold there and nobody found.
    reason : str, optional
        Why it differs, or what count it was.
    """

    family: str
    quantity: int
    missing: tuple[str, ...] = ()
    reason: str | None = None


def count(desk: Desk, counted: Counted) -> Done:
    """Record a count; the difference is an adjustment, and open discrepancies of the family are settled."""
    if counted.quantity < 0:
        raise InvalidRecord(f"{counted.quantity} can't have been counted", hint="count again: 0 or more")
    with writing(desk, "pool count") as recorder:
        of = item(recorder.connection, counted.family)
        if of.part is not None:
            raise InvalidRecord(f"{of.part.tag} is one part", hint=f"count its family: {quoted(of.family.name)}")
        adjust = _adjust_pieces if of.counted else _adjust_parts
        found, notes = adjust(recorder, of, counted, desk)
        stocktake_id = recorder.insert(
            t.stocktake,
            family_id=of.family.id,
            counted_on=desk.today,
            counted=counted.quantity,
            note=counted.reason,
        )
        settled = _settle(recorder, of.family, stocktake_id, desk)
        told = "as recorded" if found == 0 else f"{abs(found)} {'more' if found > 0 else 'fewer'} than recorded"
        did = f"{of.family.name}: counted {counted.quantity}, {told}"
        recorder.summarise(did)
    record = {"family": of.family.name, "counted": counted.quantity, "adjustment": found, "settled": settled}
    settling = (f"settled {several(settled, 'discrepancy')}",) if settled else ()
    return Done(did, notes=(*notes, *settling), record=record)


def _adjust_pieces(recorder: Recorder, of: Item, counted: Counted, desk: Desk) -> tuple[int, tuple[str, ...]]:
    """Write the difference as a movement from or to the count; returns it."""
    if counted.missing:
        raise InvalidRecord(f"{of.family.name} are counted, not tagged", hint="leave out --missing")
    found = counted.quantity - ledger.held(recorder.connection, of.family.id, desk.today)
    facts = {"reason": counted.reason or "count"}
    if found > 0:
        stock.move(recorder, of.family, found, (stock.COUNT, POOL), desk.today, **facts)
    elif found < 0:
        free = ledger.free(recorder.connection, of.family.id, POOL, desk.today)
        if -found > free:
            raise InvalidRecord(
                f"more {of.family.name} were issued after {desk.today} than this count leaves",
                hint="count them again today",
            )
        stock.move(recorder, of.family, -found, (POOL, stock.COUNT), desk.today, **facts)
    return found, ()


def _adjust_parts(recorder: Recorder, of: Item, counted: Counted, desk: Desk) -> tuple[int, tuple[str, ...]]:
    """Put missing parts down as lost and enter those that nobody had entered; returns the difference."""
    connection = recorder.connection
    there = {row.id: row.tag for row in places.in_pool(connection, [of.family.id], desk.today)}
    gone = [find.part(connection, text) for text in dict.fromkeys(counted.missing)]
    stray = [part.tag for part in gone if part.id not in there]
    if stray:
        raise InvalidRecord(
            f"the records hold no {' or '.join(stray)} among the {of.family.name} of the pool",
            hint=f"they hold: {', '.join(there.values()) or 'none'}",
        )
    found = counted.quantity - len(there) + len(gone)
    if found < 0:
        raise InvalidRecord(
            f"the records hold {len(there)} in the pool ({', '.join(there.values())}), and {counted.quantity} "
            f"were counted: which are gone?",
            hint="name them with --missing TAG,TAG",
        )
    for part in gone:
        lost = placements.Spot("lost")
        placements.move(recorder, part, lost, Moment(When(desk.today)), reason="correction")
    note = counted.reason or "found in the pool by a count"
    made = [stock.enter(recorder, NewPart(of.family.name, note=note), desk.today).tag for _ in range(found)]
    notes = [f"{', '.join(part.tag for part in gone)} put down as lost"] if gone else []
    notes += (
        [f"entered {', '.join(made)}, of unknown past: write the tags on them, and test before issue"] if made else []
    )
    return found - len(gone), tuple(notes)


def _settle(recorder: Recorder, family: Row, stocktake_id: int, desk: Desk) -> int:
    """Close what was issued uncounted up to this day."""
    left = [row for row in open_items.discrepancies(recorder.connection, desk.today) if row.family_id == family.id]
    for row in left:
        recorder.update(t.discrepancy, row.id, stocktake_id=stocktake_id)
    return len(left)
