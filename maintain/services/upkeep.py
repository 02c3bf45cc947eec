"""Recurring tasks, promises and dated certificates: recorded, done, listed."""

from __future__ import annotations

from datetime import date
from typing import Any

import sqlalchemy as sa

from maintain.errors import InvalidRecord
from maintain.records import find, upkeep
from maintain.records import tables as t
from maintain.results.base import Column, Done, Listing
from maintain.services.unit import Desk, reading, writing


def add_task(desk: Desk, *, title: str, scope: dict[str, str | None], **facts: Any) -> Done:
    """Add recurring work or a promise; `scope` names what it is done on: ship, position, part, family or category."""
    if facts["due_on"] is None and facts["clock"] is None:
        raise InvalidRecord(
            f"{title!r} has neither --every nor --due", hint="write --every 365 --clock days, or --due DATE"
        )
    with writing(desk, "task add") as recorder:
        connection = recorder.connection
        names = {"ship": find.ship, "position": find.position, "part": find.part, "family": find.family}
        ids = {f"{key}_id": look_up(connection, text).id for key, look_up in names.items() if (text := scope.get(key))}
        category = scope.get("category")
        recorder.insert(t.task, title=title, starts_on=desk.today, category=category, **ids, **facts)
        did = f"added task {title!r}"
        recorder.summarise(did)
    return Done(did, record={"task": title})


def complete_task(desk: Desk, *, title: str, ship: str | None, part: str | None, day: date | None) -> Done:
    """Note that a task was done, on a ship or part or altogether."""
    with writing(desk, "task done") as recorder:
        connection = recorder.connection
        tasks = upkeep.open_tasks(connection)
        named = find.match([row.title for row in tasks], title, "open task", "maintain task list")
        row = next(each for each in tasks if each.title == named)
        ship_id = find.ship(connection, ship).id if ship else None
        part_id = find.part(connection, part).id if part else None
        done_on = day or desk.today
        recorder.insert(t.task_completion, task_id=row.id, ship_id=ship_id, part_id=part_id, done_on=done_on)
        if row.clock is None:
            recorder.update(t.task, row.id, closed_on=done_on)
        did = f"{row.title} done on {done_on}" + (f", {ship or part}" if ship or part else "")
        recorder.summarise(did)
    return Done(did, record={"task": row.title, "done_on": done_on})


_TASK_COLUMNS = (
    Column("title", "Task"),
    Column("on", "Done on"),
    Column("every", "Every", numeric=True),
    Column("clock", "Clock"),
    Column("due_on", "Due"),
    Column("last_done", "Last done"),
    Column("source", "Source"),
)


def list_tasks(desk: Desk) -> Listing:
    """Open tasks."""
    last = (
        sa.select(t.task_completion.c.task_id, sa.func.max(t.task_completion.c.done_on).label("last_done"))
        .group_by(t.task_completion.c.task_id)
        .subquery()
    )
    query = (
        sa.select(
            t.task.c.title,
            t.ship.c.name.label("ship"),
            t.position.c.name.label("position"),
            t.part.c.tag.label("part"),
            t.family.c.name.label("family"),
            t.task.c.category,
            t.task.c.every,
            t.task.c.clock,
            t.task.c.due_on,
            last.c.last_done,
            t.task.c.source,
        )
        .outerjoin(t.ship, t.ship.c.id == t.task.c.ship_id)
        .outerjoin(t.position, t.position.c.id == t.task.c.position_id)
        .outerjoin(t.part, t.part.c.id == t.task.c.part_id)
        .outerjoin(t.family, t.family.c.id == t.task.c.family_id)
        .outerjoin(last, last.c.task_id == t.task.c.id)
        .where(t.task.c.closed_on.is_(None))
        .order_by(sa.func.lower(t.task.c.title), t.task.c.id)
    )
    with reading(desk) as connection:
        rows = tuple(
            {**row, "on": row["ship"] or row["position"] or row["part"] or row["family"] or row["category"]}
            for row in connection.execute(query).mappings()
        )
    return Listing(
        "Tasks", _TASK_COLUMNS, rows, empty="none yet; add one with: maintain task add TITLE --every 365 --clock days"
    )


def add_certificate(
    desk: Desk, *, part: str, kind: str, days: tuple[date | None, date], source: str, decider: str
) -> Done:
    """Record a dated certificate (issued, expires) with the rule it follows and the person who decides."""
    issued_on, expires_on = days
    with writing(desk, "certificate add") as recorder:
        row = find.part(recorder.connection, part)
        recorder.insert(
            t.certificate,
            part_id=row.id,
            kind=kind,
            issued_on=issued_on,
            expires_on=expires_on,
            source=source,
            decider=decider,
        )
        did = f"{row.tag}: {kind} until {expires_on} ({source})"
        recorder.summarise(did)
    return Done(
        did, notes=(f"the {decider} decides, not this record",), record={"part": row.tag, "expires_on": expires_on}
    )


def list_certificates(desk: Desk) -> Listing:
    """The latest certificate of each part, earliest first."""
    with reading(desk) as connection:
        found = upkeep.certificates(connection)
    rows = tuple(
        {
            **row._mapping,
            "where": f"{row.ship}/{row.position}" if row.ship else row.place,
            "expired": row.expires_on < desk.today,
        }
        for row in found
    )
    columns = (
        Column("tag", "Part"),
        Column("family", "Family"),
        Column("where", "Where"),
        Column("kind", "Certificate"),
        Column("expires_on", "Runs out"),
        Column("expired", "Expired"),
        Column("source", "Source"),
        Column("decider", "Who decides"),
    )
    return Listing(
        "Certificates, earliest first", columns, rows, empty="none yet; add one with: maintain certificate add"
    )
