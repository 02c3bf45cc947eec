"""What sinkings leave to do: steps of safety, batteries kept apart, parts to be tried again, ships not looked over."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, timedelta
from typing import Any

import sqlalchemy as sa

from maintain.core.names import quoted
from maintain.records import places
from maintain.records import salvage as rows
from maintain.services.dated_work.work import DatedWork
from maintain.services.horizon import Horizon
from maintain.services.salvage import to_come
from maintain.services.salvage.apart import WHAT_THEN
from maintain.services.salvage.care import care_of
from maintain.services.salvage.order import FIRST
from maintain.services.salvage.questions import TRIED_AFTER
from maintain.vocabulary import OPENED_FINDINGS

_PRACTICE = "common practice, no source"
# Whoever waded in is out of the water by the next day; what is pinned, bled off, cut and carried out may not be.
_LASTING = {act.name: act for act in FIRST if act.safety and act.name != "people"}
_NEW_DAYS, _ASKED_DAYS = 7, 14  # how long a sinking without a salvage is brought up: of any club, of one that uses it


def unsafe_work(connection: sa.Connection, horizon: Horizon) -> Iterator[DatedWork]:
    """Steps of safety that were left, and batteries that are neither charged nor tried."""
    for row in rows.unsafe(connection, horizon.today, list(_LASTING)):
        yield _task(
            row,
            horizon,
            what=f"after the sinking: {row.question}",
            why=f"not done by the salvage since she sank on {row.sailed_on}; step {row.step}, with its cautions: "
            f"{_see(row.ship, row)}",
            decider=_LASTING[row.topic].decider,
        )
    for row, why in to_come.kept_apart(connection, horizon.today).values():
        yield _task(
            row,
            horizon,
            part=row.tag,
            what=f"keep {row.tag} apart until it is decided on: {WHAT_THEN}",
            why=f"it {why} after {row.sunk} sank on {row.sailed_on}{_where(row)}; it stands here until it is scrapped",
            source="advice of fire services",
            decider="safety officer",
        )


def salvage_work(connection: sa.Connection, horizon: Horizon) -> Iterator[DatedWork]:
    """Ships that nobody has looked over, and the next retest of each part that was wetted, as far as it is due."""
    for row in _not_begun(connection, horizon.today):
        yield _task(
            row,
            horizon,
            what="look her over after the sinking: "
            f"maintain salvage run {quoted(row.ship)} --day {row.sailed_on} --number {row.number}",
            why=f"she sank on {row.sailed_on}, and what was done with her since nobody has recorded",
            decider="captain",
        )
    for row in to_come.next_retests(connection, horizon.today, horizon.until):
        yield _retest(row, horizon)


def _not_begun(connection: sa.Connection, today: date) -> list[Any]:
    """Last sinkings without a salvage; a club that has never begun one hears only of the newest."""
    days = _ASKED_DAYS if rows.ever_begun(connection, today) else _NEW_DAYS
    found = rows.last_sinkings(connection, today - timedelta(days=days), today)
    return [row for row in found if not row.begun]


def _retest(row: Any, horizon: Horizon) -> DatedWork:
    care = care_of(row.category)
    found = f"found {row.found}" if row.found in OPENED_FINDINGS else "taken to be wet, nobody looked"
    she = "she" if row.ship == row.sunk else row.sunk
    whose = "her" if row.ship == row.sunk else "that"
    mind = f"; caution: {'; '.join(care.test_cautions)}" if care.decider != "captain" else ""
    return _task(
        row,
        horizon,
        part=row.tag,
        what=f"try {row.tag} again, {TRIED_AFTER[row.topic]}",
        due_on=row.due_on,
        why=f"{found} after {she} sank on {row.sailed_on}: worked wet, dead by spring; step {row.step} of {whose} "
        f"salvage{_where(row)}{mind}",
        decider=care.decider,
    )


def _task(row: Any, horizon: Horizon, **told: Any) -> DatedWork:
    """Work of a row; where it has no day of its own it is due since the sinking."""
    due_on = told.pop("due_on", row.sailed_on)
    at = {name: getattr(row, name, None) for name in ("position", "system")}
    return DatedWork(
        **{"kind": "task", "part": None, "source": _PRACTICE, **at, **told},
        ship=row.ship,
        due_on=due_on,
        overdue=due_on < horizon.today,
    )


def _where(row: Any) -> str:
    """Where a part is that is fitted nowhere."""
    return "" if row.place == "installed" else f"; it is {places.being(row)}"


def _see(ship: str, row: Any) -> str:
    return f"maintain salvage show {quoted(ship)} --day {row.sailed_on} --number {row.number}"
