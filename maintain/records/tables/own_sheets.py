"""How a club's own spreadsheets are read, as somebody agreed; found again by their headings."""

from __future__ import annotations

import sqlalchemy as sa

from maintain.records.tables.base import day, table, text

own_sheet = table(
    "own_sheet",
    text("fingerprint"),  # of its headings
    text("file"),  # the last one read so
    text("kind"),
    text("headings"),
    text("told"),  # what each column says, and how dates, numbers and names are written
    day("agreed_on"),
    text("agreed_by"),
    sa.UniqueConstraint("fingerprint"),
)
