"""The contest director's board: who has checked, what is open, who has not."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

import sqlalchemy as sa

from maintain.records import checks as rows
from maintain.records import tables as t
from maintain.records import upkeep
from maintain.records.failed_aboard import failed_aboard
from maintain.results.base import Column, Listing
from maintain.services.battle_day import begun, check_page, standing
from maintain.services.battle_day.due_aboard import DueAboard
from maintain.services.unit import Desk, reading

_COLUMNS = (
    Column("ship", "Ship"),
    Column("captain", "Captain"),
    Column("check", "Check"),
    Column("answered", "Answered", numeric=True),
    Column("steps", "Steps", numeric=True),
    Column("failed", "Failed", numeric=True),
    Column("not_done", "Not done", numeric=True),
    Column("promised", "Promised", numeric=True),
    Column("earlier_promises", "Earlier promises", numeric=True),
    Column("first_date", "Runs out first"),
    Column("first_dated", "Its part"),
    Column("first_over", "Over by then"),
    Column("open_safety", "Open on safety", numeric=True),
    Column("failed_aboard", "Failed and aboard", numeric=True),
    Column("what", "What"),
)


def board(desk: Desk, *, battle: str | None) -> Listing:
    """Every ship in commission before a battle: out of date first, then not checked, then with open safety items."""
    with reading(desk) as connection:
        fight = begun.find_battle(connection, battle, desk.today)
        checks = rows.of_battle(connection, fight.id)
        known = _Known(upkeep.certificates(connection), failed_aboard(connection, desk.today))
        captains = {row.id: row.name for row in connection.execute(sa.select(t.member.c.id, t.member.c.name))}
        ships = list(connection.execute(sa.select(t.ship).order_by(sa.func.lower(t.ship.c.name))))
        sailing = [ship for ship in ships if ship.state == "in commission"]
        lines = [
            {
                **_line(connection, begun.of_ship(connection, ship, fight, checks.get(ship.id)), known, desk.today),
                "captain": captains.get(ship.captain_id),
            }
            for ship in sailing
        ]
    lines.sort(
        key=lambda line: (
            not line["first_over"],
            line["check"] != "not begun",
            line["open_safety"] == 0,
            line["failed_aboard"] == 0,
            line["failed"] + line["not_done"] == 0,
        )
    )
    footer = _footer(lines, [ship for ship in ships if ship.state == "dry dock"])
    title = f"Checks before {fight.name} ({fight.from_on})"
    return Listing(title, _COLUMNS, tuple(lines), footer, empty="no ship is in commission: maintain ship list")


@dataclass(frozen=True)
class _Known:
    """What is read once for all ships: rows of certificates, and of parts that failed and are aboard."""

    certified: list[Any]
    failed: list[Any]


def _line(connection: sa.Connection, check: begun.Check, known: _Known, today: date) -> dict[str, Any]:
    legal = check_page.legal_dates(known.certified, check.ship.name, check.battle.until_on)
    steps = check_page.steps_of(connection, check, today, DueAboard(""), {})
    promised = check_page.promises(connection, check, today)
    given = [each.given.answer for each in steps if each.given is not None]
    unsafe = standing.safety_items(steps, legal, check.row is not None, today)
    failed = check_page.failed_on(known.failed, check.ship.name, steps)
    short = standing.shortfall(steps)
    first = min(legal, key=lambda each: each.expires_on, default=None)
    return {
        "ship": check.ship.name,
        "check": "not begun" if check.row is None else "finished" if len(given) == len(steps) else "begun",
        "answered": len(given),
        "steps": len(steps),
        "failed": given.count("fail"),
        "not_done": given.count("not done"),
        "promised": given.count("promise"),
        "earlier_promises": len(promised),
        "first_date": first.expires_on if first else None,
        "first_dated": first.part if first else None,
        "first_over": not first.holds if first else None,
        "open_safety": len(unsafe),
        "failed_aboard": sum(row.ship == check.ship.name for row in known.failed),
        "what": "; ".join([*([short] if short else []), *unsafe, *failed]) or None,
    }


def _footer(lines: Sequence[dict[str, Any]], docked: Sequence[Any]) -> tuple[str, ...]:
    waiting = [line["ship"] for line in lines if line["check"] == "not begun"]
    half = [line["ship"] for line in lines if line["check"] == "begun"]
    told = [f"not checked: {', '.join(waiting)}"] if waiting else []
    told += [f"begun, not finished: {', '.join(half)}"] if half else []
    short = [line["ship"] for line in lines if line["failed"] or line["not_done"]]
    told += [f"failed or not done in part: {', '.join(short)}"] if short else []
    told += [f"in dry dock: {', '.join(ship.name for ship in docked)}"] if docked else []
    if lines and not any(line["open_safety"] for line in lines):
        told.append(standing.NOTHING_OPEN)
    return (*told, "the safety officer and the contest director decide, not this record")
