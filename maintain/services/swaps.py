"""Swap: a part failed and a spare went in, recorded in one go."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import sqlalchemy as sa

from maintain.core.names import quoted
from maintain.core.wording import whose
from maintain.errors import InvalidRecord, NotFound
from maintain.records import find, places
from maintain.records import tables as t
from maintain.records.journal import Recorder
from maintain.results.base import Done
from maintain.services import failures, parts, placements
from maintain.services.failures import Symptoms
from maintain.services.placements import Moment, Spot, Timing
from maintain.services.pulls import open_suspicion
from maintain.services.unit import Desk, reading, writing

Row = sa.Row[Any]


@dataclass(frozen=True)
class Spare:
    """
    Where the spare comes from.

    Attributes
    ----------
    part : str, optional
        The tag of the spare; None: the oldest fitting part of the pool.
    lender : str, optional
        A member who lends a part not yet in the records.
    family : str, optional
        Of the borrowed part; None: the failed part's.
    terms : str
        What the lender expects.
    anyway : bool
        It fits after rework.
    """

    part: str | None = None
    lender: str | None = None
    family: str | None = None
    terms: str = "return"
    anyway: bool = False


def look_up(desk: Desk, where: str) -> None:
    """Refuse a position that isn't there or holds no part, before anybody is asked how the part failed."""
    with reading(desk) as connection:
        parts.require_in_service(connection, find.position(connection, where))
        find.part(connection, where)


def swap(desk: Desk, *, where: str, symptoms: Symptoms, spare: Spare, timing: Timing, to: str) -> Done:
    """Log the failure, put the dead part away, issue the spare and fit it: all or nothing."""
    if spare.part and spare.lender:
        raise InvalidRecord("the spare is either --with a part or --borrowed-from a member", hint="give one of them")
    with writing(desk, "swap") as recorder:
        connection = recorder.connection
        position = find.position(connection, where)
        parts.require_in_service(connection, position)
        dead = find.part(connection, where)
        moment = placements.leaving_moment(connection, position.ship_id, timing, desk.today)
        found = failures.insert(recorder, dead, moment, symptoms)
        reason = "suspect" if to == "suspect" else "failed"
        moment, closed = placements.move(recorder, dead, Spot(to), moment, reason=reason)
        if to == "suspect":
            open_suspicion(recorder, dead, moment.when.on, symptoms.mode, symptoms.note)
        new, source = _issue(recorder, position, dead, spare, moment)
        # a spare that came to the pool later that day, from another ship, is still the one that went in
        arrives = Moment(moment.when, moment.sortie)
        _, moved = placements.move(recorder, new, Spot("installed", position_id=position.id), arrives)
        when = f"after sortie {moment.sortie}" if moment.sortie else f"on {moment.when}"
        did = f"{found.where}: {failures.told(dead, symptoms)} {when}; fitted {new.tag} {source}"
        recorder.summarise(did)
    record = {"failed": dead.tag, "fitted": new.tag, "failure": found.number, "found": moment.when.on, "place": to}
    notes = (f"{dead.tag} is now {to}", *failures.battle_damage_note(symptoms))
    return Done(did, closed=(*closed, *moved), notes=notes, record=record)


def _issue(recorder: Recorder, position: Row, dead: Row, spare: Spare, moment: Moment) -> tuple[Row, str]:
    """The spare, and how to say where it came from."""
    connection = recorder.connection
    if spare.lender:
        return _borrow(recorder, position, dead, spare, moment)
    if spare.part is None:
        fits = places.fitting_families(connection, position.id) or _family_of(connection, dead)
        in_pool = places.in_pool(connection, list(fits), moment.when.on)
        if not in_pool:
            raise _none_fits(connection, position, fits, moment)
        return in_pool[0], "from the pool"
    new = find.part(connection, spare.part)
    now = next(reversed(places.of_part(connection, new.id)), None)
    parts.require_usable(new, now)
    if not spare.anyway:
        parts.require_fit(connection, new, position)
    source = "" if now is None or now.until_on is not None else _source(now)
    return new, source.strip()


def _source(now: Row) -> str:
    if now.place == "installed":
        return f"out of {places.spoken(now)}"
    return "from the pool" if now.place == "pool" else f"from {now.member}"


def _family_of(connection: sa.Connection, part: Row) -> dict[int, str]:
    name = connection.execute(sa.select(t.family.c.name).where(t.family.c.id == part.family_id)).scalar_one()
    return {part.family_id: name}


def _none_fits(connection: sa.Connection, position: Row, fits: dict[int, str], moment: Moment) -> NotFound:
    elsewhere = [f"{row.member} has {row.tag}" for row in places.held_elsewhere(connection, list(fits))]
    holders = f"; {', '.join(elsewhere[:5])}" if elsewhere else "; nobody is recorded to hold one"
    wanted = f"{position.ship}/{position.name} ({' or '.join(fits.values())})"
    return NotFound(
        f"on {moment.when} the pool held nothing that fits {wanted}{holders}",
        hint="name the spare --with TAG, borrow one --borrowed-from MEMBER, or record only: maintain failure log",
    )


def _borrow(recorder: Recorder, position: Row, dead: Row, spare: Spare, moment: Moment) -> tuple[Row, str]:
    """Enter a part of unknown past that a member lends to the ship's captain, and what is owed for it."""
    connection = recorder.connection
    lender = find.member(connection, spare.lender or "")
    captain_id = connection.execute(sa.select(t.ship.c.captain_id).where(t.ship.c.id == position.ship_id)).scalar()
    if captain_id == lender.id:
        raise InvalidRecord(
            f"{lender.name} is {whose(position.ship)} captain and can't lend to herself or himself",
            hint=f"enter the part with: maintain part add --owner {quoted(lender.name)}, then swap --with its tag",
        )
    family = spare.family or next(iter(_family_of(connection, dead).values()))
    on = moment.when.on
    new = parts.insert(recorder, parts.NewPart(family=family, owner=lender.name), on)
    if not spare.anyway:
        parts.require_fit(connection, new, position)
    loan_id = recorder.insert(
        t.loan,
        part_id=new.id,
        family_id=new.family_id,
        quantity=1,
        lender_id=lender.id,
        borrower_id=captain_id,
        ship_id=position.ship_id,
        lent_on=on,
        terms=spare.terms,
    )
    if spare.terms == "payback in kind":
        owed = {"debtor_id": captain_id, "creditor_id": lender.id, "family_id": new.family_id, "quantity": 1}
        recorder.insert(t.debt, **owed, loan_id=loan_id, since_on=on)
    return new, f"borrowed from {lender.name} ({spare.terms})"
