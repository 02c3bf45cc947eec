"""Positions without a part that a ship can't do without."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from datetime import date
from itertools import groupby
from typing import Any

import sqlalchemy as sa

from maintain.records import ship_layout

Row = sa.Row[Any]


def empty_vital(connection: sa.Connection, today: date, ship: str | None = None) -> list[Row]:
    """Empty positions that are vital, or of a bank with fewer parts than it needs, of ships in commission or of one."""
    rows = ship_layout.positions(connection, today, ship)
    return [row for _, places in groupby(rows, key=lambda row: str(row.ship)) for row in _of_ship(list(places))]


def _of_ship(places: Sequence[Row]) -> Iterator[Row]:
    banks: dict[str, list[Row]] = defaultdict(list)
    for each in places:
        if each.bank is not None:
            banks[each.bank].append(each)
    for each in places:
        if each.tag is None and (_is_short(banks[each.bank]) if each.bank is not None else each.dependence == "vital"):
            yield each


def _is_short(members: list[Row]) -> bool:
    """Whether a bank that matters has fewer parts than it needs; one of a bank that is but a nuisance never."""
    needed = min(max(int(each.bank_needs) for each in members), len(members))
    fitted = sum(each.tag is not None for each in members)
    return fitted < needed and any(each.dependence != "nuisance" for each in members)
