"""Readings, tasks, certificates and the pre-battle check."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0006"
down_revision = "0005"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "reading",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("uid", sa.String(), nullable=False),
        sa.Column("part_id", sa.Integer(), nullable=True),
        sa.Column("position_id", sa.Integer(), nullable=True),
        sa.Column("measure", sa.String(), nullable=False),
        sa.Column("value", sa.Double(), nullable=False),
        sa.Column("unit", sa.String(), nullable=True),
        sa.Column("taken_on", sa.Date(), nullable=False),
        sa.Column("by_id", sa.Integer(), nullable=True),
        sa.Column("note", sa.String(), nullable=True),
        sa.CheckConstraint(
            "measure IN ('pump seconds per litre', 'regulator creep', 'downstream pressure', 'range', 'servo current', 'battery capacity', 'rest volts', 'loaded volts', 'bottle weight', 'leak test', 'line pull', 'demand test', 'other')",
            name=op.f("ck_reading_measure_known"),
        ),
        sa.CheckConstraint("note <> ''", name=op.f("ck_reading_note_not_empty")),
        sa.CheckConstraint("unit <> ''", name=op.f("ck_reading_unit_not_empty")),
        sa.CheckConstraint("part_id IS NOT NULL OR position_id IS NOT NULL", name=op.f("ck_reading_of_something")),
        sa.ForeignKeyConstraint(["by_id"], ["member.id"], name=op.f("fk_reading_by_id_member"), ondelete="RESTRICT"),
        sa.ForeignKeyConstraint(["part_id"], ["part.id"], name=op.f("fk_reading_part_id_part"), ondelete="RESTRICT"),
        sa.ForeignKeyConstraint(
            ["position_id"], ["position.id"], name=op.f("fk_reading_position_id_position"), ondelete="RESTRICT"
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_reading")),
        sa.UniqueConstraint("uid", name=op.f("uq_reading_uid")),
        sqlite_strict=True,
    )
    op.create_index(op.f("ix_reading_by_id"), "reading", ["by_id"], unique=False)
    op.create_index(op.f("ix_reading_part_id"), "reading", ["part_id"], unique=False)
    op.create_index(op.f("ix_reading_position_id"), "reading", ["position_id"], unique=False)
    op.create_table(
        "task",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("uid", sa.String(), nullable=False),
        sa.Column("title", sa.String(), nullable=False),
        sa.Column("ship_id", sa.Integer(), nullable=True),
        sa.Column("position_id", sa.Integer(), nullable=True),
        sa.Column("part_id", sa.Integer(), nullable=True),
        sa.Column("family_id", sa.Integer(), nullable=True),
        sa.Column("category", sa.String(), nullable=True),
        sa.Column("clock", sa.String(), nullable=True),
        sa.Column("every", sa.Integer(), nullable=True),
        sa.Column("due_on", sa.Date(), nullable=True),
        sa.Column("starts_on", sa.Date(), nullable=False),
        sa.Column("closed_on", sa.Date(), nullable=True),
        sa.Column("source", sa.String(), nullable=True),
        sa.Column("decider", sa.String(), nullable=True),
        sa.Column("work_minutes", sa.Integer(), nullable=True),
        sa.Column("note", sa.String(), nullable=True),
        sa.CheckConstraint(
            "category IN ('servo', 'pump', 'motor', 'receiver', 'seal', 'speed controller', 'battery', 'valve', 'regulator', 'switch', 'cylinder', 'cannon', 'linkage', 'shaft', 'wiring', 'recovery gear', 'other')",
            name=op.f("ck_task_category_known"),
        ),
        sa.CheckConstraint(
            "clock IN ('days', 'battle days', 'sorties', 'wet sorties', 'immersions', 'shots')",
            name=op.f("ck_task_clock_known"),
        ),
        sa.CheckConstraint("decider <> ''", name=op.f("ck_task_decider_not_empty")),
        sa.CheckConstraint("note <> ''", name=op.f("ck_task_note_not_empty")),
        sa.CheckConstraint("source <> ''", name=op.f("ck_task_source_not_empty")),
        sa.CheckConstraint("title <> ''", name=op.f("ck_task_title_not_empty")),
        sa.CheckConstraint("(clock IS NULL) = (every IS NULL)", name=op.f("ck_task_recurs_on_a_clock")),
        sa.CheckConstraint("clock IS NOT NULL OR due_on IS NOT NULL", name=op.f("ck_task_recurs_or_is_due")),
        sa.CheckConstraint("every >= 1", name=op.f("ck_task_every_at_least_1")),
        sa.CheckConstraint("work_minutes >= 0", name=op.f("ck_task_work_minutes_at_least_0")),
        sa.ForeignKeyConstraint(
            ["family_id"], ["family.id"], name=op.f("fk_task_family_id_family"), ondelete="RESTRICT"
        ),
        sa.ForeignKeyConstraint(["part_id"], ["part.id"], name=op.f("fk_task_part_id_part"), ondelete="RESTRICT"),
        sa.ForeignKeyConstraint(
            ["position_id"], ["position.id"], name=op.f("fk_task_position_id_position"), ondelete="RESTRICT"
        ),
        sa.ForeignKeyConstraint(["ship_id"], ["ship.id"], name=op.f("fk_task_ship_id_ship"), ondelete="RESTRICT"),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_task")),
        sa.UniqueConstraint("uid", name=op.f("uq_task_uid")),
        sqlite_strict=True,
    )
    op.create_index(op.f("ix_task_family_id"), "task", ["family_id"], unique=False)
    op.create_index(op.f("ix_task_part_id"), "task", ["part_id"], unique=False)
    op.create_index(op.f("ix_task_position_id"), "task", ["position_id"], unique=False)
    op.create_index(op.f("ix_task_ship_id"), "task", ["ship_id"], unique=False)
    op.create_table(
        "task_completion",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("uid", sa.String(), nullable=False),
        sa.Column("task_id", sa.Integer(), nullable=False),
        sa.Column("ship_id", sa.Integer(), nullable=True),
        sa.Column("part_id", sa.Integer(), nullable=True),
        sa.Column("done_on", sa.Date(), nullable=False),
        sa.Column("by_id", sa.Integer(), nullable=True),
        sa.Column("note", sa.String(), nullable=True),
        sa.CheckConstraint("note <> ''", name=op.f("ck_task_completion_note_not_empty")),
        sa.ForeignKeyConstraint(
            ["by_id"], ["member.id"], name=op.f("fk_task_completion_by_id_member"), ondelete="RESTRICT"
        ),
        sa.ForeignKeyConstraint(
            ["part_id"], ["part.id"], name=op.f("fk_task_completion_part_id_part"), ondelete="RESTRICT"
        ),
        sa.ForeignKeyConstraint(
            ["ship_id"], ["ship.id"], name=op.f("fk_task_completion_ship_id_ship"), ondelete="RESTRICT"
        ),
        sa.ForeignKeyConstraint(
            ["task_id"], ["task.id"], name=op.f("fk_task_completion_task_id_task"), ondelete="RESTRICT"
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_task_completion")),
        sa.UniqueConstraint("uid", name=op.f("uq_task_completion_uid")),
        sqlite_strict=True,
    )
    op.create_index(op.f("ix_task_completion_by_id"), "task_completion", ["by_id"], unique=False)
    op.create_index(op.f("ix_task_completion_part_id"), "task_completion", ["part_id"], unique=False)
    op.create_index(op.f("ix_task_completion_ship_id"), "task_completion", ["ship_id"], unique=False)
    op.create_index(op.f("ix_task_completion_task_id"), "task_completion", ["task_id"], unique=False)
    op.create_table(
        "certificate",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("uid", sa.String(), nullable=False),
        sa.Column("part_id", sa.Integer(), nullable=False),
        sa.Column("kind", sa.String(), nullable=False),
        sa.Column("issued_on", sa.Date(), nullable=True),
        sa.Column("expires_on", sa.Date(), nullable=False),
        sa.Column("source", sa.String(), nullable=False),
        sa.Column("decider", sa.String(), nullable=False),
        sa.Column("note", sa.String(), nullable=True),
        sa.CheckConstraint("decider <> ''", name=op.f("ck_certificate_decider_not_empty")),
        sa.CheckConstraint("kind <> ''", name=op.f("ck_certificate_kind_not_empty")),
        sa.CheckConstraint("note <> ''", name=op.f("ck_certificate_note_not_empty")),
        sa.CheckConstraint("source <> ''", name=op.f("ck_certificate_source_not_empty")),
        sa.CheckConstraint(
            "issued_on IS NULL OR issued_on <= expires_on", name=op.f("ck_certificate_expires_after_issue")
        ),
        sa.ForeignKeyConstraint(
            ["part_id"], ["part.id"], name=op.f("fk_certificate_part_id_part"), ondelete="RESTRICT"
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_certificate")),
        sa.UniqueConstraint("uid", name=op.f("uq_certificate_uid")),
        sqlite_strict=True,
    )
    op.create_index(op.f("ix_certificate_part_id"), "certificate", ["part_id"], unique=False)
    op.create_table(
        "prebattle_check",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("uid", sa.String(), nullable=False),
        sa.Column("ship_id", sa.Integer(), nullable=False),
        sa.Column("battle_id", sa.Integer(), nullable=False),
        sa.Column("begun_on", sa.Date(), nullable=False),
        sa.Column("finished_on", sa.Date(), nullable=True),
        sa.Column("by_id", sa.Integer(), nullable=True),
        sa.Column("note", sa.String(), nullable=True),
        sa.CheckConstraint("note <> ''", name=op.f("ck_prebattle_check_note_not_empty")),
        sa.CheckConstraint(
            "finished_on IS NULL OR begun_on <= finished_on", name=op.f("ck_prebattle_check_finished_after_begun")
        ),
        sa.ForeignKeyConstraint(
            ["battle_id"], ["battle.id"], name=op.f("fk_prebattle_check_battle_id_battle"), ondelete="RESTRICT"
        ),
        sa.ForeignKeyConstraint(
            ["by_id"], ["member.id"], name=op.f("fk_prebattle_check_by_id_member"), ondelete="RESTRICT"
        ),
        sa.ForeignKeyConstraint(
            ["ship_id"], ["ship.id"], name=op.f("fk_prebattle_check_ship_id_ship"), ondelete="RESTRICT"
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_prebattle_check")),
        sa.UniqueConstraint("ship_id", "battle_id", name=op.f("uq_prebattle_check_ship_id_battle_id")),
        sa.UniqueConstraint("uid", name=op.f("uq_prebattle_check_uid")),
        sqlite_strict=True,
    )
    op.create_index(op.f("ix_prebattle_check_battle_id"), "prebattle_check", ["battle_id"], unique=False)
    op.create_index(op.f("ix_prebattle_check_by_id"), "prebattle_check", ["by_id"], unique=False)
    op.create_index(op.f("ix_prebattle_check_ship_id"), "prebattle_check", ["ship_id"], unique=False)
    op.create_table(
        "check_answer",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("uid", sa.String(), nullable=False),
        sa.Column("prebattle_check_id", sa.Integer(), nullable=False),
        sa.Column("step", sa.Integer(), nullable=False),
        sa.Column("question", sa.String(), nullable=False),
        sa.Column("position_id", sa.Integer(), nullable=True),
        sa.Column("answer", sa.String(), nullable=False),
        sa.Column("reading_id", sa.Integer(), nullable=True),
        sa.Column("task_id", sa.Integer(), nullable=True),
        sa.Column("by_id", sa.Integer(), nullable=True),
        sa.Column("answered_at", sa.String(), nullable=False),
        sa.Column("note", sa.String(), nullable=True),
        sa.CheckConstraint("answer = 'promise' OR task_id IS NULL", name=op.f("ck_check_answer_promise_is_a_task")),
        sa.CheckConstraint(
            "answer IN ('pass', 'fail', 'not done', 'promise')", name=op.f("ck_check_answer_answer_known")
        ),
        sa.CheckConstraint("answered_at <> ''", name=op.f("ck_check_answer_answered_at_not_empty")),
        sa.CheckConstraint("note <> ''", name=op.f("ck_check_answer_note_not_empty")),
        sa.CheckConstraint("question <> ''", name=op.f("ck_check_answer_question_not_empty")),
        sa.CheckConstraint("step >= 1", name=op.f("ck_check_answer_step_at_least_1")),
        sa.ForeignKeyConstraint(
            ["by_id"], ["member.id"], name=op.f("fk_check_answer_by_id_member"), ondelete="RESTRICT"
        ),
        sa.ForeignKeyConstraint(
            ["position_id"], ["position.id"], name=op.f("fk_check_answer_position_id_position"), ondelete="RESTRICT"
        ),
        sa.ForeignKeyConstraint(
            ["prebattle_check_id"],
            ["prebattle_check.id"],
            name=op.f("fk_check_answer_prebattle_check_id_prebattle_check"),
            ondelete="RESTRICT",
        ),
        sa.ForeignKeyConstraint(
            ["reading_id"], ["reading.id"], name=op.f("fk_check_answer_reading_id_reading"), ondelete="RESTRICT"
        ),
        sa.ForeignKeyConstraint(
            ["task_id"], ["task.id"], name=op.f("fk_check_answer_task_id_task"), ondelete="RESTRICT"
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_check_answer")),
        sa.UniqueConstraint("prebattle_check_id", "step", name=op.f("uq_check_answer_prebattle_check_id_step")),
        sa.UniqueConstraint("uid", name=op.f("uq_check_answer_uid")),
        sqlite_strict=True,
    )
    op.create_index(op.f("ix_check_answer_by_id"), "check_answer", ["by_id"], unique=False)
    op.create_index(op.f("ix_check_answer_position_id"), "check_answer", ["position_id"], unique=False)
    op.create_index(op.f("ix_check_answer_prebattle_check_id"), "check_answer", ["prebattle_check_id"], unique=False)
    op.create_index(op.f("ix_check_answer_reading_id"), "check_answer", ["reading_id"], unique=False)
    op.create_index(op.f("ix_check_answer_task_id"), "check_answer", ["task_id"], unique=False)


def downgrade() -> None:
    op.drop_table("check_answer")
    op.drop_table("prebattle_check")
    op.drop_table("certificate")
    op.drop_table("task_completion")
    op.drop_table("task")
    op.drop_table("reading")
