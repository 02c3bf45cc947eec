"""Files of what is asked at the pond: checks before a battle and roll calls."""

from __future__ import annotations

from maintain import vocabulary as say
from maintain.exchange.field import NOTE, UID, Sheet, day, ref, text, whole, word

CHECKS = Sheet(
    "checks.csv",
    "prebattle_check",
    "check",
    "Checks of a ship before a battle.",
    (
        ref("Ship", "ship_id", "ship", "The ship.", needed=True),
        ref("Battle", "battle_id", "battle", "The battle.", needed=True),
        day("Begun on", "begun_on", "Day it was begun.", needed=True),
        day("Finished on", "finished_on", "Day it was finished."),
        ref("By", "by_id", "member", "Who checked."),
        NOTE,
        UID,
    ),
    identity=("battle_id", "ship_id"),
    unique=True,
    label="{ship_id} {battle_id}",
)

CHECK_STEPS = Sheet(
    "check_steps.csv",
    "check_step",
    "question",
    "Questions a check was begun with, step by step.",
    (
        ref("Check", "prebattle_check_id", "prebattle_check", "The check.", needed=True),
        whole("Step", "step", "Which step, from 1.", needed=True, least=1),
        text("Topic", "topic", "What it is about, in one word: pump, range, bottle ...", needed=True),
        text("Question", "question", "What is asked.", needed=True),
        ref("Position", "position_id", "position", "Of which position."),
        UID,
    ),
    identity=("prebattle_check_id", "step"),
    unique=True,
)

CHECK_ANSWERS = Sheet(
    "check_answers.csv",
    "check_answer",
    "answer",
    "Answers of a check, step by step.",
    (
        ref("Check", "prebattle_check_id", "prebattle_check", "The check.", needed=True),
        whole("Step", "step", "Which step, from 1.", needed=True, least=1),
        text("Question", "question", "What was asked.", needed=True),
        ref("Position", "position_id", "position", "Of which position."),
        word("Answer", "answer", say.CHECK_ANSWERS, "What was found.", needed=True),
        ref("Reading", "reading_id", "reading", "The value measured."),
        ref("Task", "task_id", "task", "The promise it became."),
        ref("By", "by_id", "member", "Who answered."),
        text("Answered at", "answered_at", "When.", needed=True),
        NOTE,
        UID,
    ),
    identity=("prebattle_check_id", "step"),
    unique=True,
)

ROLL_CALLS = Sheet(
    "roll_calls.csv",
    "roll_call",
    "roll call",
    "Roll calls of a ship: what is in her, and does it work?",
    (
        ref("Ship", "ship_id", "ship", "The ship.", needed=True),
        day("Begun on", "begun_on", "Day it was begun.", needed=True),
        day("Finished on", "finished_on", "Day it was finished."),
        ref("By", "by_id", "member", "Who called."),
        NOTE,
        UID,
    ),
    identity=("begun_on", "ship_id"),
    unique=True,
    label="{ship_id} {begun_on}",
)

ROLL_CALL_ANSWERS = Sheet(
    "roll_call_answers.csv",
    "roll_call_answer",
    "answer",
    "Answers of a roll call, position by position.",
    (
        ref("Roll call", "roll_call_id", "roll_call", "The roll call.", needed=True),
        ref("Position", "position_id", "position", "Of which position.", needed=True),
        ref("Part", "part_id", "part", "The part that was there."),
        word("Answer", "answer", say.ROLL_CALL_ANSWERS, "What was found.", needed=True),
        ref("Reading", "reading_id", "reading", "The test that shows that it worked."),
        ref("By", "by_id", "member", "Who answered."),
        text("Answered at", "answered_at", "When.", needed=True),
        NOTE,
        UID,
    ),
    identity=("roll_call_id", "position_id"),
    unique=True,
)
