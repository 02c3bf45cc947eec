"""Limits of readings that a club sets itself."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0011"
down_revision = "0010"
branch_labels = None
depends_on = None

_MEASURES = (
    "'pump seconds per litre', 'regulator creep', 'downstream pressure', 'range', 'servo current', 'battery capacity', "
    "'rest volts', 'loaded volts', 'bottle weight', 'leak test', 'line pull'"
)
_CATEGORIES = (
    "'servo', 'pump', 'motor', 'receiver', 'seal', 'speed controller', 'battery', 'valve', 'regulator', 'switch', "
    "'cylinder', 'cannon', 'linkage', 'shaft', 'wiring', 'recovery gear', 'other'"
)


def upgrade() -> None:
    op.create_table(
        "reading_limit",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("uid", sa.String(), nullable=False),
        sa.Column("measure", sa.String(), nullable=False),
        sa.Column("family_id", sa.Integer(), nullable=True),
        sa.Column("category", sa.String(), nullable=True),
        sa.Column("bound", sa.String(), nullable=False),
        sa.Column("value", sa.Double(), nullable=False),
        sa.Column("percent_of_first", sa.Boolean(), nullable=False),
        sa.Column("source", sa.String(), nullable=False),
        sa.Column("note", sa.String(), nullable=True),
        sa.CheckConstraint(f"measure IN ({_MEASURES})", name=op.f("ck_reading_limit_measure_known")),
        sa.CheckConstraint(f"category IN ({_CATEGORIES})", name=op.f("ck_reading_limit_category_known")),
        sa.CheckConstraint("bound IN ('at most', 'at least')", name=op.f("ck_reading_limit_bound_known")),
        sa.CheckConstraint("value >= 0", name=op.f("ck_reading_limit_value_not_negative")),
        sa.CheckConstraint(
            "percent_of_first IN (true, false)", name=op.f("ck_reading_limit_percent_of_first_yes_or_no")
        ),
        sa.CheckConstraint("source <> ''", name=op.f("ck_reading_limit_source_not_empty")),
        sa.CheckConstraint("note <> ''", name=op.f("ck_reading_limit_note_not_empty")),
        sa.CheckConstraint(
            "family_id IS NULL OR category IS NULL", name=op.f("ck_reading_limit_of_family_or_category")
        ),
        sa.ForeignKeyConstraint(
            ["family_id"], ["family.id"], name=op.f("fk_reading_limit_family_id_family"), ondelete="RESTRICT"
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_reading_limit")),
        sa.UniqueConstraint("uid", name=op.f("uq_reading_limit_uid")),
        sa.UniqueConstraint("measure", "family_id", name=op.f("uq_reading_limit_measure_family_id")),
        sa.UniqueConstraint("measure", "category", name=op.f("uq_reading_limit_measure_category")),
        sqlite_strict=True,
    )
    op.create_index(op.f("ix_reading_limit_family_id"), "reading_limit", ["family_id"], unique=False)
    # a club has one limit that holds wherever nothing closer is said
    everywhere = sa.text("family_id IS NULL AND category IS NULL")
    op.create_index(
        op.f("uq_reading_limit_measure_everywhere"),
        "reading_limit",
        ["measure"],
        unique=True,
        sqlite_where=everywhere,
        postgresql_where=everywhere,
    )


def downgrade() -> None:
    op.drop_table("reading_limit")
