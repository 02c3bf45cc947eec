"""Positions that hold no part: nothing there can work, whatever somebody answers."""

from __future__ import annotations

from typing import Any

import sqlalchemy as sa

from maintain.core.names import quoted
from maintain.errors import InvalidRecord
from maintain.records import places
from maintain.services.placements import start_of

Row = sa.Row[Any]


def require_part(connection: sa.Connection, position_id: int, spot: str) -> None:
    """
    Refuse to say of a position that it works, or does not, while nothing is fitted there.

    Raises
    ------
    InvalidRecord
    """
    held = places.of_position(connection, position_id)
    if not held:
        where = quoted(spot)
        raise InvalidRecord(
            f"no part of {spot} is recorded",
            hint=f"say which one is there: maintain rollcall correct {where} TAG, or answer empty or not seen",
        )
    require_no_gap(connection, position_id, spot)


def require_no_gap(connection: sa.Connection, position_id: int, spot: str) -> None:
    """
    Refuse a position whose part came out and has no successor; one that never held a part is let be.

    Raises
    ------
    InvalidRecord
    """
    held = places.of_position(connection, position_id)
    if not held or held[-1].until_on is None:
        return
    tag = held[-1].tag
    now = places.of_part(connection, held[-1].part_id)[-1]
    raise InvalidRecord(
        f"nothing is fitted in {spot}: {tag} came out and is {places.being(now)} since {start_of(now)}",
        hint=f"fit a spare: maintain part install TAG {quoted(spot)}; if {tag} never came out, "
        f"and that was the last change: maintain undo",
    )
