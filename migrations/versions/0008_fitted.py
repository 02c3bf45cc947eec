"""Answers worked out from the records, kept until a record changes."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0008"
down_revision = "0007"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "fitted",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("uid", sa.String(), nullable=False),
        sa.Column("question", sa.String(), nullable=False),
        sa.Column("fingerprint", sa.String(), nullable=False),
        sa.Column("payload", sa.String(), nullable=False),
        sa.Column("made_at", sa.String(), nullable=False),
        sa.CheckConstraint("fingerprint <> ''", name=op.f("ck_fitted_fingerprint_not_empty")),
        sa.CheckConstraint("made_at <> ''", name=op.f("ck_fitted_made_at_not_empty")),
        sa.CheckConstraint("payload <> ''", name=op.f("ck_fitted_payload_not_empty")),
        sa.CheckConstraint("question <> ''", name=op.f("ck_fitted_question_not_empty")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_fitted")),
        sa.UniqueConstraint("question", name=op.f("uq_fitted_question")),
        sa.UniqueConstraint("uid", name=op.f("uq_fitted_uid")),
        sqlite_strict=True,
    )


def downgrade() -> None:
    op.drop_table("fitted")
