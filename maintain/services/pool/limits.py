"""Limits of storage: which one holds for a family, and who says so."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import sqlalchemy as sa

from maintain.core.shelf_life import RULES, rule
from maintain.errors import InvalidRecord
from maintain.records import shelf
from maintain.records import tables as t
from maintain.results.base import Column, Done, Listing
from maintain.services.pool.items import family as family_named
from maintain.services.unit import Desk, reading, writing

Row = sa.Row[Any]

_AGING = ("seal", "battery")
_OWN = "the club's own figure, no source given"


@dataclass(frozen=True)
class Limit:
    """How long something may lie; no days: its source sets no limit."""

    days: int | None
    extension_days: int | None
    source: str


@dataclass(frozen=True)
class Setting:
    """
    A limit to be set or taken back, of a family or of a category.

    Attributes
    ----------
    family, category : str, optional
        One of them.
    rule : str, optional
        A rule that is known by name.
    days, extension_days : int, optional
    endless : bool
        The source sets no limit.
    source : str, optional
        Who says so; needed unless a rule is named.
    remove : bool
    """

    family: str | None = None
    category: str | None = None
    rule: str | None = None
    days: int | None = None
    extension_days: int | None = None
    endless: bool = False
    source: str | None = None
    remove: bool = False


def set_limit(desk: Desk, setting: Setting) -> Done:
    """Set the limit of a family or a category, or take it back."""
    if (setting.family is None) == (setting.category is None):
        raise InvalidRecord("a limit is of a family or of a category", hint="name the family, or give --category")
    limit = None if setting.remove else _limit(setting)
    with writing(desk, "pool limit") as recorder:
        connection = recorder.connection
        row = family_named(connection, setting.family) if setting.family else None
        of = {"family_id": row.id if row else None, "category": setting.category}
        name = row.name if row else setting.category
        key = t.shelf_limit.c.family_id == row.id if row else t.shelf_limit.c.category == setting.category
        there = connection.execute(sa.select(t.shelf_limit).where(key)).one_or_none()
        if limit is None:
            if there is None:
                raise InvalidRecord(f"no limit is set for {name}", hint="see: maintain pool limits")
            recorder.delete(t.shelf_limit, there.id)
            did = f"{name}: limit taken back"
        else:
            facts = {"days": limit.days, "extension_days": limit.extension_days, "source": limit.source}
            if there is None:
                recorder.insert(t.shelf_limit, **of, **facts)
            else:
                recorder.update(t.shelf_limit, there.id, **facts)
            did = f"{name}: {told(limit)}"
        recorder.summarise(did)
    return Done(did, record={"of": name, "days": limit.days if limit else None})


def _limit(setting: Setting) -> Limit:
    """The limit that was asked for."""
    ways = (setting.rule is not None, setting.days is not None, setting.endless)
    if sum(ways) != 1:
        raise InvalidRecord("how long may it lie?", hint="say one of --rule, --days and --endless")
    if setting.rule is not None:
        known = rule(setting.rule)
        return Limit(known.days, known.extension_days, setting.source or known.source)
    if setting.source is None:
        raise InvalidRecord("who says so?", hint="add --source, for example 'printed on the bag'")
    if setting.endless and setting.extension_days is not None:
        raise InvalidRecord("what has no limit needs no extension", hint="leave out --extension")
    return Limit(setting.days, setting.extension_days, setting.source)


def told(limit: Limit) -> str:
    """A limit in a phrase."""
    if limit.days is None:
        return f"no limit ({limit.source})"
    more = f", {limit.extension_days} more after inspection" if limit.extension_days else ""
    return f"{limit.days} days{more} ({limit.source})"


def by_family(connection: sa.Connection) -> dict[int, Limit]:
    """The limit that holds for each family: its own with a source, its own without, its category's; or none."""
    own: dict[int, Limit] = {}
    of_category: dict[str, Limit] = {}
    for row in shelf.limits(connection):
        limit = Limit(row.days, row.extension_days, row.source)
        if row.family_id is not None:
            own[row.family_id] = limit
        else:
            of_category[row.category] = limit
    for row in shelf.stored_families(connection):
        if row.id not in own and row.shelf_life_days is not None:
            own[row.id] = Limit(row.shelf_life_days, None, _OWN)
        elif row.id not in own and row.category in of_category:
            own[row.id] = of_category[row.category]
    return own


def without(connection: sa.Connection, known: dict[int, Limit]) -> list[str]:
    """Families that age in store, of which nobody said how long they may lie."""
    return [
        row.name
        for row in shelf.stored_families(connection)
        if row.id not in known and (row.ages_on_shelf or row.category in _AGING)
    ]


_COLUMNS = (
    Column("name", "Of"),
    Column("category", "Category"),
    Column("days", "Days", numeric=True),
    Column("extension_days", "More if inspected", numeric=True),
    Column("source", "Who says so"),
)


def listing(desk: Desk) -> Listing:
    """Which limit holds for each family, and what is set for whole categories."""
    with reading(desk) as connection:
        known = by_family(connection)
        families = shelf.stored_families(connection)
        rows = [
            {"name": row.name, "category": row.category, **vars(known[row.id])} for row in families if row.id in known
        ]
        of_category = [row for row in shelf.limits(connection) if row.category is not None]
        rows += [{**row._mapping, "name": f"every {row.category}"} for row in of_category]
        open_ = without(connection, known)
    footer = (
        *((f"nobody said how long these may lie: {', '.join(open_)}",) if open_ else ()),
        "from the day it was made; shelf life is not life in a ship",
    )
    return Listing("Limits of storage", _COLUMNS, tuple(rows), footer, "none set; set one with: maintain pool limit")


def rules() -> Listing:
    """The rules known by name."""
    rows = tuple(
        {"name": each.name, "days": each.days, "extension_days": each.extension_days, "source": each.source}
        for each in RULES
    )
    columns = tuple(column for column in _COLUMNS if column.key != "category")
    footer = ("the printed standard and the maker's date on the bag come before this table",)
    return Listing("Rules of storage", columns, rows, footer)
