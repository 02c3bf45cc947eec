"""Salvage after a sinking: its steps, what was found of each part, and when it is to be tried again."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0012"
down_revision = "0011"
branch_labels = None
depends_on = None

_ANSWERS = (
    "'done', 'not done', 'dry', 'damp', 'water', 'not seen', 'pass', 'fail', 'timed', 'damage', 'system', 'trim', "
    "'operator', 'unknown'"
)
_DRYING = "'fan', 'warm air', 'alcohol rinse', 'spray and oil', 'stripped and oiled', 'not dried'"


def upgrade() -> None:
    _create_salvage()
    _create_salvage_step()
    _create_salvage_answer()


def _create_salvage() -> None:
    op.create_table(
        "salvage",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("uid", sa.String(), nullable=False),
        sa.Column("sortie_id", sa.Integer(), nullable=False),
        sa.Column("begun_on", sa.Date(), nullable=False),
        sa.Column("finished_on", sa.Date(), nullable=True),
        sa.CheckConstraint(
            "finished_on IS NULL OR begun_on <= finished_on", name=op.f("ck_salvage_finished_after_begun")
        ),
        _points("salvage", "sortie_id", "sortie"),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_salvage")),
        sa.UniqueConstraint("uid", name=op.f("uq_salvage_uid")),
        sa.UniqueConstraint("sortie_id", name=op.f("uq_salvage_sortie_id")),
        sqlite_strict=True,
    )
    _index("salvage", "sortie_id")


def _create_salvage_step() -> None:
    op.create_table(
        "salvage_step",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("uid", sa.String(), nullable=False),
        sa.Column("salvage_id", sa.Integer(), nullable=False),
        sa.Column("step", sa.Integer(), nullable=False),
        sa.Column("topic", sa.String(), nullable=False),
        sa.Column("question", sa.String(), nullable=False),
        sa.Column("position_id", sa.Integer(), nullable=True),
        sa.Column("part_id", sa.Integer(), nullable=True),
        sa.Column("due_on", sa.Date(), nullable=True),
        sa.CheckConstraint("step >= 1", name=op.f("ck_salvage_step_step_at_least_1")),
        sa.CheckConstraint("topic <> ''", name=op.f("ck_salvage_step_topic_not_empty")),
        sa.CheckConstraint("question <> ''", name=op.f("ck_salvage_step_question_not_empty")),
        sa.CheckConstraint(
            "part_id IS NULL OR position_id IS NOT NULL", name=op.f("ck_salvage_step_part_in_a_position")
        ),
        _points("salvage_step", "salvage_id", "salvage"),
        _points("salvage_step", "position_id", "position"),
        _points("salvage_step", "part_id", "part"),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_salvage_step")),
        sa.UniqueConstraint("uid", name=op.f("uq_salvage_step_uid")),
        sa.UniqueConstraint("salvage_id", "step", name=op.f("uq_salvage_step_salvage_id_step")),
        sqlite_strict=True,
    )
    _index("salvage_step", "salvage_id", "position_id", "part_id")


def _create_salvage_answer() -> None:
    op.create_table(
        "salvage_answer",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("uid", sa.String(), nullable=False),
        sa.Column("salvage_step_id", sa.Integer(), nullable=False),
        sa.Column("answer", sa.String(), nullable=False),
        sa.Column("opened", sa.Boolean(), nullable=False),
        sa.Column("dried", sa.String(), nullable=True),
        sa.Column("opening_id", sa.Integer(), nullable=True),
        sa.Column("reading_id", sa.Integer(), nullable=True),
        sa.Column("by_id", sa.Integer(), nullable=True),
        sa.Column("answered_at", sa.String(), nullable=False),
        sa.Column("note", sa.String(), nullable=True),
        sa.CheckConstraint(f"answer IN ({_ANSWERS})", name=op.f("ck_salvage_answer_answer_known")),
        sa.CheckConstraint("opened IN (true, false)", name=op.f("ck_salvage_answer_opened_yes_or_no")),
        sa.CheckConstraint(f"dried IN ({_DRYING})", name=op.f("ck_salvage_answer_dried_known")),
        sa.CheckConstraint("answered_at <> ''", name=op.f("ck_salvage_answer_answered_at_not_empty")),
        sa.CheckConstraint("note <> ''", name=op.f("ck_salvage_answer_note_not_empty")),
        sa.CheckConstraint(
            "opening_id IS NULL OR answer IN ('dry', 'damp', 'water')",
            name=op.f("ck_salvage_answer_opening_is_a_finding"),
        ),
        _points("salvage_answer", "salvage_step_id", "salvage_step"),
        _points("salvage_answer", "opening_id", "opening"),
        _points("salvage_answer", "reading_id", "reading"),
        _points("salvage_answer", "by_id", "member"),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_salvage_answer")),
        sa.UniqueConstraint("uid", name=op.f("uq_salvage_answer_uid")),
        sa.UniqueConstraint("salvage_step_id", name=op.f("uq_salvage_answer_salvage_step_id")),
        sqlite_strict=True,
    )
    _index("salvage_answer", "salvage_step_id", "opening_id", "reading_id", "by_id")


def _points(table: str, column: str, target: str) -> sa.ForeignKeyConstraint:
    name = op.f(f"fk_{table}_{column}_{target}")
    return sa.ForeignKeyConstraint([column], [f"{target}.id"], name=name, ondelete="RESTRICT")


def _index(table: str, *columns: str) -> None:
    for column in columns:
        op.create_index(op.f(f"ix_{table}_{column}"), table, [column], unique=False)


def downgrade() -> None:
    op.drop_table("salvage_answer")
    op.drop_table("salvage_step")
    op.drop_table("salvage")
