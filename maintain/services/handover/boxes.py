"""How a sealed box looked inside after a sinking, as tapped: it decides whether water reached what is in it."""

from __future__ import annotations

from typing import Any

import sqlalchemy as sa

from maintain.exchange.handover import Handover, Tap
from maintain.records import tables as t
from maintain.records.journal import Recorder
from maintain.services.handover.heard import added, heard, mark
from maintain.services.handover.plan import Conflict, Plan, Step

Row = sa.Row[Any]
BOX = "sealed box"


def plan_box(connection: sa.Connection, tap: Tap, ship: Row, row: Row | None, phone: Handover, plan: Plan) -> None:
    """Settle what was found in the box of a ship; `row` is the sortie on record that the tap tells of."""
    if tap.box is None:
        return
    told = f"{ship.name}, sealed box opened after sortie {tap.sortie} of {tap.day}: {tap.box}"
    found = None if row is None else _recorded(connection, row.id)
    if found is None:
        values = {"ship_id": ship.id, "opened_on": tap.day, "found": tap.box, "note": mark(tap, phone)}
        number = tap.sortie if row is None else row.number
        plan.boxes.append(Step(told, "new", None, {**values, "number": number}))
    elif found.found != tap.box and not heard(found.note, tap, phone):
        note = added(found.note, mark(tap, phone))
        plan.conflicts.append(
            Conflict(
                f"{told}; recorded as {found.found}",
                found.id,
                (),
                {"found": tap.box, "note": note},
                {"note": f"{note} (who said {tap.box})"},
                t.opening,
            )
        )


def _recorded(connection: sa.Connection, sortie_id: int) -> Row | None:
    opened = t.opening.c
    query = sa.select(t.opening).where(opened.sortie_id == sortie_id, opened.zone == BOX, opened.position_id.is_(None))
    return connection.execute(query.order_by(opened.id.desc()).limit(1)).one_or_none()


def write_box(recorder: Recorder, step: Step) -> None:
    """Write what was found, of the sortie that the same hand-over or somebody before it logged."""
    values = {key: value for key, value in step.values.items() if key != "number"}
    day, number = values["opened_on"], step.values["number"]
    same = (t.sortie.c.ship_id == values["ship_id"], t.sortie.c.sailed_on == day, t.sortie.c.number == number)
    sortie_id = recorder.connection.execute(sa.select(t.sortie.c.id).where(*same)).scalar_one()
    recorder.insert(t.opening, sortie_id=sortie_id, zone=BOX, dried=False, **values)
