"""Records that no single rule of the database forbids, and that can't all be true: each check gives its findings."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from typing import Any, NamedTuple

import sqlalchemy as sa

from maintain.core.names import quoted
from maintain.core.wording import count
from maintain.records import tables as t
from maintain.records.engine import broken_references


class Finding(NamedTuple):
    """What can't be true, of what, and how to mend it."""

    where: str
    what: str
    mend: str


Check = Callable[[sa.Connection], list[Finding]]


def _open() -> sa.ColumnElement[bool]:
    return t.placement.c.until_on.is_(None)


def references(connection: sa.Connection) -> list[Finding]:
    """Rows that refer to nothing."""
    mend = "go back to a copy of the file, or export and import it anew"
    return [Finding(table, "a row refers to a row that is gone", mend) for table in broken_references(connection)]


def parts_nowhere(connection: sa.Connection) -> list[Finding]:
    """Parts without any place now."""
    somewhere = sa.select(t.placement.c.id).where(t.placement.c.part_id == t.part.c.id, _open()).exists()
    rows = connection.execute(sa.select(t.part.c.tag).where(~somewhere).order_by(t.part.c.tag))
    return [
        Finding(row.tag, "has no place now", f"maintain part install {quoted(row.tag)} SHIP/POSITION, or part pull")
        for row in rows
    ]


def failed_before_fitted(connection: sa.Connection) -> list[Finding]:
    """Failures found before the part was anywhere."""
    first = (
        sa.select(t.placement.c.part_id, sa.func.min(t.placement.c.from_on).label("from_on"))
        .where(t.placement.c.from_precision == "day")
        .group_by(t.placement.c.part_id)
        .subquery()
    )
    query = (
        sa.select(t.part.c.tag, t.failure.c.found_on, first.c.from_on)
        .join(t.part, t.part.c.id == t.failure.c.part_id)
        .join(first, first.c.part_id == t.part.c.id)
        .where(t.failure.c.found_on < first.c.from_on)
        .order_by(t.part.c.tag)
    )
    return [
        Finding(
            row.tag,
            f"failed on {row.found_on}, before it is recorded anywhere ({row.from_on})",
            "mend either date by import",
        )
        for row in connection.execute(query)
    ]


def failed_and_still_fitted(connection: sa.Connection) -> list[Finding]:
    """Parts that failed, were never replaced and are still fitted where they failed."""
    here = sa.and_(t.placement.c.part_id == t.failure.c.part_id, t.placement.c.position_id == t.failure.c.position_id)
    query = (
        sa.select(t.part.c.tag, t.ship.c.name.label("ship"), t.position.c.name, t.failure.c.found_on)
        .join(t.part, t.part.c.id == t.failure.c.part_id)
        .join(t.placement, sa.and_(here, _open()))
        .join(t.position, t.position.c.id == t.placement.c.position_id)
        .join(t.ship, t.ship.c.id == t.position.c.ship_id)
        .where(t.placement.c.from_on <= t.failure.c.found_on)
        .order_by(t.part.c.tag)
    )
    return [
        Finding(
            f"{row.ship}/{row.name}",
            f"{row.tag} failed on {row.found_on} and is still fitted",
            f"maintain swap {quoted(f'{row.ship}/{row.name}')}, or part pull",
        )
        for row in connection.execute(query)
    ]


def wrong_family(connection: sa.Connection) -> list[Finding]:
    """Parts fitted where their family is not among those that fit."""
    fits = sa.select(t.position_family.c.id).where(t.position_family.c.position_id == t.position.c.id)
    query = (
        sa.select(t.ship.c.name.label("ship"), t.position.c.name, t.part.c.tag, t.family.c.name.label("family"))
        .join(t.placement, sa.and_(t.placement.c.position_id == t.position.c.id, _open()))
        .join(t.part, t.part.c.id == t.placement.c.part_id)
        .join(t.family, t.family.c.id == t.part.c.family_id)
        .join(t.ship, t.ship.c.id == t.position.c.ship_id)
        .where(fits.exists(), ~fits.where(t.position_family.c.family_id == t.part.c.family_id).exists())
        .order_by(t.ship.c.name, t.position.c.name)
    )
    return [
        Finding(
            f"{row.ship}/{row.name}",
            f"holds {row.tag}, a {row.family}, which does not fit it",
            "add the family with: maintain position change",
        )
        for row in connection.execute(query)
    ]


def aboard_a_ship_that_is_gone(connection: sa.Connection) -> list[Finding]:
    """Parts still fitted on ships lost or paid off."""
    query = (
        sa.select(t.ship.c.name, t.ship.c.state, sa.func.count().label("parts"))
        .join(t.position, t.position.c.ship_id == t.ship.c.id)
        .join(t.placement, sa.and_(t.placement.c.position_id == t.position.c.id, _open()))
        .where(t.ship.c.state.in_(("lost", "paid off")))
        .group_by(t.ship.c.id)
        .order_by(t.ship.c.name)
    )
    return [
        Finding(
            row.name,
            f"is {row.state}, but {count(row.parts, 'part')} {'is' if row.parts == 1 else 'are'} still fitted",
            f"maintain ship state {quoted(row.name)} '{row.state}'",
        )
        for row in connection.execute(query)
    ]


def sailed_outside_the_battle(connection: sa.Connection) -> list[Finding]:
    """Sorties on days that their battle does not have."""
    outside = sa.or_(t.sortie.c.sailed_on < t.battle.c.from_on, t.sortie.c.sailed_on > t.battle.c.until_on)
    query = (
        sa.select(t.ship.c.name, t.sortie.c.sailed_on, t.battle.c.name.label("battle"))
        .join(t.battle, t.battle.c.id == t.sortie.c.battle_id)
        .join(t.ship, t.ship.c.id == t.sortie.c.ship_id)
        .where(outside)
        .order_by(t.sortie.c.sailed_on, t.ship.c.name)
    )
    return [
        Finding(row.name, f"sailed on {row.sailed_on}, no day of {row.battle}", "mend the day or the battle by import")
        for row in connection.execute(query)
    ]


def issued_more_than_there_was(connection: sa.Connection) -> list[Finding]:
    """Counted stock below nothing."""
    into = sa.case((t.movement.c.to_place == "pool", t.movement.c.quantity), else_=0)
    out = sa.case((t.movement.c.from_place == "pool", t.movement.c.quantity), else_=0)
    held = sa.func.sum(into - out)
    query = (
        sa.select(t.family.c.name, held.label("held"))
        .join(t.family, t.family.c.id == t.movement.c.family_id)
        .group_by(t.family.c.id)
        .having(held < 0)
        .order_by(t.family.c.name)
    )
    return [
        Finding(row.name, f"the pool holds {row.held}", "count it and record what is really there")
        for row in connection.execute(query)
    ]


def salvaged_without_a_sinking(connection: sa.Connection) -> list[Finding]:
    """Salvages after sorties that, by the log, did not sink the ship."""
    query = (
        sa.select(t.ship.c.name, t.sortie.c.sailed_on, t.sortie.c.number)
        .select_from(t.salvage)
        .join(t.sortie, t.sortie.c.id == t.salvage.c.sortie_id)
        .join(t.ship, t.ship.c.id == t.sortie.c.ship_id)
        .where(sa.func.coalesce(t.sortie.c.ending, "") != "sank")
        .order_by(t.sortie.c.sailed_on, t.sortie.c.number, t.ship.c.name)
    )
    return [
        Finding(
            row.name,
            f"has a salvage after sortie {row.number} of {row.sailed_on}, which did not sink her",
            f"maintain sortie correct {quoted(f'{row.name}=W3')} --day {row.sailed_on} --number {row.number}, "
            "or take its answers back with maintain undo (see: maintain journal)",
        )
        for row in connection.execute(query)
    ]


def in_the_future(connection: sa.Connection, today: date) -> list[Finding]:
    """Sorties and failures dated later than today."""
    found = []
    for table, day, what in ((t.sortie, t.sortie.c.sailed_on, "sortie"), (t.failure, t.failure.c.found_on, "failure")):
        late: Any = connection.execute(sa.select(sa.func.count(), sa.func.max(day)).where(day > today)).one()
        if late[0]:
            lie = f"{count(late[0], what)} {'lies' if late[0] == 1 else 'lie'}"
            found.append(Finding(table.name, f"{lie} in the future, up to {late[1]}", "mend the dates by import"))
    return found


CHECKS: tuple[Check, ...] = (
    references,
    parts_nowhere,
    failed_before_fitted,
    failed_and_still_fitted,
    wrong_family,
    aboard_a_ship_that_is_gone,
    sailed_outside_the_battle,
    issued_more_than_there_was,
    salvaged_without_a_sinking,
)
