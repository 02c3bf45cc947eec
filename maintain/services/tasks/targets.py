"""What a task is done on: a ship, a position, or each installed part that it names."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Any

_GONE = ("lost", "paid off")
_WHOLE_SHIP = "bilge"  # where water aboard is first; a ship has no zone of her own


@dataclass(frozen=True)
class Target:
    """
    One thing that a task is done on; None where that does not apply.

    Attributes
    ----------
    fitted_on, first_fitted_on : date, optional
        When the part came to where it is, and when it first served anywhere.
    zone : str
        As which zone of the ship it lives through a sortie, if it is no part.
    """

    ship_id: int | None = None
    ship: str | None = None
    position_id: int | None = None
    position: str | None = None
    part_id: int | None = None
    part: str | None = None
    family_id: int | None = None
    category: str | None = None
    system: str | None = None
    uid: str = ""
    fitted_on: date | None = None
    first_fitted_on: date | None = None
    zone: str = _WHOLE_SHIP


def on_parts(task: Any) -> bool:
    """Whether a task is done on parts, each for itself."""
    return task.part_id is not None or task.family_id is not None or task.category is not None


def scope_of(task: Any) -> str | None:
    """What a task says it is done on; None: the club."""
    what = task.tag or task.family or task.category
    where = f"{task.ship}/{task.position}" if task.position else task.ship
    return f"{what}, {where}" if what and where else what or where


def targets(task: Any, installed: list[Any]) -> list[Target]:
    """Each thing a task is done on now: parts installed on ships in commission; of ships, none that is gone."""
    if on_parts(task):
        return [_part(row) for row in installed if _names(task, row)]
    if task.ship_state in _GONE:
        return []
    ship_id = task.ship_id or task.position_ship_id
    return [
        Target(
            ship_id=ship_id,
            ship=task.ship,
            position_id=task.position_id,
            position=task.position,
            system=task.system,
            uid=task.ship_uid or "",
            zone=task.zone or _WHOLE_SHIP,
        )
    ]


def _names(task: Any, row: Any) -> bool:
    return (
        task.part_id in (None, row.part_id)
        and task.family_id in (None, row.family_id)
        and task.category in (None, row.category)
        and task.position_id in (None, row.position_id)
        and task.ship_id in (None, row.ship_id)
    )


def _part(row: Any) -> Target:
    return Target(
        ship_id=row.ship_id,
        ship=row.ship,
        position_id=row.position_id,
        position=row.position,
        part_id=row.part_id,
        part=row.tag,
        family_id=row.family_id,
        category=row.category,
        system=row.system,
        uid=row.part_uid,
        fitted_on=row.fitted_on,
        first_fitted_on=row.first_fitted_on,
    )
