"""The journal of changes."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0007"
down_revision = "0006"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "change",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("uid", sa.String(), nullable=False),
        sa.Column("made_at", sa.String(), nullable=False),
        sa.Column("who", sa.String(), nullable=False),
        sa.Column("command", sa.String(), nullable=False),
        sa.Column("summary", sa.String(), nullable=True),
        sa.Column("undoes_id", sa.Integer(), nullable=True),
        sa.CheckConstraint("command <> ''", name=op.f("ck_change_command_not_empty")),
        sa.CheckConstraint("made_at <> ''", name=op.f("ck_change_made_at_not_empty")),
        sa.CheckConstraint("summary <> ''", name=op.f("ck_change_summary_not_empty")),
        sa.CheckConstraint("who <> ''", name=op.f("ck_change_who_not_empty")),
        sa.ForeignKeyConstraint(
            ["undoes_id"], ["change.id"], name=op.f("fk_change_undoes_id_change"), ondelete="RESTRICT"
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_change")),
        sa.UniqueConstraint("uid", name=op.f("uq_change_uid")),
        sa.UniqueConstraint("undoes_id", name=op.f("uq_change_undoes_id")),
        sqlite_strict=True,
    )
    op.create_index(op.f("ix_change_undoes_id"), "change", ["undoes_id"], unique=False)
    op.create_table(
        "change_row",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("uid", sa.String(), nullable=False),
        sa.Column("change_id", sa.Integer(), nullable=False),
        sa.Column("step", sa.Integer(), nullable=False),
        sa.Column("table_name", sa.String(), nullable=False),
        sa.Column("row_uid", sa.String(), nullable=False),
        sa.Column("action", sa.String(), nullable=False),
        sa.Column("before", sa.String(), nullable=True),
        sa.Column("after", sa.String(), nullable=True),
        sa.CheckConstraint(
            "(action = 'insert') = (before IS NULL) AND (action = 'delete') = (after IS NULL)",
            name=op.f("ck_change_row_before_and_after"),
        ),
        sa.CheckConstraint("action IN ('insert', 'update', 'delete')", name=op.f("ck_change_row_action_known")),
        sa.CheckConstraint("row_uid <> ''", name=op.f("ck_change_row_row_uid_not_empty")),
        sa.CheckConstraint("table_name <> ''", name=op.f("ck_change_row_table_name_not_empty")),
        sa.CheckConstraint("step >= 1", name=op.f("ck_change_row_step_at_least_1")),
        sa.ForeignKeyConstraint(
            ["change_id"], ["change.id"], name=op.f("fk_change_row_change_id_change"), ondelete="RESTRICT"
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_change_row")),
        sa.UniqueConstraint("change_id", "step", name=op.f("uq_change_row_change_id_step")),
        sa.UniqueConstraint("uid", name=op.f("uq_change_row_uid")),
        sqlite_strict=True,
    )
    op.create_index(op.f("ix_change_row_change_id"), "change_row", ["change_id"], unique=False)


def downgrade() -> None:
    op.drop_table("change_row")
    op.drop_table("change")
