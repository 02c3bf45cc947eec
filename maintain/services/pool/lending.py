"""Lending: from the pool or between members, to come back or to be paid back in kind."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Any

import sqlalchemy as sa

from maintain.core.when import When
from maintain.errors import InvalidRecord
from maintain.records import find, ledger, places
from maintain.records import tables as t
from maintain.records.journal import Recorder
from maintain.records.ledger import POOL, Spot
from maintain.results.base import Done
from maintain.services import parts, placements
from maintain.services.parts import NewPart
from maintain.services.placements import Moment
from maintain.services.pool import cautions, stock
from maintain.services.pool.items import THE_POOL, Item, Party, by_when, item, named, party
from maintain.services.unit import Desk, writing

Row = sa.Row[Any]

IN_KIND = "payback in kind"


@dataclass(frozen=True)
class Lending:
    """
    Who lends what to whom, and on which terms.

    Attributes
    ----------
    item : str
        A tag or a family.
    to, lender : str
        Members, or the word pool.
    quantity : int, optional
    ship : str, optional
        Which ship it is for.
    due : When, optional
    terms : str
        A word of the vocabulary.
    uncounted : bool
        It was in the pool, whatever the records hold.
    """

    item: str
    to: str
    lender: str = THE_POOL
    quantity: int | None = None
    ship: str | None = None
    due: When | None = None
    terms: str = "return"
    uncounted: bool = False
    note: str | None = None


@dataclass(frozen=True)
class Loan:
    """What all rows of one lending have in common; no lender or borrower is the pool."""

    lender_id: int | None
    borrower_id: int | None
    ship_id: int | None
    lent_on: date
    terms: str = "return"
    due_on: date | None = None
    note: str | None = None


def open_loan(recorder: Recorder, loan: Loan, family_id: int, quantity: int, part_id: int | None = None) -> int:
    """Write a loan, and the debt if it is to be paid back in kind; returns the loan's id."""
    of = {"family_id": family_id, "quantity": quantity}
    facts = {"terms": loan.terms, "due_on": loan.due_on, "note": loan.note, "lent_on": loan.lent_on}
    loan_id = recorder.insert(
        t.loan,
        part_id=part_id,
        lender_id=loan.lender_id,
        borrower_id=loan.borrower_id,
        ship_id=loan.ship_id,
        **of,
        **facts,
    )
    if loan.terms == IN_KIND:
        parties = {"debtor_id": loan.borrower_id, "creditor_id": loan.lender_id}
        recorder.insert(t.debt, **parties, **of, loan_id=loan_id, since_on=loan.lent_on, due_on=loan.due_on)
    return loan_id


def lend(desk: Desk, wish: Lending) -> Done:
    """Lend a part or pieces; from the pool only what it holds."""
    with writing(desk, "pool lend") as recorder:
        connection = recorder.connection
        of, giver, taker = item(connection, wish.item), party(connection, wish.lender), party(connection, wish.to)
        if giver.id == taker.id:
            raise InvalidRecord(f"{giver.name} can't lend to {giver.name}", hint="name two, with --from and --to")
        number, due = of.pieces(wish.quantity), by_when(wish.due, desk.today, "--due")
        ship = find.ship(connection, wish.ship) if wish.ship else None
        loan = Loan(giver.id, taker.id, ship.id if ship else None, desk.today, wish.terms, due, wish.note)
        if of.counted:
            what, notes = _lend_pieces(recorder, of, wish, loan)
        else:
            what, notes = _lend_parts(recorder, of, wish, loan, giver)
        back = "to be paid back in kind" if wish.terms == IN_KIND else "to come back"
        until = f"{back} by {due}" if due else f"{back}, nobody said when"
        by = "" if giver.id is None else f"{giver.name} "
        did = f"{by}lent {what} to {taker.name}, {until}"
        recorder.summarise(did)
        notes = (*notes, *cautions.of(connection, of.family, of.part, desk.today))
    record = {"family": of.family.name, "lender": giver.name, "borrower": taker.name, "due_on": due}
    return Done(did, notes=notes, record={**record, "quantity": number})


def _lend_pieces(recorder: Recorder, of: Item, wish: Lending, loan: Loan) -> tuple[str, tuple[str, ...]]:
    quantity = of.pieces(wish.quantity)
    notes: tuple[str, ...] = ()
    if loan.lender_id is None:
        notes = stock.take(recorder, of.family, quantity, loan.lent_on, uncounted=wish.uncounted)
    loan_id = open_loan(recorder, loan, of.family.id, quantity)
    if loan.lender_id is None:
        spot = Spot("captain", member_id=loan.borrower_id)
        stock.move(recorder, of.family, quantity, (POOL, spot), loan.lent_on, loan_id=loan_id, reason="lent")
    elif loan.borrower_id is None:
        bring(recorder, of.family, quantity, loan.lender_id, loan.lent_on, loan_id)
    return named(quantity, of.family), notes


def bring(
    recorder: Recorder, family: Row, quantity: int, member_id: int | None, on: date, loan_id: int | None = None
) -> None:
    """A member brings pieces into the pool: what the ledger knows her or him to hold, then bought ones."""
    holder = Spot("captain", member_id=member_id)
    known = min(quantity, ledger.free(recorder.connection, family.id, holder, on))
    for number, giver in ((known, holder), (quantity - known, stock.SUPPLIER)):
        if number:
            stock.move(recorder, family, number, (giver, POOL), on, loan_id=loan_id, reason="brought")


def _lend_parts(recorder: Recorder, of: Item, wish: Lending, loan: Loan, giver: Party) -> tuple[str, tuple[str, ...]]:
    quantity = of.pieces(wish.quantity)
    if giver.id is None:
        taken, notes = stock.take_parts(recorder, of, quantity, loan.lent_on, uncounted=wish.uncounted)
    else:
        taken, notes = [own_part(recorder, of, giver, loan.lent_on) for _ in range(quantity)], ()
    spot = placements.Spot("loan", member_id=loan.borrower_id)
    if loan.borrower_id is None:
        spot = placements.Spot("pool")
    for part in taken:
        placements.move(recorder, part, spot, Moment(When(loan.lent_on)))
        open_loan(recorder, loan, of.family.id, 1, part.id)
    return ", ".join(f"{part.tag} ({of.family.name})" for part in taken), notes


def own_part(recorder: Recorder, of: Item, giver: Party, on: date) -> Row:
    """The member's own part that was named, or one of unknown past entered now."""
    if of.part is None:
        return parts.insert(recorder, NewPart(of.family.name, owner=giver.name), on)
    now = next(reversed(places.of_part(recorder.connection, of.part.id)), None)
    parts.require_usable(of.part, now)
    here = now is not None and now.until_on is None and (now.place, now.member_id) == ("captain", giver.id)
    if of.part.owner_id != giver.id or not here:
        where = "nowhere" if now is None or now.until_on is not None else places.being(now)
        raise InvalidRecord(
            f"{of.part.tag} is not {giver.name}'s to lend: it is {where}", hint="see: maintain part show TAG"
        )
    return of.part
