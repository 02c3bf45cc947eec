"""What is due on a ship before a battle, without working anything out: a check must answer at once."""

from __future__ import annotations

import json
from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, datetime
from typing import Any

import sqlalchemy as sa

from maintain.errors import InvalidRecord
from maintain.records import checks as rows
from maintain.records import tables as t
from maintain.services.dated_work.gather import dated_work
from maintain.services.horizon import until_battle

_DATED = ("certificate", "task")


@dataclass(frozen=True)
class DueAboard:
    """
    What is due.

    Attributes
    ----------
    at : dict of list of str
        By the name of the position; None: the ship as a whole.
    told : str
        What the lines rest on.
    """

    told: str
    at: dict[str | None, list[str]] = field(default_factory=dict)


def due_aboard(connection: sa.Connection, today: date, ship: Any, battle: Any, tags: Mapping[str, str]) -> DueAboard:
    """
    Work due by date or count, and what the forecast last worked out said of the parts, if one is kept.

    `tags` are the parts aboard by position: what was forecast of one that has left does not concern its successor.
    """
    at: dict[str | None, list[str]] = defaultdict(list)
    promised = {row.title for row in rows.promises(connection, ship.id, today)}
    try:
        _, horizon = until_battle(connection, today, battle.name)
    except InvalidRecord:  # over: nothing is due before it any more
        return DueAboard("the battle is over: nothing is due before it", dict(at))
    for work in dated_work(connection, horizon):
        aboard = work.part is None or work.part in tags.values()
        if work.ship == ship.name and work.kind == "task" and aboard and work.what not in promised:
            told = f"{work.why}: {work.what}" if work.first else f"{work.what} ({work.why})"
            at[work.position].append(told)
    kept = _kept(connection, ship.name, battle.name)
    if kept is None:
        return DueAboard("by date and count only; what may fail is not forecast yet: maintain due", dict(at))
    made_at, lines = kept
    later = _recorded_since(connection, made_at)
    worked_out = _local(made_at)
    as_of = f", as of {worked_out:%Y-%m-%d}" if later else ""
    for line in lines:
        if line["ship"] == ship.name and line["advice"] not in _DATED and tags.get(line["position"]) == line["part"]:
            at[line["position"]].append(f"{line['action']} ({line['why']}{as_of})")
    told = f"by date and count today; forecasts as maintain due gave them on {worked_out:%Y-%m-%d at %H:%M}"
    if later:
        told += f", before what was recorded since ({', '.join(later)}): ask maintain due anew"
    return DueAboard(told, dict(at))


def _local(made_at: str) -> datetime:
    """A stamp by the clock on the wall."""
    return datetime.fromisoformat(made_at).astimezone()


def _recorded_since(connection: sa.Connection, made_at: str) -> list[str]:
    """By which commands the records were changed after a forecast; a check's own answers change no forecast by much."""
    command = t.change.c.command
    query = sa.select(command).where(t.change.c.made_at > made_at, ~command.startswith("check ")).distinct()
    return list(connection.execute(query.order_by(command)).scalars())


def _kept(connection: sa.Connection, ship: str, battle: str) -> tuple[str, list[dict[str, Any]]] | None:
    """The newest forecast kept of this battle that says of this ship all there is to say."""
    for row in rows.kept_dues(connection):
        asked = json.loads(row.question.removeprefix(rows.DUE))
        if asked["ship"] in (None, ship) and asked["system"] is None and asked["hours"] is None:
            found = json.loads(row.payload)
            if found["battle"] == battle:
                return row.made_at, found["lines"]
    return None
