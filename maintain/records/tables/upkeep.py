"""Measurements, recurring work and legal dates."""

from __future__ import annotations

import sqlalchemy as sa

from maintain import vocabulary as say
from maintain.records.tables.base import amount, check, day, flag, number, ref, table, text, word

reading = table(
    "reading",
    ref("part_id", "part", null=True),
    ref("position_id", "position", null=True),
    word("measure", tuple(say.MEASURES)),
    sa.Column("value", sa.Double, nullable=False),
    text("unit", null=True),
    day("taken_on"),
    ref("by_id", "member", null=True),
    text("note", null=True),
    check("of_something", "part_id IS NOT NULL OR position_id IS NOT NULL"),
)

# What a measure is held against, and who says so: for one family, for a category, or wherever nothing closer is said.
reading_limit = table(
    "reading_limit",
    word("measure", say.GAUGED),
    ref("family_id", "family", null=True),
    word("category", say.CATEGORIES, null=True),
    word("bound", say.BOUNDS),
    amount("value"),
    flag("percent_of_first"),  # of the first reading of the part, not in the measure's own unit
    text("source"),
    text("note", null=True),
    sa.UniqueConstraint("measure", "family_id"),
    sa.UniqueConstraint("measure", "category"),
    check("of_family_or_category", "family_id IS NULL OR category IS NULL"),
)
_EVERYWHERE = sa.and_(reading_limit.c.family_id.is_(None), reading_limit.c.category.is_(None))
sa.Index(
    "uq_reading_limit_measure_everywhere",
    reading_limit.c.measure,
    unique=True,
    sqlite_where=_EVERYWHERE,
    postgresql_where=_EVERYWHERE,
)

task = table(
    "task",
    text("title"),
    ref("ship_id", "ship", null=True),
    ref("position_id", "position", null=True),
    ref("part_id", "part", null=True),
    ref("family_id", "family", null=True),
    word("category", say.CATEGORIES, null=True),
    word("clock", say.TASK_CLOCKS, null=True),
    number("every", null=True, least=1),
    day("due_on", null=True),
    day("starts_on"),
    day("closed_on", null=True),
    text("source", null=True),  # who says so: "common practice", a rule, a regulation
    text("decider", null=True),
    number("work_minutes", null=True),
    text("note", null=True),
    text("why_closed", null=True),
    check("recurs_on_a_clock", "(clock IS NULL) = (every IS NULL)"),
    check("recurs_or_is_due", "clock IS NOT NULL OR due_on IS NOT NULL"),
    check("closed_for_a_reason", "why_closed IS NULL OR closed_on IS NOT NULL"),
)

# A task runs on one clock, as most do; where it runs on several, the others stand here, and the first reached counts.
task_interval = table(
    "task_interval",
    ref("task_id", "task"),
    number("every", least=1),
    word("clock", say.TASK_CLOCKS),
    sa.UniqueConstraint("task_id", "clock"),
)

task_completion = table(
    "task_completion",
    ref("task_id", "task"),
    ref("ship_id", "ship", null=True),
    ref("part_id", "part", null=True),
    day("done_on"),
    ref("by_id", "member", null=True),
    text("note", null=True),
    number("done_sortie", null=True),  # how many she had sailed that day by then; NULL: all of them
)

# The tool shows the date, its source and who decides; it never invents an interval.
certificate = table(
    "certificate",
    ref("part_id", "part"),
    text("kind"),
    day("issued_on", null=True),
    day("expires_on"),
    text("source"),
    text("decider"),
    text("note", null=True),
    check("expires_after_issue", "issued_on IS NULL OR issued_on <= expires_on"),
)
