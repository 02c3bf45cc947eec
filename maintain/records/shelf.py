"""What lies in the pool, how old it is, and how long it may lie."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Any

import sqlalchemy as sa

from maintain.records import ledger, places
from maintain.records import tables as t
from maintain.vocabulary import DEMAND_TEST

Row = sa.Row[Any]


def pool_parts(connection: sa.Connection, day: date, kinds: tuple[str, ...] = ("pool",)) -> list[Row]:
    """
    Tagged parts in the pool, in quarantine or on loan at the end of a day, by family and the oldest first.

    Parameters
    ----------
    connection : sqlalchemy.Connection
    day : date
    kinds : tuple of str
        Places asked for: "pool", "suspect", "loan".

    Returns
    -------
    list of row
        The columns of `part`, and `family`, `category`, `place`, `member` (who holds it), `since` (in that place),
        `fitted` (how often it was installed by then), `retested_on` and `demanded_on` (tests passed in that place).
    """
    now = t.placement
    query = (
        sa.select(
            t.part,
            t.family.c.name.label("family"),
            t.family.c.category,
            now.c.place,
            now.c.from_on.label("since"),
            t.member.c.name.label("member"),
            _fitted(day).label("fitted"),
            _retested(day).label("retested_on"),
            _demanded(day).label("demanded_on"),
        )
        .join(t.family, t.family.c.id == t.part.c.family_id)
        .join(now, sa.and_(now.c.part_id == t.part.c.id, places.held_on(day)))
        .outerjoin(t.member, t.member.c.id == now.c.member_id)
        .where(now.c.place.in_(kinds))
        .order_by(
            sa.func.lower(t.family.c.name),
            sa.func.coalesce(t.part.c.made_on, t.part.c.acquired_on, now.c.from_on),
            t.part.c.id,
        )
    )
    return list(connection.execute(query))


def _fitted(day: date) -> sa.ScalarSelect[Any]:
    earlier = t.placement.alias("earlier")
    query = sa.select(sa.func.count()).where(earlier.c.part_id == t.part.c.id, earlier.c.place == "installed")
    return query.where(earlier.c.from_on <= day).correlate(t.part).scalar_subquery()


def _retested(day: date) -> sa.ScalarSelect[Any]:
    """The last retest passed since the part came where it is."""
    query = sa.select(sa.func.max(t.retest.c.tested_on)).join(t.suspicion, t.suspicion.c.id == t.retest.c.suspicion_id)
    here = query.where(t.retest.c.tested_on >= t.placement.c.from_on, t.retest.c.tested_on <= day)
    passed = here.where(t.suspicion.c.part_id == t.part.c.id, t.retest.c.result == "pass")
    return passed.correlate(t.part, t.placement).scalar_subquery()


def _demanded(day: date) -> sa.ScalarSelect[Any]:
    """The last demand test passed since the part came where it is."""
    query = sa.select(sa.func.max(t.reading.c.taken_on)).where(t.reading.c.part_id == t.part.c.id)
    here = query.where(t.reading.c.taken_on >= t.placement.c.from_on, t.reading.c.taken_on <= day)
    passed = here.where(t.reading.c.measure == DEMAND_TEST, t.reading.c.value == 1)
    return passed.correlate(t.part, t.placement).scalar_subquery()


def tested_on(row: Row) -> date | None:
    """When a part last passed a test in the place where it is."""
    return max((day for day in (row.retested_on, row.demanded_on) if day is not None), default=None)


def condition(row: Row) -> str:
    """What is known of a part off the ships: "new", "tested" or "untested"; in quarantine: "suspect"."""
    if row.place == "suspect":
        return "suspect"
    if tested_on(row) is not None:
        return "tested"
    return "new" if row.prior_use == "none" and not row.fitted else "untested"


@dataclass(frozen=True)
class Lot:
    """
    Counted pieces of one age in the pool.

    Attributes
    ----------
    family_id, quantity : int
    made_on, came_on : date, optional
        When they were made and when they came; None if nobody knows.
    """

    family_id: int
    quantity: int
    made_on: date | None
    came_on: date | None


def lots(connection: sa.Connection, day: date) -> list[Lot]:
    """What the pool holds of counted families by age, taken to be issued oldest first."""
    came: dict[int, list[Row]] = {}
    arrived = sa.select(t.movement).where(
        t.movement.c.to_place == "pool", t.movement.c.from_place == "supplier", t.movement.c.moved_on <= day
    )
    for row in connection.execute(arrived.order_by(t.movement.c.moved_on.desc(), t.movement.c.id.desc())):
        came.setdefault(row.family_id, []).append(row)
    found = []
    for (family_id, _), held in sorted(ledger.balances(connection, day).items()):
        left = held
        for row in sorted(came.get(family_id, ()), key=lambda row: row.made_on or row.moved_on, reverse=True):
            taken = min(left, row.quantity)
            if taken > 0:
                found.append(Lot(family_id, taken, row.made_on, row.moved_on))
                left -= taken
        if left > 0:
            found.append(Lot(family_id, left, None, None))
    return found


def limits(connection: sa.Connection) -> list[Row]:
    """All limits of storage with the name of their family; None where it is of a category."""
    query = sa.select(t.shelf_limit, t.family.c.name.label("family")).outerjoin(
        t.family, t.family.c.id == t.shelf_limit.c.family_id
    )
    return list(connection.execute(query.order_by(t.shelf_limit.c.category, sa.func.lower(t.family.c.name))))


def stored_families(connection: sa.Connection) -> list[Row]:
    """All families with what their own row says of storage."""
    family = t.family.c
    columns = (family.id, family.name, family.category, family.ages_on_shelf, family.shelf_life_days)
    return list(connection.execute(sa.select(*columns).order_by(sa.func.lower(family.name))))
