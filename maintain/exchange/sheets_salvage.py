"""Files of what was done and found after sinkings."""

from __future__ import annotations

from maintain import vocabulary as say
from maintain.exchange.field import NOTE, UID, Sheet, day, ref, text, whole, word, yes_no

SALVAGES = Sheet(
    "salvages.csv",
    "salvage",
    "salvage",
    "What was done after a sinking, and found: one row a sinking.",
    (
        ref("Sortie", "sortie_id", "sortie", "The sortie that sank her.", needed=True),
        day("Begun on", "begun_on", "Day it was begun.", needed=True),
        day("Finished on", "finished_on", "Day all was answered but later retests."),
        UID,
    ),
    identity=("sortie_id",),
    unique=True,
    label="salvage of {sortie_id}",
)

SALVAGE_STEPS = Sheet(
    "salvage_steps.csv",
    "salvage_step",
    "step",
    "Steps a salvage was begun with, and the parts that were aboard.",
    (
        ref("Salvage", "salvage_id", "salvage", "The salvage.", needed=True),
        whole("Step", "step", "Which step, from 1.", needed=True, least=1),
        text("Topic", "topic", "What it is about: gas, power, box, look, bench ...", needed=True),
        text("Question", "question", "What is asked.", needed=True),
        ref("Position", "position_id", "position", "Of which position."),
        ref("Part", "part_id", "part", "The part that was in it."),
        day("Due on", "due_on", "Of a retest: not before this day."),
        UID,
    ),
    identity=("salvage_id", "step"),
    unique=True,
    label="{salvage_id}, step {step}",
)

SALVAGE_ANSWERS = Sheet(
    "salvage_answers.csv",
    "salvage_answer",
    "answer",
    "Answers of a salvage, step by step.",
    (
        ref("Step", "salvage_step_id", "salvage_step", "The step.", needed=True),
        word("Answer", "answer", say.SALVAGE_ANSWERS, "What was done or found.", needed=True),
        yes_no("Opened", "opened", "Whether the part's own case was opened."),
        word("Dried", "dried", say.DRYING, "How it was dried; empty is not known."),
        ref("Opening", "opening_id", "opening", "The opening that tells how far the water came."),
        ref("Reading", "reading_id", "reading", "The test that shows that it worked."),
        ref("By", "by_id", "member", "Who answered."),
        text("Answered at", "answered_at", "When.", needed=True),
        NOTE,
        UID,
    ),
    identity=("salvage_step_id",),
    unique=True,
)
