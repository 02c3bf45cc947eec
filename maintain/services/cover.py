"""Which ships each family serves, what it costs them to go without, and which positions no spare covers."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass

import sqlalchemy as sa

from maintain.records import cover
from maintain.results.spares import Uncovered
from maintain.services.stakes import HOURS_LOST
from maintain.vocabulary import DEPENDENCE

# A missing spare for a nuisance still costs somebody a walk along the bank (common practice, no source).
_LEAST_HOURS = 0.25
_OF_COUNTED = "degrades"  # counted stock is in no position: nobody said what it serves


@dataclass(frozen=True)
class Serves:
    """
    What a family is for.

    Attributes
    ----------
    ships : tuple of str
    dependence : str
        How much the ship that depends on it most does.
    hidden : bool
        True if it makes no noise when it fails.
    hours : float
        Of battle lost for each piece missing, on average over its positions; a hidden function counts as vital, as
        what it would have saved is the ship.
    """

    ships: tuple[str, ...]
    dependence: str
    hidden: bool
    hours: float


NOTHING = Serves((), _OF_COUNTED, False, HOURS_LOST[_OF_COUNTED])


@dataclass(frozen=True)
class Cover:
    """
    The fleet as spares see it.

    Attributes
    ----------
    serves : mapping of str to Serves
        By family.
    rows : list of row
        As `records.cover.fits`.
    """

    serves: Mapping[str, Serves]
    rows: list[cover.Row]

    def of(self, family: str) -> Serves:
        """What a family is for."""
        return self.serves.get(family, NOTHING)

    def uncovered(self, held: Mapping[str, int]) -> tuple[Uncovered, ...]:
        """Positions for which none of the families that fit is held, alike ones together; the most critical first."""
        fits: dict[int, list[cover.Row]] = defaultdict(list)
        for row in self.rows:
            fits[row.position_id].append(row)
        alike: dict[tuple[str, ...], list[cover.Row]] = defaultdict(list)
        for rows in fits.values():
            families = tuple(row.family for row in rows if row.family)
            if not any(held.get(family, 0) > 0 for family in families):
                alike[families].append(rows[0])
        found = [self._uncovered(families, rows) for families, rows in alike.items()]
        return tuple(
            sorted(found, key=lambda each: (not each.hidden, DEPENDENCE.index(each.dependence), each.families))
        )

    def _uncovered(self, families: tuple[str, ...], rows: list[cover.Row]) -> Uncovered:
        return Uncovered(
            families=families,
            positions=tuple(f"{row.ship}/{row.position}" for row in rows),
            ships=tuple(sorted({row.ship for row in rows})),
            dependence=min((row.dependence for row in rows), key=DEPENDENCE.index),
            hidden=any(self.of(family).hidden for family in families),
        )


def covers(connection: sa.Connection) -> Cover:
    """Read what fits where."""
    rows = cover.fits(connection)
    of_family: dict[str, list[cover.Row]] = defaultdict(list)
    for row in rows:
        if row.family:
            of_family[row.family].append(row)
    return Cover({family: _serves(fits) for family, fits in of_family.items()}, rows)


def _serves(fits: list[cover.Row]) -> Serves:
    hidden = bool(fits[0].hidden)
    hours = [max(HOURS_LOST["vital" if hidden else row.dependence], _LEAST_HOURS) for row in fits]
    return Serves(
        ships=tuple(sorted({row.ship for row in fits})),
        dependence=min((row.dependence for row in fits), key=DEPENDENCE.index),
        hidden=hidden,
        hours=sum(hours) / len(hours),
    )
