"""How a club's own spreadsheets are read."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0014"
down_revision = "0013"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "own_sheet",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("uid", sa.String(), nullable=False),
        sa.Column("fingerprint", sa.String(), nullable=False),
        sa.Column("file", sa.String(), nullable=False),
        sa.Column("kind", sa.String(), nullable=False),
        sa.Column("headings", sa.String(), nullable=False),
        sa.Column("told", sa.String(), nullable=False),
        sa.Column("agreed_on", sa.Date(), nullable=False),
        sa.Column("agreed_by", sa.String(), nullable=False),
        sa.CheckConstraint("fingerprint <> ''", name=op.f("ck_own_sheet_fingerprint_not_empty")),
        sa.CheckConstraint("file <> ''", name=op.f("ck_own_sheet_file_not_empty")),
        sa.CheckConstraint("kind <> ''", name=op.f("ck_own_sheet_kind_not_empty")),
        sa.CheckConstraint("headings <> ''", name=op.f("ck_own_sheet_headings_not_empty")),
        sa.CheckConstraint("told <> ''", name=op.f("ck_own_sheet_told_not_empty")),
        sa.CheckConstraint("agreed_by <> ''", name=op.f("ck_own_sheet_agreed_by_not_empty")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_own_sheet")),
        sa.UniqueConstraint("fingerprint", name=op.f("uq_own_sheet_fingerprint")),
        sa.UniqueConstraint("uid", name=op.f("uq_own_sheet_uid")),
        sqlite_strict=True,
    )


def downgrade() -> None:
    op.drop_table("own_sheet")
