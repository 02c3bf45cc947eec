"""What captains tapped of parts, as failures or doubts.

The rule: what is tapped of one part on one day is one record. If any of it says that the part stopped doing its job
(STOPPED), it is a failure found in battle, of unknown cause; else the part is suspect and awaits a retest. Either way
it stays where it is until somebody says what was done with it. A part that stopped fails once where it is fitted: what
is tapped of it on another day, or was recorded when it came out, is the same failure, unless something showed that it
worked in between. "operator" is nobody's failure, and, like what is tapped of a position without a part on record, goes
into the note of the sortie.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import sqlalchemy as sa

from maintain.core.names import quoted
from maintain.core.when import When
from maintain.exchange.handover import Handover, Tap
from maintain.records import evidence, find, places
from maintain.records import tables as t
from maintain.records.journal import Recorder
from maintain.services import failures, open_failures
from maintain.services.failures import Symptoms
from maintain.services.handover.heard import added, heard, mark
from maintain.services.handover.plan import Plan
from maintain.services.placements import Moment

Row = sa.Row[Any]

STOPPED = (
    "dead",
    "just died",
    "broken",
    "came off",
    "jams",
    "hard over",
    "won't prime",
    "won't hold charge",
    "no signal",
)
_NOT_A_PART = "operator"


@dataclass(frozen=True)
class Trouble:
    """What was tapped of one part on one day, or of one sortie that no part answers for."""

    told: str
    kind: str
    taps: tuple[Tap, ...]
    said: tuple[str, ...]
    ship: Row
    part: Row | None = None
    table: sa.Table | None = None
    row: Row | None = None

    @property
    def first(self) -> Tap:
        """The tap that decides what is recorded: the first that says the part stopped, else the first."""
        return next((tap for tap in self.taps if tap.mode in STOPPED), self.taps[0])


@dataclass(frozen=True)
class Aboard:
    """A part, its stay in the position that was tapped, the ship, and how the place is told."""

    part: Row
    stay: Row
    ship: Row
    spot: str


def plan_symptoms(connection: sa.Connection, phone: Handover, aboard: dict[str, Row], plan: Plan) -> None:
    """Settle what the symptoms of a hand-over come to; `aboard` are the ships found, by the uid the page gave."""
    of_parts: dict[tuple[int, Any], list[Tap]] = {}
    parts: dict[int, Aboard] = {}
    for tap in phone.symptoms:
        ship = aboard.get(tap.ship.uid)
        if ship is None:
            continue
        there = _aboard(connection, ship, tap)
        if tap.undone:
            _undone(connection, tap, there, phone, plan)
        elif there is None or tap.mode == _NOT_A_PART:
            _to_sortie(connection, tap, ship, phone, plan)
        else:
            _say_if_unlogged(connection, tap, ship, phone, plan)
            parts[there.stay.id] = there
            of_parts.setdefault((there.stay.id, tap.day), []).append(tap)
    for (stay_id, _), taps in of_parts.items():
        _to_part(connection, taps, parts[stay_id], phone, plan)


def _say_if_unlogged(connection: sa.Connection, tap: Tap, ship: Row, phone: Handover, plan: Plan) -> None:
    """The sortie may be on a phone still to come, or the number a slip; a life ends with it either way."""
    if tap.sortie == 0 or _sortie(connection, ship.id, tap) is not None or _logs(phone, tap):
        return
    plan.notes.append(
        f"{ship.name}/{tap.position}: {tap.mode} after sortie {tap.sortie} of {tap.day}, which nobody logged: log it, "
        f"take in the phone that did, or put the failure right with maintain failure correct --after-sortie"
    )


def _logs(phone: Handover, tap: Tap) -> bool:
    """Whether a hand-over itself logs the sortie that a symptom was seen after."""
    return any((each.ship, each.day, each.sortie) == (tap.ship, tap.day, tap.sortie) for each in phone.sorties)


def _undone(connection: sa.Connection, tap: Tap, there: Aboard | None, phone: Handover, plan: Plan) -> None:
    """A tap taken back after it had been handed over: what it came to stays until somebody settles it."""
    if there is not None and any(heard(note, tap, phone) for note in _notes(connection, there.part)):
        plan.notes.append(
            f"{there.spot}: {tap.mode} of {tap.day} was undone on {phone.name} after it had been handed over; it stays "
            f"on record: try the part, and settle a doubt with maintain retest {quoted(there.part.tag)}"
        )


def _aboard(connection: sa.Connection, ship: Row, tap: Tap) -> Aboard | None:
    """The part that was aboard in that sortie: one fitted after it did not do it."""
    names = list(connection.execute(sa.select(t.position.c.name).where(t.position.c.ship_id == ship.id)).scalars())
    name = next((each for each in names if each.lower() == (tap.position or "").lower()), None)
    if name is None:
        return None
    position = find.position(connection, f"{ship.name}/{name}")
    moment = (tap.day, tap.sortie)
    held = [
        row
        for row in places.of_position(connection, position.id)
        if (row.from_on, row.from_sortie) <= moment
        and (row.until_on is None or moment <= (row.until_on, row.until_sortie))
    ]
    if not held:
        return None
    earliest = held[0]  # at the turn, the one that went out rather than the one that came in
    part = connection.execute(sa.select(t.part).where(t.part.c.id == earliest.part_id)).one()
    return Aboard(part, earliest, ship, f"{ship.name}/{tap.position}")


def _to_part(connection: sa.Connection, taps: list[Tap], there: Aboard, phone: Handover, plan: Plan) -> None:
    notes = _notes(connection, there.part)
    fresh = [tap for tap in taps if not any(heard(note, tap, phone) for note in notes)]
    plan.known += len(taps) - len(fresh)
    if not fresh:
        return
    found = _on_record(connection, there, taps[0])
    said = tuple(f"{tap.mode} ({mark(tap, phone)})" for tap in fresh)
    told = f"{there.spot}, {there.part.tag}: {', '.join(dict.fromkeys(str(tap.mode) for tap in fresh))}"
    stopped = any(tap.mode in STOPPED for tap in fresh)
    if found and (found[0][0] is t.failure or not stopped):
        _joins(Trouble(told, "merged", tuple(fresh), said, there.ship, there.part, *found[0]), plan)
        return
    table = t.failure if stopped else t.suspicion
    trouble = Trouble(told, "new", tuple(fresh), said, there.ship, there.part, table)
    if not _same_as_before(connection, trouble, there, plan):
        _anew(trouble, there, plan)


def _joins(trouble: Trouble, plan: Plan) -> None:
    """What was tapped goes into the note of a record that tells of the same."""
    assert trouble.row is not None
    row, day = trouble.row, trouble.first.day
    what = "failure" if trouble.table is t.failure else "doubt"
    told = f"{trouble.told}; joins the {what} on record ({row.mode})"
    plan.symptoms.append(replace(trouble, told=told))
    if trouble.table is t.failure and day < row.found_on:
        plan.notes.append(
            f"failure No. {row.id} is on record as found on {row.found_on}; if it failed on {day}: maintain failure "
            f"correct {row.id} --found {day} --after-sortie {trouble.first.sortie}"
        )


def _same_as_before(connection: sa.Connection, trouble: Trouble, there: Aboard, plan: Plan) -> bool:
    """Add what was tapped to the failure that the same hand-over tells of a day before; False if it tells of none."""
    for place, before in enumerate(plan.symptoms):
        if before.kind == "new" and before.table is t.failure and before.part.id == there.part.id:
            days = (before.first.day, trouble.first.day)
            if not evidence.worked_between(connection, there.part.id, there.stay.position_id, days):
                told = f"{before.told}; {trouble.told.partition(': ')[2]} on {trouble.first.day}, the same failure"
                taps, said = before.taps + trouble.taps, before.said + trouble.said
                plan.symptoms[place] = replace(before, told=told, taps=taps, said=said)
                return True
    return False


def _anew(trouble: Trouble, there: Aboard, plan: Plan) -> None:
    stopped = trouble.table is t.failure
    told = f"{trouble.told}; " + ("a failure, found in battle" if stopped else "suspect, awaits a retest")
    plan.symptoms.append(replace(trouble, told=told))
    again = (
        f"its failure is on record: maintain swap {quoted(there.spot)}, or, without a spare, maintain part pull"
        if stopped
        else "maintain retest"
    )
    plan.notes.append(
        f"{there.spot}: {there.part.tag} is still fitted; {again} {quoted(there.part.tag)}" + " --to scrapped" * stopped
    )


def _notes(connection: sa.Connection, part: Row) -> list[str]:
    """What every failure and doubt of a part keeps of taps, whatever was corrected since."""
    notes = [sa.select(each.c.note).where(each.c.part_id == part.id) for each in (t.failure, t.suspicion)]
    return [note for note in connection.execute(sa.union_all(*notes)).scalars() if note]


def _on_record(connection: sa.Connection, there: Aboard, tap: Tap) -> list[tuple[sa.Table, Row]]:
    """The part's failures in that place, as far as this may be the same; then doubts that were open that day."""
    part = there.part
    same_day = sa.select(t.failure).where(t.failure.c.part_id == part.id, t.failure.c.found_on == tap.day)
    failed = list(connection.execute(same_day.order_by(t.failure.c.id)))
    known = None if failed else open_failures.of(connection, part, there.stay, tap.day)
    doubt = t.suspicion.c
    still = sa.or_(doubt.closed_on.is_(None), doubt.closed_on >= tap.day)
    doubted = sa.select(t.suspicion).where(doubt.part_id == part.id, doubt.raised_on <= tap.day, still)
    return [
        *((t.failure, row) for row in (failed if known is None else [known.row])),
        *((t.suspicion, row) for row in connection.execute(doubted.order_by(doubt.id))),
    ]


def _to_sortie(connection: sa.Connection, tap: Tap, ship: Row, phone: Handover, plan: Plan) -> None:
    row = _sortie(connection, ship.id, tap)
    text = f"{tap.position} {tap.mode}"
    if row is not None and heard(row.note, tap, phone):
        plan.known += 1
        return
    if row is None and not _logs(phone, tap):
        plan.faults.append(
            f"{ship.name}/{tap.position}: {tap.mode} after sortie {tap.sortie} of {tap.day}: no part is on record "
            f"there, and no such sortie to note it with (maintain part add --into, or log the sortie first)"
        )
        return
    told = f"{ship.name}/{tap.position}: {tap.mode}; into the note of sortie {tap.sortie} of {tap.day}"
    plan.symptoms.append(Trouble(told, "new", (tap,), (f"{text} ({mark(tap, phone)})",), ship))


def _sortie(connection: sa.Connection, ship_id: int, tap: Tap) -> Row | None:
    same = (t.sortie.c.ship_id == ship_id, t.sortie.c.sailed_on == tap.day, t.sortie.c.number == tap.sortie)
    return connection.execute(sa.select(t.sortie).where(*same)).one_or_none()


def write(recorder: Recorder, trouble: Trouble) -> None:
    """Write one step of the plan."""
    tap, note = trouble.first, "; ".join(trouble.said)
    if trouble.part is None:
        row = _sortie(recorder.connection, trouble.ship.id, tap)
        assert row is not None  # the plan saw it, or it was written before
        recorder.update(t.sortie, row.id, note=added(row.note, note))
    elif trouble.row is not None:
        assert trouble.table is not None
        recorder.update(trouble.table, trouble.row.id, note=added(trouble.row.note, note))
    elif trouble.table is t.failure:
        moment = Moment(When(tap.day), tap.sortie, counted=True)
        failures.insert(recorder, trouble.part, moment, Symptoms(str(tap.mode), found_by="in battle", note=note))
    else:
        recorder.insert(t.suspicion, part_id=trouble.part.id, raised_on=tap.day, mode=str(tap.mode), note=note)
