"""Every change to a record: who, when, by which command, before and after."""

from __future__ import annotations

import sqlalchemy as sa

from maintain.records.tables.base import number, ref, table, text, word

change = table(
    "change",
    text("made_at"),
    text("who"),
    text("command"),
    text("summary", null=True),
    ref("undoes_id", "change", null=True),
    sa.UniqueConstraint("undoes_id"),
)

change_row = table(
    "change_row",
    ref("change_id", "change"),
    number("step", least=1),
    text("table_name"),
    text("row_uid"),
    word("action", ("insert", "update", "delete")),
    sa.Column("before", sa.String, nullable=True),
    sa.Column("after", sa.String, nullable=True),
    sa.UniqueConstraint("change_id", "step"),
    sa.CheckConstraint(
        "(action = 'insert') = (before IS NULL) AND (action = 'delete') = (after IS NULL)", name="before_and_after"
    ),
)
