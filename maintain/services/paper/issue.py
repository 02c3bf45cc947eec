"""What the quartermaster signs out at a meet: what the pool holds, and how much of it to take there."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from datetime import date

import sqlalchemy as sa

from maintain.records import holdings, shelf
from maintain.results.paper import StockLine
from maintain.services.unit import Desk


def stock_lines(connection: sa.Connection, today: date) -> tuple[StockLine, ...]:
    """What lies in the pool, part by part, counted families as a whole; kind by kind, as it is packed."""
    tagged = [StockLine(row.family, row.tag, 1, row.category) for row in shelf.pool_parts(connection, today)]
    counted = [
        StockLine(row.name, None, row.on_hand, row.category)
        for row in holdings.by_family(connection, today)
        if row.tracking == "counted" and row.on_hand > 0
    ]
    return _in_order((*tagged, *counted))


def packed(desk: Desk, meet: str, lines: Iterable[StockLine]) -> tuple[StockLine, ...]:
    """The lines with how many of each family to take to a meet; one of which the pool has none gets a line too."""
    # What a meet may call for is worked out with the libraries of the analysis, which a page without it need not load.
    from maintain.services.crate import crate
    from maintain.services.spares import Question
    from maintain.services.spell import Until

    found = {line.family: line for line in crate(desk, Question(until=Until(meet=meet))).packed}
    lines = [replace(line, pack=found[line.what].pack if line.what in found else 0) for line in lines]
    held = {line.what for line in lines}
    absent = [StockLine(each.family, None, 0, each.category, each.pack) for each in found.values()]
    return _in_order((*lines, *(line for line in absent if line.what not in held)))


def _in_order(lines: Iterable[StockLine]) -> tuple[StockLine, ...]:
    return tuple(sorted(lines, key=lambda line: (line.category, line.what.lower(), line.tag or "")))
