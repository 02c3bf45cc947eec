"""What is done and found after a sinking: its steps, what was answered, and when each part is to be tried again."""

from __future__ import annotations

import sqlalchemy as sa

from maintain import vocabulary as say
from maintain.records.tables.base import check, day, flag, number, ref, table, text, word

salvage = table(
    "salvage",
    ref("sortie_id", "sortie"),  # the one that sank her
    day("begun_on"),
    day("finished_on", null=True),
    sa.UniqueConstraint("sortie_id"),
    check("finished_after_begun", "finished_on IS NULL OR begun_on <= finished_on"),
)

# A salvage that was begun keeps its steps and the parts that were aboard, whatever is moved afterwards.
salvage_step = table(
    "salvage_step",
    ref("salvage_id", "salvage"),
    number("step", least=1),
    text("topic"),
    text("question"),
    ref("position_id", "position", null=True),
    ref("part_id", "part", null=True),
    day("due_on", null=True),  # of a later retest
    sa.UniqueConstraint("salvage_id", "step"),
    check("part_in_a_position", "part_id IS NULL OR position_id IS NOT NULL"),
)

salvage_answer = table(
    "salvage_answer",
    ref("salvage_step_id", "salvage_step"),
    word("answer", say.SALVAGE_ANSWERS),
    flag("opened"),  # its case, not only the box it sits in
    word("dried", say.DRYING, null=True),
    ref("opening_id", "opening", null=True),  # what the finding says of the water
    ref("reading_id", "reading", null=True),  # the test that shows that it worked
    ref("by_id", "member", null=True),
    text("answered_at"),
    text("note", null=True),
    sa.UniqueConstraint("salvage_step_id"),
    check("opening_is_a_finding", "opening_id IS NULL OR answer IN ('dry', 'damp', 'water')"),
)
