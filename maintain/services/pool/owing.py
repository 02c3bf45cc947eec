"""Payback in kind: who owes what to whom, and how it is made good."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import sqlalchemy as sa

from maintain.core.when import When
from maintain.errors import InvalidRecord
from maintain.records import find, open_items, places
from maintain.records import tables as t
from maintain.records.journal import Recorder
from maintain.records.ledger import POOL, Spot
from maintain.results.base import Done
from maintain.services import parts, placements
from maintain.services.parts import NewPart
from maintain.services.placements import Moment
from maintain.services.pool import stock
from maintain.services.pool.closing import close
from maintain.services.pool.items import THE_POOL, Item, Party, at_least_one, by_when, family, named, party
from maintain.services.pool.lending import bring
from maintain.services.unit import Desk, writing

Row = sa.Row[Any]


@dataclass(frozen=True)
class Owing:
    """
    A debt in kind.

    Attributes
    ----------
    debtor, creditor : str
        Members, or the word pool.
    family : str
    quantity : int
    since, due : When, optional
        Since when (None: today) and by when.
    """

    debtor: str
    family: str
    quantity: int = 1
    creditor: str = THE_POOL
    since: When | None = None
    due: When | None = None
    note: str | None = None


def owe(desk: Desk, owing: Owing) -> Done:
    """Note that somebody owes somebody a part in kind."""
    with writing(desk, "pool owe") as recorder:
        connection = recorder.connection
        row = family(connection, owing.family)
        debtor, creditor = _two(connection, owing.debtor, owing.creditor)
        since = placements.not_future(owing.since or When(desk.today), desk.today).on
        due = by_when(owing.due, desk.today, "--due")
        quantity = at_least_one(owing.quantity)
        parties = {"debtor_id": debtor.id, "creditor_id": creditor.id}
        facts = {"since_on": since, "due_on": due, "note": owing.note}
        recorder.insert(t.debt, **parties, family_id=row.id, quantity=quantity, **facts)
        by = f", by {due}" if due else ""
        did = f"{debtor.name} owes {creditor.name} {named(quantity, row)} since {since}{by}"
        recorder.summarise(did)
    record = {"debtor": debtor.name, "creditor": creditor.name, "family": row.name, "quantity": quantity}
    return Done(did, record={**record, "since_on": since, "due_on": due})


def _two(connection: sa.Connection, debtor: str, creditor: str) -> tuple[Party, Party]:
    one, other = party(connection, debtor), party(connection, creditor)
    if one.id == other.id:
        raise InvalidRecord(f"{one.name} can't owe {one.name}", hint="name two: the one who owes, and --to the other")
    return one, other


@dataclass(frozen=True)
class Settlement:
    """
    How a debt is made good.

    Attributes
    ----------
    debtor, creditor : str
        Members, or the word pool.
    family : str
    quantity : int, optional
        None: all that is owed of it.
    with_ : str, optional
        The tagged part handed over.
    origin : str
        Of a part entered now.
    forgiven : bool
        Nothing is handed over.
    """

    debtor: str
    family: str
    quantity: int | None = None
    creditor: str = THE_POOL
    with_: str | None = None
    origin: str = "unknown"
    forgiven: bool = False


def settle(desk: Desk, made: Settlement) -> Done:
    """Settle debts, the oldest first; what is handed over goes where it belongs."""
    with writing(desk, "pool settle") as recorder:
        connection = recorder.connection
        row = family(connection, made.family)
        debtor, creditor = _two(connection, made.debtor, made.creditor)
        debts = _debts(connection, row, debtor, creditor, desk)
        owed = sum(each.quantity for each in debts)
        quantity = owed if made.quantity is None else at_least_one(made.quantity)
        if quantity > owed:
            raise InvalidRecord(
                f"{debtor.name} owes {creditor.name} {named(owed, row)}, not {quantity}", hint="see: maintain pool owed"
            )
        handed = () if made.forgiven else _hand_over(recorder, Item(row), quantity, made, (debtor, creditor), desk)
        _close(recorder, debts, quantity, desk)
        how = "forgiven" if made.forgiven else "settled"
        did = f"{debtor.name} owed {creditor.name} {named(quantity, row)}: {how}"
        recorder.summarise(did)
    left = (f"{named(owed - quantity, row)} still owed",) if owed > quantity else ()
    record = {"debtor": debtor.name, "creditor": creditor.name, "family": row.name, "quantity": quantity}
    return Done(did, notes=(*handed, *left), record={**record, "left": owed - quantity})


def _debts(connection: sa.Connection, row: Row, debtor: Party, creditor: Party, desk: Desk) -> list[Row]:
    found = [
        each
        for each in open_items.debts(connection, desk.today)
        if (each.family_id, each.debtor_id, each.creditor_id) == (row.id, debtor.id, creditor.id)
    ]
    if not found:
        raise InvalidRecord(
            f"{debtor.name} owes {creditor.name} no {row.name}",
            hint="see: maintain pool owed; a thing lent to come back is closed with: maintain pool return",
        )
    return found


def _hand_over(
    recorder: Recorder, of: Item, quantity: int, made: Settlement, between: tuple[Party, Party], desk: Desk
) -> tuple[str, ...]:
    """Move what pays the debt; of what passes between two members only a tagged part is the records' business."""
    debtor, creditor = between
    if made.with_ is not None:
        if quantity > 1:
            raise InvalidRecord(f"one part does not pay for {quantity}", hint="settle them one at a time")
        return (_hand_over_part(recorder, of, made.with_, between, desk),)
    if of.counted and creditor.id is None:
        bring(recorder, of.family, quantity, debtor.id, desk.today)
    elif of.counted and debtor.id is None:
        stock.take(recorder, of.family, quantity, desk.today, uncounted=False)
        spot = Spot("captain", member_id=creditor.id)
        stock.move(recorder, of.family, quantity, (POOL, spot), desk.today, reason="paid back")
    elif creditor.id is None:
        note = f"paid back by {debtor.name}"
        new = NewPart(of.family.name, origin=made.origin, acquired=When(desk.today), note=note)
        tags = [stock.enter(recorder, new, desk.today).tag for _ in range(quantity)]
        return (f"entered {', '.join(tags)} in the pool: write the tags on them",)
    elif debtor.id is None:
        taken, _ = stock.take_parts(recorder, of, quantity, desk.today, uncounted=False)
        return tuple(_give(recorder, part, creditor, desk) for part in taken)
    return ()


def _hand_over_part(recorder: Recorder, of: Item, text: str, between: tuple[Party, Party], desk: Desk) -> str:
    """The part that pays must be of the family, good, and the debtor's."""
    debtor, creditor = between
    part = find.part(recorder.connection, text)
    if part.family_id != of.family.id:
        raise InvalidRecord(f"{part.tag} is no {of.family.name}", hint="payback is in kind; or settle with --forgiven")
    now = next(reversed(places.of_part(recorder.connection, part.id)), None)
    parts.require_usable(part, now)
    if debtor.id is None:
        stock.require_in_pool(recorder.connection, part)
    elif part.owner_id != debtor.id:
        raise InvalidRecord(
            f"{part.tag} is not {debtor.name}'s", hint="what was lent goes back with: maintain pool return"
        )
    return _give(recorder, part, creditor, desk)


def _give(recorder: Recorder, part: Row, creditor: Party, desk: Desk) -> str:
    """The creditor owns and has it from now on."""
    recorder.update(t.part, part.id, owner_id=creditor.id)
    spot = placements.Spot("pool") if creditor.id is None else placements.Spot("captain", member_id=creditor.id)
    placements.move(recorder, part, spot, Moment(When(desk.today)), reason="working")
    return f"{part.tag} is now {'in the pool' if creditor.id is None else f'with {creditor.name}'}"


def _close(recorder: Recorder, debts: list[Row], quantity: int, desk: Desk) -> None:
    """Close the debts, and the loans they came from as kept."""
    left = quantity
    for debt in debts:
        taken = min(left, debt.quantity)
        if not taken:
            return
        close(recorder, t.debt, debt, taken, settled_on=desk.today)
        loan = sa.select(t.loan).where(t.loan.c.id == debt.loan_id, t.loan.c.closed_on.is_(None))
        row = recorder.connection.execute(loan).one_or_none()
        if row is not None:
            close(recorder, t.loan, row, min(taken, row.quantity), closed_on=desk.today, came_back="kept")
        left -= taken
