"""Answers worked out from the records, kept until a record changes; they are no records: nothing is lost with them."""

from __future__ import annotations

import sqlalchemy as sa

from maintain.records.tables.base import table, text

fitted = table(
    "fitted",
    text("question"),
    text("fingerprint"),  # of the records and the program that answered
    text("payload"),
    text("made_at"),
    sa.UniqueConstraint("question"),
)
