"""Sorties of a hand-over against those on record: two captains may have logged one sinking.

A sortie is known by its ship, day and number. A sinking is also known by its time: a ship that sank cannot sink again
within TWENTY_MINUTES, so two sinkings of one ship that close together are one, whatever numbers the phones gave them.
Anything else in which the records and the phone differ is a conflict, and somebody is asked.
"""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import sqlalchemy as sa

from maintain.core.wording import whose
from maintain.exchange.handover import Handover, Tap
from maintain.records import tables as t
from maintain.services.handover.boxes import plan_box
from maintain.services.handover.clock import TWENTY_MINUTES
from maintain.services.handover.heard import added, heard, mark, names, times
from maintain.services.handover.plan import Conflict, Plan, Step
from maintain.vocabulary import SUNK, WETNESS

Row = sa.Row[Any]


def plan_trips(
    connection: sa.Connection,
    phone: Handover,
    aboard: dict[str, Row],
    battle: Row,
    plan: Plan,
    *,
    ahead: timedelta | None,
) -> None:
    """
    Settle what each sortie of a hand-over comes to.

    `aboard` are the ships found, by the uid the page gave; `ahead` is how much later the clocks of other phones stand,
    None if times can't be compared.
    """
    taken: set[int] = set()
    new: dict[tuple[int, date, int], Tap] = {}
    for tap in phone.sorties:
        ship = aboard.get(tap.ship.uid)
        if ship is None:
            continue
        recorded = _recorded(connection, ship.id, tap)
        if tap.undone:
            _undone(tap, ship, recorded, phone, plan)
            continue
        told = next((row for row in recorded if heard(row.note, tap, phone)), None)
        if told is not None:
            plan.known += 1
            taken.add(told.id)
            continue
        row = _same(tap, recorded, taken, ahead)
        if row is None:
            first = new.setdefault((ship.id, tap.day, tap.sortie), tap)
            if first is not tap:
                plan.faults.append(_twice(first, tap, ship))
                continue
            plan.sorties.append(_new(tap, ship, battle, phone))
        else:
            taken.add(row.id)
            _compare(tap, ship, row, phone, plan)
        plan_box(connection, tap, ship, row, phone, plan)


def outcome(wetness: str | None) -> str:
    """A wetness in the pond's words."""
    return "sailed, wetness unknown" if wetness is None else f"{WETNESS[wetness].partition(',')[0]} ({wetness})"


def _recorded(connection: sa.Connection, ship_id: int, tap: Tap) -> list[Row]:
    same = (t.sortie.c.ship_id == ship_id, t.sortie.c.sailed_on == tap.day)
    return list(connection.execute(sa.select(t.sortie).where(*same).order_by(t.sortie.c.number)))


def _same(tap: Tap, recorded: list[Row], taken: set[int], ahead: timedelta | None) -> Row | None:
    numbered = next((row for row in recorded if row.number == tap.sortie), None)
    if tap.wetness in SUNK and ahead is not None and not (numbered is not None and numbered.ending == "sank"):
        sunk = [row for row in recorded if row.ending == "sank" and row.id not in taken]
        at = tap.at + ahead
        close = [row for row in sunk if any(abs(at - time) <= TWENTY_MINUTES for time in times(row.note))]
        if close:
            return close[0]
    return numbered


def _new(tap: Tap, ship: Row, battle: Row, phone: Handover) -> Step:
    values = {
        "battle_id": battle.id,
        "ship_id": ship.id,
        "sailed_on": tap.day,
        "number": tap.sortie,
        "note": mark(tap, phone),
        **_facts(tap),
    }
    return Step(f"{_named(tap, ship)}: {outcome(tap.wetness)}", "new", None, values)


def _twice(first: Tap, second: Tap, ship: Row) -> str:
    said = " and ".join(f"{_in_words(tap.wetness, tap.cause)}, tapped at {tap.at:%H:%M}" for tap in (first, second))
    return f"{_named(first, ship)}: stands in this file twice: {said} (undo the wrong one on the phone, save it again)"


def _facts(tap: Tap) -> dict[str, Any]:
    sank = tap.wetness in SUNK
    return {"wetness": tap.wetness, "ending": "sank" if sank else None, "sinking_cause": tap.cause, **_under(tap)}


def _under(tap: Tap) -> dict[str, Any]:
    return {} if tap.minutes_under is None else {"minutes_under": tap.minutes_under}


def _named(tap: Tap, ship: Row) -> str:
    return f"{ship.name}, sortie {tap.sortie} of {tap.day}"


def _compare(tap: Tap, ship: Row, row: Row, phone: Handover, plan: Plan) -> None:
    note = added(row.note, mark(tap, phone))
    filled = _filled(tap, row)
    if filled is None:
        plan.conflicts.append(_conflict(tap, ship, row, phone, note))
        return
    other = "" if row.number == tap.sortie else f"; the same sinking is recorded as sortie {row.number}"
    by = f" (by {', '.join(names(row.note))})" if names(row.note) else ""
    told = f"{_named(tap, ship)}: {outcome(tap.wetness)}, recorded already{by}{other}"
    if tap.minutes_under not in (None, row.minutes_under) and "minutes_under" not in filled:
        said = f"{tap.minutes_under:g} min under"
        told, note = f"{told}; {row.minutes_under:g} min under stays", f"{note} (who said {said})"
    plan.sorties.append(Step(told, "merged", row.id, {**filled, "note": note}))


def _filled(tap: Tap, row: Row) -> dict[str, Any] | None:
    """What the tap adds to the recorded row where that says nothing; None if the two contradict each other."""
    if row.wetness is None:
        if row.ending is not None and tap.wetness in SUNK:
            return None  # she came back by recall or on the timer, and is said to have sunk
        return {key: value for key, value in _facts(tap).items() if value is not None}
    if tap.wetness is None:
        return {}
    if tap.wetness != row.wetness:
        return None
    if "unknown" in (tap.cause, row.sinking_cause) or tap.cause == row.sinking_cause:
        known = tap.cause not in (None, "unknown")
        cause = {"sinking_cause": tap.cause} if known and row.sinking_cause == "unknown" else {}
        return {**cause, **(_under(tap) if row.minutes_under is None else {})}
    return None


def _conflict(tap: Tap, ship: Row, row: Row, phone: Handover, note: str) -> Conflict:
    by = tuple(names(row.note))
    recorded = f"recorded as {_in_words(row.wetness, row.sinking_cause)}" + (f" by {', '.join(by)}" if by else "")
    says = f"{phone.name} says {_in_words(tap.wetness, tap.cause)}"
    if row.number != tap.sortie:
        says += f", as sortie {tap.sortie}, within twenty minutes: one sinking"
    told = f"{ship.name}, sortie {row.number} of {row.sailed_on}: {recorded}, but {says}"
    ending = "sank" if tap.wetness in SUNK else (None if row.ending == "sank" else row.ending)
    theirs = {**_facts(tap), "ending": ending, "sinking_system": None, "note": note}
    if tap.wetness != row.wetness:
        theirs["minutes_under"] = tap.minutes_under
    return Conflict(told, row.id, by, theirs, {"note": f"{note} (who said {outcome(tap.wetness)})"})


def _in_words(wetness: str | None, cause: str | None) -> str:
    return outcome(wetness) + (f" for {cause}" if cause not in (None, "unknown") else "")


def _undone(tap: Tap, ship: Row, recorded: list[Row], phone: Handover, plan: Plan) -> None:
    """A tap taken back after it had been handed over: the records stay until somebody corrects them."""
    row = next((row for row in recorded if row.number == tap.sortie and phone.device[:6] in (row.note or "")), None)
    if row is not None:
        plan.notes.append(
            f"{whose(ship.name)} sortie {tap.sortie} of {tap.day} was undone on {phone.name} after it had been handed "
            f"over; it stays on record: correct it with maintain sortie correct"
        )
