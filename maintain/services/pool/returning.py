"""Coming back: good to the pool, suspect to quarantine, dead to scrap. Only what was lent can."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import sqlalchemy as sa

from maintain.core.names import quoted
from maintain.errors import InvalidRecord
from maintain.records import ledger, open_items, places
from maintain.records import tables as t
from maintain.records.journal import Recorder
from maintain.records.ledger import POOL, QUARANTINE, Spot
from maintain.results.base import Done
from maintain.services import failures, open_failures, placements, pulls
from maintain.services.failures import Symptoms
from maintain.services.placements import Timing
from maintain.services.pool import stock
from maintain.services.pool.closing import close
from maintain.services.pool.items import Item, at_least_one, item, named, party
from maintain.services.unit import Desk, writing
from maintain.vocabulary import DEMAND_TEST, MEASURES

Row = sa.Row[Any]

_PLACE = {"good": "pool", "suspect": "suspect", "dead": "scrapped"}
_STOCK = {"good": POOL, "suspect": QUARANTINE, "dead": stock.SCRAP}


@dataclass(frozen=True)
class Return:
    """
    What comes back, and how.

    Attributes
    ----------
    item : str
        A tag, or a family.
    condition : str
        "good", "suspect" or "dead".
    quantity : int, optional
        Of counted stock; None: all of the one loan.
    borrower : str, optional
        Who brings it, where several have some.
    symptoms : Symptoms
        What it did, if it is not good.
    tested : bool
        A good one passed a test on coming back.
    owed : bool
        A dead one is to be replaced by the borrower.
    """

    item: str
    condition: str
    symptoms: Symptoms
    quantity: int | None = None
    borrower: str | None = None
    tested: bool = False
    owed: bool = False


def take_back(desk: Desk, back: Return) -> Done:
    """Close a loan and put what came back where its condition sends it."""
    _require_sense(back)
    with writing(desk, "pool return") as recorder:
        of = item(recorder.connection, back.item)
        loans = _loans(recorder.connection, of, back, desk)
        settle = _pieces if of.counted else _part
        what, notes = settle(recorder, of, loans, back, desk)
        did = f"{what} came back {back.condition} from {loans[0].borrower or 'the pool'}"
        recorder.summarise(did)
    return Done(did, notes=notes, record={"family": of.family.name, "condition": back.condition})


def _require_sense(back: Return) -> None:
    if back.tested and back.condition != "good":
        raise InvalidRecord(f"{back.condition} is no passed test", hint="leave out --tested")
    if back.owed and back.condition != "dead":
        raise InvalidRecord("only what died is owed again", hint="leave out --owed")


def _loans(connection: sa.Connection, of: Item, back: Return, desk: Desk) -> list[Row]:
    """The open loans meant, the oldest first."""
    found = [row for row in open_items.loans(connection, desk.today) if row.family_id == of.family.id]
    if of.part is not None:
        found = [row for row in found if row.part_id == of.part.id]
    by = ""
    if back.borrower is not None:
        borrower = party(connection, back.borrower)
        found, by = [row for row in found if row.borrower_id == borrower.id], f" to {borrower.name}"
    if found:
        return found
    what = of.part.tag if of.part is not None else f"no {of.family.name}"
    lent = "is not on loan" if of.part is not None else "is on loan"
    raise InvalidRecord(
        f"{what} {lent}{by}", hint="see: maintain pool owed; a part nobody lent goes back with: maintain part pull"
    )


def _pieces(recorder: Recorder, of: Item, loans: list[Row], back: Return, desk: Desk) -> tuple[str, tuple[str, ...]]:
    """Counted stock: across the loans, the oldest first."""
    lent = sum(row.quantity for row in loans)
    if back.quantity is None and len(loans) > 1:
        raise InvalidRecord(f"{lent} {of.family.name} are out in {len(loans)} loans", hint="say how many came back")
    quantity = lent if back.quantity is None else at_least_one(back.quantity)
    if quantity > lent:
        raise InvalidRecord(
            f"{lent} {of.family.name} are on loan, not {quantity}", hint="see who has some: maintain pool owed"
        )
    left = quantity
    for loan in loans:
        taken = min(left, loan.quantity)
        if taken:
            _move_back(recorder, of.family, loan, taken, back, desk)
            _close(recorder, loan, taken, back, desk)
            left -= taken
    return named(quantity, of.family), ()


def _move_back(recorder: Recorder, family: Row, loan: Row, taken: int, back: Return, desk: Desk) -> None:
    """The ledger's part of it: between two members nothing of the club's moves."""
    taker = _STOCK[back.condition]
    facts = {"loan_id": loan.id, "reason": f"came back {back.condition}"}
    if loan.lender_id is None:
        holder = Spot("captain", member_id=loan.borrower_id)
        known = min(taken, ledger.free(recorder.connection, family.id, holder, desk.today))
        for number, giver in ((known, holder), (taken - known, stock.SUPPLIER)):
            if number:
                stock.move(recorder, family, number, (giver, taker), desk.today, **facts)
    elif loan.borrower_id is None:
        stock.take(recorder, family, taken, desk.today, uncounted=False)
        owner = Spot("captain", member_id=loan.lender_id) if back.condition != "dead" else stock.SCRAP
        stock.move(recorder, family, taken, (POOL, owner), desk.today, **facts)


def _part(recorder: Recorder, of: Item, loans: list[Row], back: Return, desk: Desk) -> tuple[str, tuple[str, ...]]:
    """A tagged part: out of wherever it is."""
    if len(loans) > 1:
        out = ", ".join(f"{row.tag} to {row.borrower or 'the pool'}" for row in loans)
        raise InvalidRecord(f"several {of.family.name} are on loan: {out}", hint="name the tag")
    (loan,) = loans
    if loan.part_id is None:
        raise InvalidRecord(f"the loan of {of.family.name} names no tag", hint="mend it by import")
    of.pieces(back.quantity)
    part = recorder.connection.execute(sa.select(t.part).where(t.part.c.id == loan.part_id)).one()
    notes = _put_away(recorder, part, loan, back, desk)
    _close(recorder, loan, 1, back, desk)
    return f"{part.tag} ({of.family.name})", notes


def _put_away(recorder: Recorder, part: Row, loan: Row, back: Return, desk: Desk) -> tuple[str, ...]:
    connection = recorder.connection
    now = places.of_part(connection, part.id)[-1]
    if now.until_on is None and now.place in ("scrapped", "suspect", "lost"):
        return (f"it is {now.place} since {placements.start_of(now)} and stays there",)
    moment = placements.leaving_moment(connection, now.ship_id, Timing(), desk.today)
    if back.condition == "dead":
        known = open_failures.aboard(connection, part, desk.today)
        if known is None:
            failures.insert(recorder, part, moment, back.symptoms)
        else:  # on record before it came back: what it did stands there
            open_failures.complete(recorder, known, replace(back.symptoms, mode=known.row.mode))
    spot = placements.Spot(_PLACE[back.condition])
    if back.condition == "good" and loan.lender_id is not None:
        spot = placements.Spot("captain", member_id=loan.lender_id)
    reason = {"good": "working", "suspect": "suspect", "dead": "failed"}[back.condition]
    closed: tuple[str, ...] = ()
    if now.until_on is not None or (now.place, now.position_id, now.member_id) != spot:
        moment, closed = placements.move(recorder, part, spot, moment, reason=reason)
    if back.condition == "suspect":
        pulls.open_suspicion(recorder, part, moment.when.on, back.symptoms.mode, back.symptoms.note)
        return (*closed, f"in quarantine: test it, then: maintain retest {quoted(part.tag)} pass (or fail)")
    if back.condition == "good":
        return (*closed, *_tested(recorder, part, back, desk))
    return closed


def _tested(recorder: Recorder, part: Row, back: Return, desk: Desk) -> tuple[str, ...]:
    if not back.tested:
        return (f"untested: before it goes out again: maintain reading add {quoted(part.tag)} 'demand test' 1",)
    facts = {"measure": DEMAND_TEST, "value": 1.0, "unit": MEASURES[DEMAND_TEST], "taken_on": desk.today}
    recorder.insert(t.reading, part_id=part.id, position_id=None, **facts)
    return ()


def _close(recorder: Recorder, loan: Row, taken: int, back: Return, desk: Desk) -> None:
    """Close the loan; with the thing itself back in order nothing is owed for it, and what died may be."""
    close(recorder, t.loan, loan, taken, closed_on=desk.today, came_back=back.condition)
    debts = [row for row in open_items.debts(recorder.connection, desk.today) if row.loan_id == loan.id]
    if back.condition == "good":
        left = taken
        for debt in debts:
            paid = min(left, debt.quantity)
            if paid:
                close(recorder, t.debt, debt, paid, settled_on=desk.today, note="the thing itself came back")
                left -= paid
    elif back.owed and not debts:
        owed = {"debtor_id": loan.borrower_id, "creditor_id": loan.lender_id, "family_id": loan.family_id}
        recorder.insert(
            t.debt, **owed, quantity=taken, loan_id=loan.id, since_on=desk.today, note="died while borrowed"
        )
