"""What is aboard a ship, as the morning's questions see it."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import sqlalchemy as sa

from maintain.records import checks as rows

_CALLED = {"cylinder": ("cylinder", "bottle"), "seal": ("seal", "gasket")}  # else by its category
_NUMBER = re.compile(r"[-_ ]?\d+$")


@dataclass(frozen=True)
class Place:
    """
    A position and what is in it.

    Attributes
    ----------
    kinds : frozenset of str
        Categories of the part in it, else of what fits it; empty: nobody said.
    hidden : bool
        True: failing, it makes no noise.
    needs : int, optional
        Of so many positions of its bank, `of`, that many must work.
    """

    id: int
    name: str
    system: str
    zone: str
    dependence: str
    kinds: frozenset[str]
    hidden: bool
    part_id: int | None
    tag: str | None
    bank: str | None = None
    needs: int | None = None
    of: int | None = None

    def is_a(self, category: str) -> bool:
        """Whether it takes parts of a category; the end of its name decides where nobody said what fits."""
        if self.kinds:
            return category in self.kinds
        bare = _NUMBER.sub("", self.name.lower()).replace(" ", "-")
        return bare.endswith(tuple(name.replace(" ", "-") for name in _CALLED.get(category, (category,))))

    @property
    def spoken(self) -> str:
        """Its name, and how far the ship depends on it where others stand in for it."""
        if self.bank is None or self.of is None or self.of < 2:
            return self.name
        return f"{self.name} ({self.needs} of {self.of} {self.bank} must work)"


def aboard(connection: sa.Connection, ship_id: int) -> tuple[Place, ...]:
    """All positions of a ship, by name, with what is in them today."""
    return as_places(connection, ship_id, rows.places(connection, ship_id))


def as_places(connection: sa.Connection, ship_id: int, found: Sequence[sa.Row[Any]]) -> tuple[Place, ...]:
    """Positions of a ship, each with the part that was found in it."""
    fits: dict[int, list[tuple[str, bool]]] = {}
    for row in rows.fitting(connection, ship_id):
        fits.setdefault(row.position_id, []).append((row.category, row.hidden))
    banks = [row.bank for row in found if row.bank is not None]
    places = []
    for row in found:
        there = [(row.category, row.hidden)] if row.category else fits.get(row.id, [])
        places.append(
            Place(
                id=row.id,
                name=row.name,
                system=row.system,
                zone=row.zone,
                dependence=row.dependence,
                kinds=frozenset(category for category, _ in there),
                hidden=any(hidden for _, hidden in there),
                part_id=row.part_id,
                tag=row.tag,
                bank=row.bank,
                needs=row.bank_needs,
                of=banks.count(row.bank) if row.bank else None,
            )
        )
    return tuple(places)
