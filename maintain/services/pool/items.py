"""What a command of the pool is about: one tagged part, or pieces of a family; and between whom."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Any

import sqlalchemy as sa

from maintain.core.names import quoted
from maintain.core.when import When
from maintain.errors import InvalidRecord, NotFound
from maintain.records import find
from maintain.records import tables as t

Row = sa.Row[Any]

THE_POOL = "pool"


@dataclass(frozen=True)
class Item:
    """
    What was named.

    Attributes
    ----------
    family : row
    part : row, optional
        The tagged part, if a tag or a position was given.
    """

    family: Row
    part: Row | None = None

    @property
    def counted(self) -> bool:
        """True if it is kept by number, without tags."""
        return bool(self.family.tracking == "counted")

    def pieces(self, quantity: int | None) -> int:
        """How many are meant; one unless said."""
        if self.part is not None and quantity not in (None, 1):
            raise InvalidRecord(
                f"{self.part.tag} is one part, not {quantity}", hint=f"name the family: {quoted(self.family.name)}"
            )
        return at_least_one(1 if quantity is None else quantity)


def at_least_one(quantity: int) -> int:
    """
    Refuse nothing or less.

    Raises
    ------
    InvalidRecord
    """
    if quantity < 1:
        raise InvalidRecord(f"{quantity} is no number of pieces", hint="give a whole number, at least 1")
    return quantity


def item(connection: sa.Connection, text: str) -> Item:
    """
    The part with this tag or in this position, or the family of this name, or with a word that begins so.

    Raises
    ------
    NotFound
        If none or several fit.
    """
    if "/" in text:
        fitted = find.part(connection, text)
        return Item(_family(connection, fitted.family_id), fitted)
    part = tagged(connection, text)
    if part is not None:
        return Item(_family(connection, part.family_id), part)
    return Item(family(connection, text))


def tagged(connection: sa.Connection, text: str) -> Row | None:
    """The part with this tag, if there is one."""
    same = sa.func.lower(t.part.c.tag) == text.strip().lower()
    return connection.execute(sa.select(t.part).where(same)).one_or_none()


def family(connection: sa.Connection, text: str) -> Row:
    """The family of this name, or, if none begins so, the one with a word that does: "servo" for "standard servo"."""
    names = list(connection.execute(sa.select(t.family.c.name)).scalars())
    folded = text.strip().lower()
    if folded and not any(name.lower().startswith(folded) for name in names):
        words = [name for name in names if any(word.startswith(folded) for word in name.lower().split())]
        if len(words) == 1:
            return find.family(connection, words[0])
        if words:
            raise NotFound(f"{text!r} could be {' or '.join(sorted(words)[:5])}", hint="write more of the name")
    return find.family(connection, text)


def _family(connection: sa.Connection, family_id: int) -> Row:
    return connection.execute(sa.select(t.family).where(t.family.c.id == family_id)).one()


@dataclass(frozen=True)
class Party:
    """Somebody who gives or takes: a member, or the pool (no id)."""

    id: int | None
    name: str


def party(connection: sa.Connection, text: str) -> Party:
    """The member of this name; the word pool is the pool."""
    if text.strip().lower() == THE_POOL:
        return Party(None, "the pool")
    row = find.member(connection, text)
    return Party(row.id, row.name)


def named(quantity: int, family: Row) -> str:
    """Pieces of a family: 3 x fuse; one is just the fuse."""
    return str(family.name) if quantity == 1 else f"{quantity} x {family.name}"


def by_when(when: When | None, today: date, option: str) -> date | None:
    """
    The last day a date as remembered allows: 2026-10 is the end of October.

    Raises
    ------
    InvalidRecord
        If it is over already.
    """
    if when is None:
        return None
    if when.latest < today:
        raise InvalidRecord(f"{option} {when} is over: today is {today}", hint="give a day to come")
    return when.latest
