"""What captains tapped of parts, as failures or doubts.

The rule: what is tapped of one part on one day is one record. If any of it says that the part stopped doing its job
(STOPPED), it is a failure found in battle, of unknown cause; else the part is suspect and awaits a retest. Either way
it stays where it is until somebody says what was done with it. "operator" is nobody's failure, and, like what is tapped
of a position without a part on record, goes into the note of the sortie.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import sqlalchemy as sa

from maintain.core.names import quoted
from maintain.core.when import When
from maintain.exchange.handover import Handover, Tap
from maintain.records import find, places
from maintain.records import tables as t
from maintain.records.journal import Recorder
from maintain.services import failures
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


def plan_symptoms(connection: sa.Connection, phone: Handover, aboard: dict[str, Row], plan: Plan) -> None:
    """Settle what the symptoms of a hand-over come to; `aboard` are the ships found, by the uid the page gave."""
    of_parts: dict[tuple[int, Any], list[Tap]] = {}
    parts: dict[int, tuple[Row, Row, str]] = {}
    for tap in phone.symptoms:
        ship = aboard.get(tap.ship.uid)
        if ship is None:
            continue
        part = _part(connection, ship, tap)
        if tap.undone:
            _undone(connection, tap, (part, ship), phone, plan)
        elif part is None or tap.mode == _NOT_A_PART:
            _to_sortie(connection, tap, ship, phone, plan)
        else:
            parts[part.id] = (part, ship, f"{ship.name}/{tap.position}")
            of_parts.setdefault((part.id, tap.day), []).append(tap)
    for (part_id, _), taps in of_parts.items():
        part, ship, where = parts[part_id]
        _to_part(connection, taps, (part, ship, where), phone, plan)


def _undone(connection: sa.Connection, tap: Tap, where: tuple[Row | None, Row], phone: Handover, plan: Plan) -> None:
    """A tap taken back after it had been handed over: what it came to stays until somebody settles it."""
    part, ship = where
    found = [] if part is None else _on_record(connection, part.id, tap)
    if part is not None and any(heard(row.note, tap, phone) for _, row in found):
        plan.notes.append(
            f"{ship.name}/{tap.position}: {tap.mode} of {tap.day} was undone on {phone.name} after it had been handed "
            f"over; it stays on record: try the part, and settle a doubt with maintain retest {quoted(part.tag)}"
        )


def _part(connection: sa.Connection, ship: Row, tap: Tap) -> Row | None:
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
    return connection.execute(sa.select(t.part).where(t.part.c.id == earliest.part_id)).one()


def _to_part(
    connection: sa.Connection, taps: list[Tap], where: tuple[Row, Row, str], phone: Handover, plan: Plan
) -> None:
    part, ship, spot = where
    found = _on_record(connection, part.id, taps[0])
    fresh = [tap for tap in taps if not any(heard(row.note, tap, phone) for _, row in found)]
    plan.known += len(taps) - len(fresh)
    if not fresh:
        return
    said = tuple(f"{tap.mode} ({mark(tap, phone)})" for tap in fresh)
    modes = ", ".join(dict.fromkeys(str(tap.mode) for tap in fresh))
    stopped = any(tap.mode in STOPPED for tap in fresh)
    if found and (found[0][0] is t.failure or not stopped):
        table, row = found[0]
        what = "failure" if table is t.failure else "doubt"
        told = f"{spot}, {part.tag}: {modes}; joins the {what} on record ({row.mode})"
        plan.symptoms.append(Trouble(told, "merged", tuple(fresh), said, ship, part, table, row))
        return
    table = t.failure if stopped else t.suspicion
    told = f"{spot}, {part.tag}: {modes}; " + ("a failure, found in battle" if stopped else "suspect, awaits a retest")
    plan.symptoms.append(Trouble(told, "new", tuple(fresh), said, ship, part, table))
    again = "its failure is on record: when it comes out, maintain part pull" if stopped else "maintain retest"
    plan.notes.append(f"{spot}: {part.tag} is still fitted; {again} {quoted(part.tag)}" + (" --to scrapped" * stopped))


def _on_record(connection: sa.Connection, part_id: int, tap: Tap) -> list[tuple[sa.Table, Row]]:
    """The part's failures of that day, then doubts that were open then."""
    failed = sa.select(t.failure).where(t.failure.c.part_id == part_id, t.failure.c.found_on == tap.day)
    doubt = t.suspicion.c
    still = sa.or_(doubt.closed_on.is_(None), doubt.closed_on >= tap.day)
    doubted = sa.select(t.suspicion).where(doubt.part_id == part_id, doubt.raised_on <= tap.day, still)
    return [
        *((t.failure, row) for row in connection.execute(failed.order_by(t.failure.c.id))),
        *((t.suspicion, row) for row in connection.execute(doubted.order_by(doubt.id))),
    ]


def _to_sortie(connection: sa.Connection, tap: Tap, ship: Row, phone: Handover, plan: Plan) -> None:
    row = _sortie(connection, ship.id, tap)
    text = f"{tap.position} {tap.mode}"
    if row is not None and heard(row.note, tap, phone):
        plan.known += 1
        return
    logged = any((each.ship, each.day, each.sortie) == (tap.ship, tap.day, tap.sortie) for each in phone.sorties)
    if row is None and not logged:
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
