"""Find a row by what people call it: case does not matter, a unique beginning is enough, a miss names the nearest."""

from __future__ import annotations

import difflib
from datetime import date
from typing import Any

import sqlalchemy as sa

from maintain.core.names import checked, checked_tag, quoted
from maintain.errors import InvalidRecord, NotFound
from maintain.records import places
from maintain.records import tables as t

Row = sa.Row[Any]


def match(names: list[str], text: str, what: str, listed_by: str) -> str:
    """
    Choose the one of `names` that `text` means.

    Raises
    ------
    NotFound
        If none or several fit.
    """
    folded = text.strip().lower()
    exact = [name for name in names if name.lower() == folded]
    begins = exact or [name for name in names if folded and name.lower().startswith(folded)]
    if len(begins) == 1:
        return begins[0]
    if begins:
        raise NotFound(f"{text!r} could be {' or '.join(sorted(begins)[:5])}", hint="write more of the name")
    near = difflib.get_close_matches(folded, [name.lower() for name in names], n=1, cutoff=0.5)
    meant = next((name for name in names if near and name.lower() == near[0]), None)
    hint = f"did you mean {meant}?" if meant else f"see: {listed_by}"
    raise NotFound(f"no {what} called {text!r}", hint=hint)


def _named(connection: sa.Connection, table: sa.Table, text: str, what: str, listed_by: str, key: str = "name") -> Row:
    column = table.c[key]
    names = list(connection.execute(sa.select(column)).scalars())
    return connection.execute(sa.select(table).where(column == match(names, text, what, listed_by))).one()


def unused(connection: sa.Connection, column: sa.Column[Any], text: str, see: str, *among: Any) -> str:
    """
    A new name for a row, as it is kept.

    Parameters
    ----------
    connection : sqlalchemy.Connection
    column : sqlalchemy.Column
        Where the names of its kind stand; tags of parts have a rule more.
    text : str
        As somebody wrote it.
    see : str
        The command that shows the names there are.
    *among : conditions
        Which rows it must differ from; all, if there is none.

    Raises
    ------
    InvalidRecord
        If it can't be a name, or is one already, whatever its case.
    """
    what = str(column.table.name)
    name = checked_tag(text) if column.name == "tag" else checked(text, what)
    taken = connection.execute(sa.select(column).where(*among)).scalars()
    same = next((each for each in taken if each.lower() == name.lower()), None)  # lower() of SQLite knows A to Z only
    if same is not None:
        raise InvalidRecord(f"there is a {what} {same} already", hint=f"choose another name, or see: {see}")
    return name


def ship(connection: sa.Connection, text: str) -> Row:
    """The ship called `text`."""
    return _named(connection, t.ship, text, "ship", "maintain ship list")


def family(connection: sa.Connection, text: str) -> Row:
    """The family called `text`."""
    return _named(connection, t.family, text, "family", "maintain family list")


def member(connection: sa.Connection, text: str) -> Row:
    """The member called `text`."""
    return _named(connection, t.member, text, "member", "maintain member list")


def venue(connection: sa.Connection, text: str) -> Row:
    """The venue called `text`."""
    return _named(connection, t.venue, text, "venue", "maintain venue list")


def battle(connection: sa.Connection, text: str) -> Row:
    """The battle called `text`."""
    return _named(connection, t.battle, text, "battle", "maintain battle list")


def method(connection: sa.Connection, text: str) -> Row:
    """The waterproofing method called `text`."""
    return _named(connection, t.method, text, "waterproofing method", "maintain method list")


def position(connection: sa.Connection, text: str) -> Row:
    """The position written as ship/position; the row has the ship's name as `ship`."""
    ship_text, slash, name = text.partition("/")
    if not slash:
        raise NotFound(f"{text!r} names no position", hint="write ship/position, for example halberd/rudder-servo")
    of = ship(connection, ship_text)
    names = list(connection.execute(sa.select(t.position.c.name).where(t.position.c.ship_id == of.id)).scalars())
    found = match(names, name, f"position on {of.name}", f"maintain show {quoted(of.name)}")
    query = sa.select(t.position, sa.literal(of.name).label("ship"))
    return connection.execute(query.where(t.position.c.ship_id == of.id, t.position.c.name == found)).one()


def part(connection: sa.Connection, text: str, on: date | None = None) -> Row:
    """The part with the tag `text`, or the one in the position written as ship/position, now or on a day."""
    if "/" not in text:
        return _named(connection, t.part, text, "part", "maintain part list", key="tag")
    where = position(connection, text)
    found = installed_in(connection, where.id, on)
    if found is None:
        raise NotFound(f"no part is installed in {where.ship}/{where.name}", hint="fit one with: maintain part install")
    return found


def installed_in(connection: sa.Connection, position_id: int, on: date | None = None) -> Row | None:
    """The part installed in a position now, or on a day, if any."""
    query = sa.select(t.part).join(t.placement, t.placement.c.part_id == t.part.c.id)
    held = t.placement.c.until_on.is_(None) if on is None else places.held_on(on)
    return connection.execute(query.where(t.placement.c.position_id == position_id, held)).first()
