"""The spare that goes in where a part failed: out of the pool, borrowed, or one that was named."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Any

import sqlalchemy as sa

from maintain.core.names import quoted
from maintain.core.wording import whose
from maintain.errors import InvalidRecord, NotFound
from maintain.records import find, places
from maintain.records import tables as t
from maintain.records.journal import Recorder
from maintain.services import parts
from maintain.services.parts import NewPart
from maintain.services.placements import Moment
from maintain.services.pool import cautions, stale, stock
from maintain.services.pool.items import Item, Party, family, item, tagged
from maintain.services.pool.lending import Loan, open_loan, own_part

Row = sa.Row[Any]
Issued = tuple[Row, str, tuple[str, ...]]  # the part, where it came from, what to mind


@dataclass(frozen=True)
class Spare:
    """
    Where the spare comes from.

    Attributes
    ----------
    part : str, optional
        The tag of the spare; None: the oldest fitting part of the pool, or with a lender a tag made for it.
    lender : str, optional
        A member who lends a part, in the records or not.
    family : str, optional
        Of a part entered now; None: the failed part's.
    terms : str, optional
        What the lender expects; of the pool only if it lends rather than gives.
    anyway : bool
        It fits after rework.
    uncounted : bool
        The pool had one, whatever the records hold.
    """

    part: str | None = None
    lender: str | None = None
    family: str | None = None
    terms: str | None = None
    anyway: bool = False
    uncounted: bool = False


def issue(recorder: Recorder, position: Row, dead: Row, spare: Spare, moment: Moment) -> Issued:
    """Find the spare and write what it takes to have it: the part, a loan, a debt, a discrepancy."""
    if spare.lender:
        return _borrow(recorder, position, dead, spare, moment)
    if spare.part:
        return _named(recorder, position, spare, moment)
    return _from_pool(recorder, position, dead, spare, moment)


def _from_pool(recorder: Recorder, position: Row, dead: Row, spare: Spare, moment: Moment) -> Issued:
    connection = recorder.connection
    own = _family(connection, dead, spare)
    fits = places.fitting_families(connection, position.id) or {own.id: own.name}
    on = moment.when.on
    in_pool = stale.fresh_first(connection, places.in_pool(connection, list(fits), on), on)
    notes: tuple[str, ...] = ()
    if in_pool:
        new = in_pool[0]
        notes = stale.cautions(connection, [new], on)
    elif spare.uncounted:
        (new,), notes = stock.take_parts(recorder, Item(own), 1, on, uncounted=True)
        if not spare.anyway:
            parts.require_fit(connection, new, position)
    else:
        raise _none_fits(connection, position, fits, moment)
    source = "from the pool"
    if spare.terms:
        captain_id = _captain(connection, position)
        if captain_id is None:
            raise InvalidRecord(f"{position.ship} has no captain to lend to", hint="leave out --terms")
        loan = Loan(None, captain_id, position.ship_id, on, spare.terms)
        open_loan(recorder, loan, new.family_id, 1, new.id)
        source = f"lent by the pool ({spare.terms})"
    row = connection.execute(sa.select(t.family).where(t.family.c.id == new.family_id)).one()
    return new, source, (*notes, *cautions.of(connection, row, new, on))


def _named(recorder: Recorder, position: Row, spare: Spare, moment: Moment) -> Issued:
    connection = recorder.connection
    new = find.part(connection, spare.part or "")
    now = next(reversed(places.of_part(connection, new.id)), None)
    parts.require_usable(new, now)
    if not spare.anyway:
        parts.require_fit(connection, new, position)
    source = "" if now is None or now.until_on is not None else _source(now)
    return new, source.strip(), stale.cautions(connection, [new], moment.when.on)


def _source(now: Row) -> str:
    if now.place == "installed":
        return f"out of {places.spoken(now)}"
    return "from the pool" if now.place == "pool" else f"from {now.member}"


def _family(connection: sa.Connection, dead: Row, spare: Spare) -> Row:
    if spare.family is not None:
        return family(connection, spare.family)
    return connection.execute(sa.select(t.family).where(t.family.c.id == dead.family_id)).one()


def _captain(connection: sa.Connection, position: Row) -> int | None:
    return connection.execute(sa.select(t.ship.c.captain_id).where(t.ship.c.id == position.ship_id)).scalar()


def _none_fits(connection: sa.Connection, position: Row, fits: dict[int, str], moment: Moment) -> NotFound:
    elsewhere = [f"{row.member} has {row.tag}" for row in places.held_elsewhere(connection, list(fits))]
    holders = f"; {', '.join(elsewhere[:5])}" if elsewhere else "; nobody is recorded to hold one"
    wanted = f"{position.ship}/{position.name} ({' or '.join(fits.values())})"
    return NotFound(
        f"on {moment.when} the pool held nothing that fits {wanted}{holders}",
        hint="name the spare --with TAG, borrow one --borrowed-from MEMBER, take one the records lack with "
        "--uncounted, or record only: maintain failure log",
    )


def _borrow(recorder: Recorder, position: Row, dead: Row, spare: Spare, moment: Moment) -> Issued:
    """Find the part that a member lends to the ship's captain, or enter it as of unknown past; and what is owed."""
    connection = recorder.connection
    lender = find.member(connection, spare.lender or "")
    captain_id = _captain(connection, position)
    if captain_id == lender.id:
        raise InvalidRecord(
            f"{lender.name} is {whose(position.ship)} captain and can't lend to herself or himself",
            hint=f"enter the part with: maintain part add --owner {quoted(lender.name)}, then swap --with its tag",
        )
    on, terms = moment.when.on, spare.terms or "return"
    new = _lent(recorder, _family(connection, dead, spare), (lender, spare.part), on)
    row = connection.execute(sa.select(t.family).where(t.family.c.id == new.family_id)).one()
    if not spare.anyway:
        parts.require_fit(connection, new, position)
    open_loan(recorder, Loan(lender.id, captain_id, position.ship_id, on, terms), new.family_id, 1, new.id)
    return new, f"borrowed from {lender.name} ({terms})", cautions.of(connection, row, new, on)


def _lent(recorder: Recorder, family: Row, lent: tuple[Row, str | None], on: date) -> Row:
    """The lender's own part with that tag; a part unknown to the records is entered, under that tag if one is given."""
    (lender, tag), connection = lent, recorder.connection
    if tag is not None and tagged(connection, tag) is not None:
        return own_part(recorder, item(connection, tag), Party(lender.id, lender.name), on)
    return parts.insert(recorder, NewPart(family=family.name, owner=lender.name, tag=tag), on)
