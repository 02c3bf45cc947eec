"""The only way to write: every insert, update and delete is journalled with the row before and after, to be undone."""

from __future__ import annotations

import json
import uuid
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import UTC, date, datetime
from typing import Any

import sqlalchemy as sa

from maintain.errors import NotFound
from maintain.records import tables
from maintain.records.engine import count_on

Row = dict[str, Any]

MADE_BY = "init"  # the command that makes a database: without its row there would be no club


def new_uid() -> str:
    """A name for a row that no other file will give to another row."""
    return uuid.uuid4().hex


def stamp() -> str:
    """The time of a change, to the second."""
    return datetime.now(UTC).isoformat(timespec="seconds")


def _as_json(row: Mapping[str, Any]) -> str:
    plain = {key: value.isoformat() if isinstance(value, date) else value for key, value in row.items()}
    return json.dumps(plain, ensure_ascii=False)


def _from_json(table: sa.Table, text: str) -> Row:
    row: Row = json.loads(text)
    for key, value in row.items():
        if value is not None and isinstance(table.c[key].type, sa.Date):
            row[key] = date.fromisoformat(value)
    return row


def _inserted(result: sa.CursorResult[Any]) -> int:
    assert result.inserted_primary_key is not None
    return int(result.inserted_primary_key[0])


@dataclass
class Recorder:
    """
    Writes rows inside the caller's transaction and keeps the journal.

    Attributes
    ----------
    connection : sqlalchemy.Connection
        Open, in a transaction; reads go through it too.
    who, command : str
        Who makes the change, and by which command.
    undoes_id : int, optional
        The change this one undoes.
    """

    connection: sa.Connection
    who: str
    command: str
    undoes_id: int | None = None
    _change_id: int | None = field(default=None, init=False)
    _steps: int = field(default=0, init=False)

    def insert(self, table: sa.Table, **values: Any) -> int:
        """Add a row; returns its id."""
        row = {"uid": new_uid(), **values}
        row_id = _inserted(self.connection.execute(table.insert().values(**row)))
        self._note(table, "insert", None, self._row(table, row_id))
        return row_id

    def insert_many(self, table: sa.Table, rows: Iterable[Row]) -> None:
        """Add many rows that bring their own id and uid and have the same columns."""
        rows = list(rows)
        if rows:
            self.connection.execute(table.insert(), rows)
            count_on(self.connection, table)
            notes = [self._journal_row(table, "insert", None, row) for row in rows]
            self.connection.execute(tables.change_row.insert(), notes)

    def update(self, table: sa.Table, row_id: int, **values: Any) -> None:
        """Change columns of a row; a change to what already stands there leaves no trace."""
        before = self._row(table, row_id)
        if any(before[key] != value for key, value in values.items()):
            self.connection.execute(table.update().where(table.c.id == row_id).values(**values))
            self._note(table, "update", before, self._row(table, row_id))

    def delete(self, table: sa.Table, row_id: int) -> None:
        """Remove a row; the journal keeps it."""
        before = self._row(table, row_id)
        self.connection.execute(table.delete().where(table.c.id == row_id))
        self._note(table, "delete", before, None)

    def summarise(self, text: str) -> None:
        """Say in one line what the change did, for the journal's readers."""
        if self._change_id is not None:
            change = tables.change
            self.connection.execute(change.update().where(change.c.id == self._change_id).values(summary=text))

    def _row(self, table: sa.Table, row_id: int) -> Row:
        return dict(self.connection.execute(sa.select(table).where(table.c.id == row_id)).mappings().one())

    def _note(self, table: sa.Table, action: str, before: Row | None, after: Row | None) -> None:
        self.connection.execute(tables.change_row.insert().values(**self._journal_row(table, action, before, after)))

    def _journal_row(self, table: sa.Table, action: str, before: Row | None, after: Row | None) -> Row:
        self._steps += 1
        return {
            "uid": new_uid(),
            "change_id": self._change(),
            "step": self._steps,
            "table_name": table.name,
            "row_uid": (after or before or {})["uid"],
            "action": action,
            "before": None if before is None else _as_json(before),
            "after": None if after is None else _as_json(after),
        }

    def _change(self) -> int:
        if self._change_id is None:
            values = {"made_at": stamp(), "who": self.who, "command": self.command, "undoes_id": self.undoes_id}
            added = self.connection.execute(tables.change.insert().values(uid=new_uid(), **values))
            self._change_id = _inserted(added)
        return self._change_id


def last_change(connection: sa.Connection) -> sa.Row[Any]:
    """
    The last change that still stands: neither undone nor itself an undoing, nor the making of the database.

    Raises
    ------
    NotFound
        If nothing is left to undo.
    """
    change, undoing = tables.change, tables.change.alias()
    undone = sa.select(undoing.c.id).where(undoing.c.undoes_id == change.c.id).exists()
    taken_back = sa.or_(change.c.undoes_id.is_not(None), undone, change.c.command == MADE_BY)
    query = sa.select(change).where(~taken_back).order_by(change.c.id.desc()).limit(1)
    found = connection.execute(query).one_or_none()
    if found is None:
        raise NotFound("nothing is left to undo", hint="maintain journal shows all changes")
    return found


def undo(recorder: Recorder, change_id: int) -> int:
    """Take back every row of a change, last first; returns how many rows that were."""
    rows = recorder.connection.execute(
        sa.select(tables.change_row)
        .where(tables.change_row.c.change_id == change_id)
        .order_by(tables.change_row.c.step.desc())
    ).all()
    for row in rows:
        table = tables.metadata.tables[row.table_name]
        if row.action == "delete":
            recorder.insert(table, **_from_json(table, row.before))
            continue
        row_id = recorder.connection.execute(sa.select(table.c.id).where(table.c.uid == row.row_uid)).scalar_one()
        if row.action == "insert":
            recorder.delete(table, row_id)
        else:
            recorder.update(table, row_id, **_from_json(table, row.before))
    return len(rows)
