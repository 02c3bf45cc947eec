"""What is asked of a ship at the pond: the check before a battle, and the roll call of what is in her."""

from __future__ import annotations

import sqlalchemy as sa

from maintain import vocabulary as say
from maintain.records.tables.base import check, day, number, ref, table, text, word

prebattle_check = table(
    "prebattle_check",
    ref("ship_id", "ship"),
    ref("battle_id", "battle"),
    day("begun_on"),
    day("finished_on", null=True),
    ref("by_id", "member", null=True),
    text("note", null=True),
    sa.UniqueConstraint("ship_id", "battle_id"),
    check("finished_after_begun", "finished_on IS NULL OR begun_on <= finished_on"),
)

# A check that was begun keeps its questions, whatever becomes of the positions.
check_step = table(
    "check_step",
    ref("prebattle_check_id", "prebattle_check"),
    number("step", least=1),
    text("topic"),
    text("question"),
    ref("position_id", "position", null=True),
    sa.UniqueConstraint("prebattle_check_id", "step"),
)

check_answer = table(
    "check_answer",
    ref("prebattle_check_id", "prebattle_check"),
    number("step", least=1),
    text("question"),
    ref("position_id", "position", null=True),
    word("answer", say.CHECK_ANSWERS),
    ref("reading_id", "reading", null=True),
    ref("task_id", "task", null=True),  # the promise it became
    ref("by_id", "member", null=True),
    text("answered_at"),
    text("note", null=True),
    sa.UniqueConstraint("prebattle_check_id", "step"),
    check("promise_is_a_task", "answer = 'promise' OR task_id IS NULL"),
)

roll_call = table(
    "roll_call",
    ref("ship_id", "ship"),
    day("begun_on"),
    day("finished_on", null=True),
    ref("by_id", "member", null=True),
    text("note", null=True),
    sa.UniqueConstraint("ship_id", "begun_on"),
    check("finished_after_begun", "finished_on IS NULL OR begun_on <= finished_on"),
)

roll_call_answer = table(
    "roll_call_answer",
    ref("roll_call_id", "roll_call"),
    ref("position_id", "position"),
    ref("part_id", "part", null=True),  # the one that was there
    word("answer", say.ROLL_CALL_ANSWERS),
    ref("reading_id", "reading", null=True),
    ref("by_id", "member", null=True),
    text("answered_at"),
    text("note", null=True),
    sa.UniqueConstraint("roll_call_id", "position_id"),
    check("part_unless_empty", "answer <> 'empty' OR part_id IS NULL"),
)
