"""What has lain in the pool too long."""

from __future__ import annotations

from collections import Counter
from datetime import date
from typing import Any

import sqlalchemy as sa

from maintain.core.shelf_life import stale_on
from maintain.errors import InvalidRecord
from maintain.records import shelf
from maintain.results.base import Column, Listing
from maintain.services.pool import limits
from maintain.services.unit import Desk, reading

Row = dict[str, Any]

_COLUMNS = (
    Column("family", "Family"),
    Column("part", "Part"),
    Column("quantity", "Pieces", numeric=True),
    Column("since", "Age from", wide=True),
    Column("known_by", "Known by", on_screen=False),
    Column("limit_days", "May lie (days)", numeric=True, on_screen=False),
    Column("stale_on", "Stale on"),
    Column("over_days", "Days over", numeric=True),
    Column("advice", "What to do"),
    Column("source", "Who says so", wide=True),
)


def stale(desk: Desk, *, by: date | None) -> Listing:
    """What in the pool is past its limit on a day, the longest over first."""
    day = by or desk.today
    if day < desk.today:
        raise InvalidRecord(f"--by {day} is over: today is {desk.today}", hint="give a day to come")
    with reading(desk) as connection:
        rows, unknown, unlimited = found(connection, desk.today, day)
    footer = []
    if unknown:
        footer.append(f"age unknown: {', '.join(unknown)}")
    if unlimited:
        footer.append(f"nobody said how long these may lie (maintain pool limit): {', '.join(unlimited)}")
    footer.append("rubber: cool, dark, dry, unstretched, away from chargers and motors; oldest out first")
    title = f"Stale in the pool by {day}"
    return Listing(title, _COLUMNS, tuple(rows), tuple(footer), f"nothing past its limit on {day}")


def found(connection: sa.Connection, today: date, day: date) -> tuple[list[Row], list[str], list[str]]:
    """
    What the pool holds today that is past its limit on `day`, the longest over first.

    Returns
    -------
    rows : list of dict
        By the keys of the listing's columns.
    unknown : list of str
        What has a limit and no known age.
    unlimited : list of str
        Families that age, of which nobody said how long they may lie.
    """
    known = limits.by_family(connection)
    names = {row.id: row for row in shelf.stored_families(connection)}
    rows: list[Row] = []
    unknown: list[str] = []
    for part in shelf.pool_parts(connection, today):
        limit = known.get(part.family_id)
        if limit is not None and limit.days is not None:
            since, by = _age(part)
            more = {"part": part.tag, "family": part.family, "category": part.category, "quantity": 1}
            rows.append({**more, "since": since, "known_by": by, **_judged(since, limit, shelf.tested_on(part))})
    for lot in shelf.lots(connection, today):
        limit, family = known.get(lot.family_id), names[lot.family_id]
        if limit is None or limit.days is None:
            continue
        age = lot.made_on or lot.came_on
        if age is None:
            unknown.append(f"{lot.quantity} x {family.name}")
            continue
        more = {"part": None, "family": family.name, "category": family.category, "quantity": lot.quantity}
        by = "made" if lot.made_on else "came"
        rows.append({**more, "since": age, "known_by": by, **_judged(age, limit, None)})
    over = [{**row, "over_days": (day - row["stale_on"]).days} for row in rows if row["stale_on"] <= day]
    over.sort(key=lambda row: (-row["over_days"], row["family"], row["part"] or ""))
    return [{**row, "advice": _advice(row)} for row in over], unknown, limits.without(connection, known)


def untested(connection: sa.Connection, today: date) -> Counter[str]:
    """Pieces of each family past their limit that passed no test since: there, and not to be relied on."""
    pieces = Counter[str]()
    for row in _untested(connection, today):
        pieces[row["family"]] += row["quantity"]
    return pieces


def fresh_first(connection: sa.Connection, parts: list[Any], today: date) -> list[Any]:
    """Parts of the pool as they stand, but those that nobody should rely on last."""
    old = {row["part"] for row in _untested(connection, today)}
    return sorted(parts, key=lambda part: part.tag in old)


def cautions(connection: sa.Connection, parts: list[Any], today: date) -> tuple[str, ...]:
    """What to say before parts still in the pool go out that nobody should rely on."""
    tags = {part.tag for part in parts}
    return tuple(_caution(row["part"], row) for row in _untested(connection, today) if row["part"] in tags)


def caution_of_pieces(connection: sa.Connection, family: str, today: date) -> tuple[str, ...]:
    """The same of counted pieces, the oldest of which go out first."""
    rows = [row for row in _untested(connection, today) if row["part"] is None and row["family"] == family]
    return (_caution(f"{sum(row['quantity'] for row in rows)} x {family}", rows[0]),) if rows else ()


def _caution(what: str, row: Row) -> str:
    over = f"{row['over_days']} days past the {row['limit_days']} it may lie ({row['source']})"
    return f"{what}: {over}, and not tested since: test it before anybody relies on it"


def _untested(connection: sa.Connection, today: date) -> list[Row]:
    """What is stale today and passed no test since it was."""
    rows, _, _ = found(connection, today, today)
    return [row for row in rows if _untested_since(row)]


def _untested_since(row: Row) -> bool:
    return row["inspected_on"] is None or bool(row["inspected_on"] < row["stale_on"])


def _age(part: Any) -> tuple[date, str]:
    """From when the age of a part counts, and how that is known; lying here is the least it has lain."""
    if part.made_on is not None:
        return part.made_on, "made"
    return (part.acquired_on, "bought") if part.acquired_on is not None else (part.since, "in the pool, at least")


def _judged(since: date, limit: limits.Limit, inspected_on: date | None) -> Row:
    assert limit.days is not None
    return {
        "limit_days": limit.days,
        "extension_days": limit.extension_days,
        "stale_on": stale_on(since, limit.days, limit.extension_days, inspected_on),
        "inspected_on": inspected_on,
        "source": limit.source,
    }


def _advice(row: Row) -> str:
    if not _untested_since(row):
        return f"it passed a test on {row['inspected_on']}: its limit stands all the same"
    first = stale_on(row["since"], row["limit_days"])
    if row["extension_days"] and row["stale_on"] == first:
        until = stale_on(row["since"], row["limit_days"] + row["extension_days"])
        return f"inspect it: found good it may lie until {until}; else scrap it"
    if row["category"] == "battery":
        return "measure its capacity, or scrap it where cells are taken in"
    return "scrap it, or test it before anybody relies on it"
