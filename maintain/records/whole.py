"""All rows of all tables at once, referring to each other by uid: for files, which know no ids."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import sqlalchemy as sa

from maintain.records.journal import Recorder
from maintain.records.tables import RECORDS

Row = dict[str, Any]
Ids = dict[str, dict[str, int]]  # by table and uid


def read_all(connection: sa.Connection) -> tuple[dict[str, list[Row]], Ids]:
    """All rows by table, oldest first, and the id of each uid."""
    uids: dict[str, dict[int, str]] = {}
    rows: dict[str, list[Row]] = {}
    for table in RECORDS:
        found = [dict(row) for row in connection.execute(sa.select(table).order_by(table.c.id)).mappings()]
        uids[table.name] = {row.pop("id"): row["uid"] for row in found}
        for column, target in _references(table).items():
            for row in found:
                row[column] = uids[target].get(row[column])
        rows[table.name] = found
    return rows, {name: {uid: row_id for row_id, uid in known.items()} for name, known in uids.items()}


def write_table(
    recorder: Recorder, table: sa.Table, new: Sequence[Row], changed: Sequence[tuple[str, Row]], ids: Ids
) -> None:
    """
    Change and add rows of one table; what they refer to stands in `ids` already, and the new rows do afterwards.

    Rows are changed before others are added, so that a place is left before it is taken; what a changed row refers to
    in its own table comes last, since it may be new.
    """
    own = [column for column, target in _references(table).items() if target == table.name]
    known = ids[table.name]
    for uid, row in changed:
        recorder.update(table, known[uid], **_with_ids(table, {key: row[key] for key in row if key not in own}, ids))
    known.update({row["uid"]: known[uid] for uid, row in changed})
    first = max(known.values(), default=0) + 1
    ordered = _causes_first(new, own[0]) if own else new
    known.update({row["uid"]: number for number, row in enumerate(ordered, first)})
    recorder.insert_many(table, [{"id": known[row["uid"]], **_with_ids(table, row, ids)} for row in ordered])
    if own:
        for _, row in changed:
            recorder.update(table, known[row["uid"]], **_with_ids(table, {key: row[key] for key in own}, ids))


def _references(table: sa.Table) -> dict[str, str]:
    return {key.parent.name: key.column.table.name for key in table.foreign_keys}


def _with_ids(table: sa.Table, row: Row, ids: Mapping[str, Mapping[str, int]]) -> Row:
    targets = _references(table)
    return {
        key: ids[targets[key]][value] if key in targets and value is not None else value for key, value in row.items()
    }


def _causes_first(rows: Sequence[Row], column: str) -> list[Row]:
    """Order rows so that each comes after the one it refers to; there are no circles."""
    by_uid = {row["uid"]: row for row in rows}

    def depth(row: Row) -> int:
        steps = 0
        while row[column] in by_uid:
            row, steps = by_uid[row[column]], steps + 1
        return steps

    return sorted(rows, key=depth)
