"""Answers kept in the database: read and written here, outside the journal, since they are no records."""

from __future__ import annotations

import hashlib

import sqlalchemy as sa

from maintain.records import tables as t
from maintain.records.journal import new_uid, stamp

STANDING = "standing"  # the fingerprint of what is kept whatever changes


def state_of(connection: sa.Connection) -> str:
    """
    Fingerprint of the records.

    Every command writes to the journal, whose rows are only ever added: its last row tells of all of them. The last id
    of each table tells of rows that came by another way. None of this reads more than the ends of indexes.
    """
    listed = (*t.RECORDS, t.change, t.change_row)
    ends = sa.select(*(sa.select(sa.func.max(each.c.id)).scalar_subquery().label(each.name) for each in listed))
    return hashlib.sha256(repr(tuple(connection.execute(ends).one())).encode()).hexdigest()


def read(connection: sa.Connection, question: str, fingerprint: str) -> str | None:
    """The answer kept to a question, if it was made from these records by this program."""
    mine = (t.fitted.c.question == question, t.fitted.c.fingerprint == fingerprint)
    found = connection.execute(sa.select(t.fitted.c.payload).where(*mine)).scalar()
    return None if found is None else str(found)


def forget(connection: sa.Connection) -> None:
    """Forget all that records led to."""
    connection.execute(t.fitted.delete().where(t.fitted.c.fingerprint != STANDING))


def write(connection: sa.Connection, question: str, fingerprint: str, payload: str) -> None:
    """Keep an answer in place of an earlier one, and forget all that other records led to."""
    told = t.fitted.c
    replaced = told.question == question
    if fingerprint != STANDING:
        replaced |= told.fingerprint.not_in((fingerprint, STANDING))
    connection.execute(t.fitted.delete().where(replaced))
    made = {"fingerprint": fingerprint, "payload": payload, "made_at": stamp()}
    connection.execute(t.fitted.insert().values(uid=new_uid(), question=question, **made))
