"""How wet the club's meets of several days were, against all its sorties."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

import sqlalchemy as sa

from maintain.records import tables as t
from maintain.vocabulary import SUNK


@dataclass(frozen=True)
class PastMeets:
    """
    Sorties of known wetness.

    Attributes
    ----------
    sorties, sunk : int
        At meets.
    sorties_of_all, sunk_of_all : int
        Of all, meets and practice included.
    """

    sorties: int
    sunk: int
    sorties_of_all: int
    sunk_of_all: int


def past_meets(connection: sa.Connection, today: date) -> PastMeets:
    """Count the sorties and sinkings up to a day, and those of them at battles of several days."""
    at_meet = sa.case((t.battle.c.until_on > t.battle.c.from_on, 1), else_=0)
    sunk = sa.case((t.sortie.c.wetness.in_(SUNK), 1), else_=0)
    sums = (sa.func.coalesce(sa.func.sum(each), 0) for each in (at_meet, at_meet * sunk, sa.literal(1), sunk))
    query = sa.select(*sums).select_from(t.sortie).outerjoin(t.battle, t.battle.c.id == t.sortie.c.battle_id)
    known = query.where(t.sortie.c.sailed_on <= today, t.sortie.c.wetness.is_not(None))
    return PastMeets(*map(int, connection.execute(known).one()))
