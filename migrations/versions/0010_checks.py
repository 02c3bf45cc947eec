"""The questions a check was begun with, and roll calls."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0010"
down_revision = "0009"
branch_labels = None
depends_on = None


def upgrade() -> None:
    _create_check_step()
    _create_roll_call()
    _create_roll_call_answer()


def _create_check_step() -> None:
    op.create_table(
        "check_step",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("uid", sa.String(), nullable=False),
        sa.Column("prebattle_check_id", sa.Integer(), nullable=False),
        sa.Column("step", sa.Integer(), nullable=False),
        sa.Column("topic", sa.String(), nullable=False),
        sa.Column("question", sa.String(), nullable=False),
        sa.Column("position_id", sa.Integer(), nullable=True),
        sa.CheckConstraint("step >= 1", name=op.f("ck_check_step_step_at_least_1")),
        sa.CheckConstraint("topic <> ''", name=op.f("ck_check_step_topic_not_empty")),
        sa.CheckConstraint("question <> ''", name=op.f("ck_check_step_question_not_empty")),
        _points("check_step", "prebattle_check_id", "prebattle_check"),
        _points("check_step", "position_id", "position"),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_check_step")),
        sa.UniqueConstraint("uid", name=op.f("uq_check_step_uid")),
        sa.UniqueConstraint("prebattle_check_id", "step", name=op.f("uq_check_step_prebattle_check_id_step")),
        sqlite_strict=True,
    )
    _index("check_step", "prebattle_check_id", "position_id")


def _create_roll_call() -> None:
    op.create_table(
        "roll_call",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("uid", sa.String(), nullable=False),
        sa.Column("ship_id", sa.Integer(), nullable=False),
        sa.Column("begun_on", sa.Date(), nullable=False),
        sa.Column("finished_on", sa.Date(), nullable=True),
        sa.Column("by_id", sa.Integer(), nullable=True),
        sa.Column("note", sa.String(), nullable=True),
        sa.CheckConstraint("note <> ''", name=op.f("ck_roll_call_note_not_empty")),
        sa.CheckConstraint(
            "finished_on IS NULL OR begun_on <= finished_on", name=op.f("ck_roll_call_finished_after_begun")
        ),
        _points("roll_call", "ship_id", "ship"),
        _points("roll_call", "by_id", "member"),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_roll_call")),
        sa.UniqueConstraint("uid", name=op.f("uq_roll_call_uid")),
        sa.UniqueConstraint("ship_id", "begun_on", name=op.f("uq_roll_call_ship_id_begun_on")),
        sqlite_strict=True,
    )
    _index("roll_call", "ship_id", "by_id")


def _create_roll_call_answer() -> None:
    op.create_table(
        "roll_call_answer",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("uid", sa.String(), nullable=False),
        sa.Column("roll_call_id", sa.Integer(), nullable=False),
        sa.Column("position_id", sa.Integer(), nullable=False),
        sa.Column("part_id", sa.Integer(), nullable=True),
        sa.Column("answer", sa.String(), nullable=False),
        sa.Column("reading_id", sa.Integer(), nullable=True),
        sa.Column("by_id", sa.Integer(), nullable=True),
        sa.Column("answered_at", sa.String(), nullable=False),
        sa.Column("note", sa.String(), nullable=True),
        sa.CheckConstraint(
            "answer IN ('works', 'does not work', 'empty', 'not seen')",
            name=op.f("ck_roll_call_answer_answer_known"),
        ),
        sa.CheckConstraint("answered_at <> ''", name=op.f("ck_roll_call_answer_answered_at_not_empty")),
        sa.CheckConstraint("note <> ''", name=op.f("ck_roll_call_answer_note_not_empty")),
        sa.CheckConstraint("answer <> 'empty' OR part_id IS NULL", name=op.f("ck_roll_call_answer_part_unless_empty")),
        _points("roll_call_answer", "roll_call_id", "roll_call"),
        _points("roll_call_answer", "position_id", "position"),
        _points("roll_call_answer", "part_id", "part"),
        _points("roll_call_answer", "reading_id", "reading"),
        _points("roll_call_answer", "by_id", "member"),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_roll_call_answer")),
        sa.UniqueConstraint("uid", name=op.f("uq_roll_call_answer_uid")),
        sa.UniqueConstraint("roll_call_id", "position_id", name=op.f("uq_roll_call_answer_roll_call_id_position_id")),
        sqlite_strict=True,
    )
    _index("roll_call_answer", "roll_call_id", "position_id", "part_id", "reading_id", "by_id")


def _points(table: str, column: str, target: str) -> sa.ForeignKeyConstraint:
    name = op.f(f"fk_{table}_{column}_{target}")
    return sa.ForeignKeyConstraint([column], [f"{target}.id"], name=name, ondelete="RESTRICT")


def _index(table: str, *columns: str) -> None:
    for column in columns:
        op.create_index(op.f(f"ix_{table}_{column}"), table, [column], unique=False)


def downgrade() -> None:
    op.drop_table("roll_call_answer")
    op.drop_table("roll_call")
    op.drop_table("check_step")
