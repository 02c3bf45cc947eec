"""Take in a phone's file: say what it comes to, ask where it contradicts the records, write all of it or nothing."""

from __future__ import annotations

import difflib
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any

import sqlalchemy as sa

from maintain.core.names import quoted
from maintain.core.wording import count
from maintain.errors import FileRejected, InvalidRecord
from maintain.exchange.handover import Handover, Named, Tap, read
from maintain.records import tables as t
from maintain.records.journal import Recorder
from maintain.results.base import Done
from maintain.services.handover.boxes import write_box
from maintain.services.handover.clock import ahead, set_right
from maintain.services.handover.plan import Conflict, Plan, Step
from maintain.services.handover.symptoms import plan_symptoms, write
from maintain.services.handover.trips import plan_trips
from maintain.services.unit import Desk, reading, writing
from maintain.vocabulary import being

Row = sa.Row[Any]
_OURS = "records"  # --prefer records: what is recorded stands


@dataclass(frozen=True)
class Settled:
    """
    How conflicts are settled.

    Attributes
    ----------
    prefer : str, optional
        Whose word counts: a phone's name or id, or "records".
    skip : bool
        True leaves what is in conflict out.
    """

    prefer: str | None = None
    skip: bool = False


def take(desk: Desk, path: Path, *, dry_run: bool, settled: Settled, clock: str | None = None) -> Done:
    """
    Take in what a phone handed over, in one change that `undo` takes back whole.

    `clock` is the time it really was when the phone handed over, if its own was wrong.

    Raises
    ------
    FileRejected
        If something in it can't be recorded, or contradicts the records and nobody said whose word counts.
    """
    phone = set_right(read(path), clock)
    if dry_run:
        with reading(desk) as connection:
            plan = _plan(connection, phone, path, desk.today)
        _require_meaning(plan, phone, settled)
        return _done(path, phone, plan, settled, dry_run=True)
    with writing(desk, "import") as recorder:
        plan = _plan(recorder.connection, phone, path, desk.today)
        _require_meaning(plan, phone, settled)
        _write(recorder, plan, phone, settled, path)
        done = _done(path, phone, plan, settled, dry_run=False)
        recorder.summarise(done.did)
    return done


def _plan(connection: sa.Connection, phone: Handover, path: Path, today: date) -> Plan:
    plan = Plan()
    battle = _find(connection, t.battle, phone.battle)
    if battle is None:
        raise FileRejected(
            f"{path.name}: no battle called {phone.battle.name!r}, nothing was written",
            hint="see: maintain battle list; or name the right database with --db",
        )
    _compare_names(connection, t.battle, phone.battle, battle, plan)
    aboard = _ships(connection, phone, plan)
    _check_days(phone, aboard, battle, today, plan)
    clock = ahead(connection, phone, aboard, today, plan)
    plan_trips(connection, phone, aboard, battle, plan, ahead=clock)
    plan_symptoms(connection, phone, aboard, plan)
    if plan.faults:
        faults = list(dict.fromkeys(plan.faults))
        raise FileRejected(
            f"{path.name}: {count(len(faults), 'fault')} found, nothing was written",
            hint="mend what is named and import the same file again",
            lines=[f"  {fault}" for fault in faults],
            faults=faults,
        )
    return plan


def _find(connection: sa.Connection, table: sa.Table, meant: Named) -> Row | None:
    """The row of that uid, else of that name."""
    rows = list(connection.execute(sa.select(table)))
    named = [row for row in rows if row.name.lower() == meant.name.strip().lower()]
    return next((row for row in rows if row.uid == meant.uid), None) or next(iter(named), None)


def _compare_names(connection: sa.Connection, table: sa.Table, meant: Named, row: Row | None, plan: Plan) -> None:
    """Two names for one id: refused if another bears the name given, for nobody knows which was meant; else said."""
    name = meant.name.strip()
    if row is None or row.name.lower() == name.lower():
        return
    named = connection.execute(sa.select(table.c.name).where(sa.func.lower(table.c.name) == name.lower())).scalar()
    if named is None:
        plan.notes.append(f"no {table.name} is called {name!r} any more: taken for {row.name}, whose id the page gave")
    else:
        plan.faults.append(
            f"{named} is named with the id of {row.name}: which {table.name} was meant? make the page anew with "
            f"maintain phone --battle, and tap it again"
        )


def _ships(connection: sa.Connection, phone: Handover, plan: Plan) -> dict[str, Row]:
    meant = {tap.ship.uid: tap.ship for tap in (*phone.sorties, *phone.symptoms)}
    found = {uid: _find(connection, t.ship, ship) for uid, ship in meant.items()}
    names = list(connection.execute(sa.select(t.ship.c.name)).scalars())
    for uid, ship in meant.items():
        if found[uid] is None:
            near = difflib.get_close_matches(ship.name, names, n=1)
            mend = f"did you mean {near[0]}? " if near else ""
            plan.faults.append(f"no ship called {ship.name!r} ({mend}add her with: maintain ship add)")
        _compare_names(connection, t.ship, ship, found[uid], plan)
    return {uid: row for uid, row in found.items() if row is not None}


def _check_days(phone: Handover, aboard: dict[str, Row], battle: Row, today: date, plan: Plan) -> None:
    for tap in (*phone.sorties, *phone.symptoms):
        if not battle.from_on <= tap.day <= battle.until_on:
            days = f"{battle.from_on} to {battle.until_on}"
            plan.faults.append(f"{tap.ship.name}: {tap.day} is no day of {battle.name} ({days})")
        elif tap.day > today:
            plan.faults.append(f"{tap.ship.name}: {tap.day} is in the future (today is {today})")
        elif tap.ship.uid in aboard and tap.mode is None:
            plan.faults += _ashore(aboard[tap.ship.uid], tap)


def _ashore(ship: Row, tap: Tap) -> list[str]:
    if ship.state == "in commission" or (ship.state_since is not None and tap.day < ship.state_since):
        return []
    mend = f"maintain ship state {quoted(ship.name)} 'in commission' --since {tap.day}"
    return [f"{ship.name} did not sail on {tap.day}: she is {being(ship.state)} (if she did: {mend})"]


def _require_meaning(plan: Plan, phone: Handover, settled: Settled) -> None:
    """Refuse a word to prefer that nobody in the conflicts goes by."""
    if settled.prefer is not None and plan.conflicts:
        known = {_OURS, phone.name, phone.device, *(name for each in plan.conflicts for name in each.recorded_by)}
        if settled.prefer.lower() not in {each.lower() for each in known}:
            raise InvalidRecord(
                f"nobody called {settled.prefer!r} logged what is in conflict",
                hint=f"--prefer one of: {', '.join(sorted({_OURS, phone.name, phone.device} | known))}",
            )


def _choice(conflict: Conflict, phone: Handover, settled: Settled) -> str | None:
    """Whose word counts in a conflict: "theirs" (the phone's), "ours" (the records'), "skip", or None: nobody said."""
    if settled.prefer is not None:
        word = settled.prefer.lower()
        theirs = word in (phone.name.lower(), phone.device)
        ours = word == _OURS or word in (name.lower() for name in conflict.recorded_by)
        if theirs != ours:
            return "theirs" if theirs else "ours"
    return "skip" if settled.skip else None


def _write(recorder: Recorder, plan: Plan, phone: Handover, settled: Settled, path: Path) -> None:
    choices = [_choice(each, phone, settled) for each in plan.conflicts]
    if None in choices:
        open_ = [each for each, choice in zip(plan.conflicts, choices, strict=True) if choice is None]
        told = [each.told for each in open_]
        raise FileRejected(
            f"{path.name}: {count(len(open_), 'conflict')} with the records, nothing was written",
            hint=f"ask who saw it; then --prefer {quoted(phone.name)}, --prefer {_OURS}, or --skip-conflicts",
            lines=[f"  {each}" for each in told],
            conflicts=told,
        )
    for step in plan.sorties:
        _write_sortie(recorder, step)
    for conflict, choice in zip(plan.conflicts, choices, strict=True):
        if choice != "skip":
            recorder.update(
                conflict.table, conflict.row_id, **(conflict.theirs if choice == "theirs" else conflict.ours)
            )
    for box in plan.boxes:
        write_box(recorder, box)
    for trouble in plan.symptoms:
        write(recorder, trouble)
    battle = _find(recorder.connection, t.battle, phone.battle)
    if battle is not None and battle.state == "planned" and any(step.kind == "new" for step in plan.sorties):
        recorder.update(t.battle, battle.id, state="fought")
        plan.notes.append(f"{battle.name} now counts as fought")


def _write_sortie(recorder: Recorder, step: Step) -> None:
    if step.row_id is None:
        recorder.insert(t.sortie, **step.values)
    else:
        recorder.update(t.sortie, step.row_id, **step.values)


_SETTLED = {
    "theirs": "settled as the phone says",
    "ours": "stays as recorded",
    "skip": "left out, to be asked again",
    None: "somebody must say whose word counts",
}


def _done(path: Path, phone: Handover, plan: Plan, settled: Settled, *, dry_run: bool) -> Done:
    counts = plan.counted()
    said = [f"{counts['new']} new"]
    said += [f"{counts[key]} {words}" for key, words in _COUNTED.items() if counts[key]]
    did = f"{'would take in' if dry_run else 'took in'} {path.name} of {phone.name}: {', '.join(said)}"
    lines = [f"{step.kind}: {step.told}" for step in (*plan.sorties, *plan.boxes, *plan.symptoms)]
    conflicts = [f"{each.told} ({_SETTLED[_choice(each, phone, settled)]})" for each in plan.conflicts]
    record = {"dry_run": dry_run, "device": phone.device, "name": phone.name, **counts, "conflicts": conflicts}
    return Done(
        did, closed=tuple(lines), notes=(*(f"conflict: {each}" for each in conflicts), *plan.notes), record=record
    )


_COUNTED = {
    "merged": "logged by somebody else too",
    "known": "known already",
    "conflicts": "in conflict with the records",
}
