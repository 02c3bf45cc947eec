"""Failures, suspects and retests."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0004"
down_revision = "0003"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "failure",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("uid", sa.String(), nullable=False),
        sa.Column("part_id", sa.Integer(), nullable=False),
        sa.Column("position_id", sa.Integer(), nullable=True),
        sa.Column("sortie_id", sa.Integer(), nullable=True),
        sa.Column("found_on", sa.Date(), nullable=False),
        sa.Column("found_sortie", sa.Integer(), nullable=False),
        sa.Column("last_good_on", sa.Date(), nullable=True),
        sa.Column("last_good_sortie", sa.Integer(), nullable=True),
        sa.Column("mode", sa.String(), nullable=False),
        sa.Column("cause", sa.String(), nullable=False),
        sa.Column("effect", sa.String(), nullable=False),
        sa.Column("found_by", sa.String(), nullable=False),
        sa.Column("secondary", sa.Boolean(), nullable=False),
        sa.Column("caused_by_id", sa.Integer(), nullable=True),
        sa.Column("note", sa.String(), nullable=True),
        sa.CheckConstraint(
            "cause IN ('water', 'wear', 'knock', 'ball hit', 'overload', 'wrong setting', 'bad joint', 'assembly', 'stale', 'unknown')",
            name=op.f("ck_failure_cause_known"),
        ),
        sa.CheckConstraint(
            "effect IN ('none', 'nuisance', 'lost function', 'out of battle', 'sank', 'unknown')",
            name=op.f("ck_failure_effect_known"),
        ),
        sa.CheckConstraint(
            "found_by IN ('in battle', 'pre-battle check', 'demand test', 'opened', 'roll call', 'bench', 'unknown')",
            name=op.f("ck_failure_found_by_known"),
        ),
        sa.CheckConstraint(
            "mode IN ('dead', 'erratic', 'hard over', 'slow', 'noisy', 'hot', 'leaks water', 'leaks gas', 'won''t prime', 'jams', 'came off', 'broken', 'corroded', 'won''t hold charge', 'no signal', 'operator', 'just died')",
            name=op.f("ck_failure_mode_known"),
        ),
        sa.CheckConstraint("note <> ''", name=op.f("ck_failure_note_not_empty")),
        sa.CheckConstraint(
            "(last_good_on IS NULL) = (last_good_sortie IS NULL)", name=op.f("ck_failure_last_good_complete")
        ),
        sa.CheckConstraint("caused_by_id <> id", name=op.f("ck_failure_not_its_own_cause")),
        sa.CheckConstraint("caused_by_id IS NULL OR secondary", name=op.f("ck_failure_cause_only_of_secondary")),
        sa.CheckConstraint("found_sortie >= 0", name=op.f("ck_failure_found_sortie_at_least_0")),
        sa.CheckConstraint(
            "last_good_on IS NULL OR (last_good_on, last_good_sortie) <= (found_on, found_sortie)",
            name=op.f("ck_failure_found_after_last_good"),
        ),
        sa.CheckConstraint("last_good_sortie >= 0", name=op.f("ck_failure_last_good_sortie_at_least_0")),
        sa.CheckConstraint("secondary IN (true, false)", name=op.f("ck_failure_secondary_yes_or_no")),
        sa.ForeignKeyConstraint(
            ["caused_by_id"], ["failure.id"], name=op.f("fk_failure_caused_by_id_failure"), ondelete="RESTRICT"
        ),
        sa.ForeignKeyConstraint(["part_id"], ["part.id"], name=op.f("fk_failure_part_id_part"), ondelete="RESTRICT"),
        sa.ForeignKeyConstraint(
            ["position_id"], ["position.id"], name=op.f("fk_failure_position_id_position"), ondelete="RESTRICT"
        ),
        sa.ForeignKeyConstraint(
            ["sortie_id"], ["sortie.id"], name=op.f("fk_failure_sortie_id_sortie"), ondelete="RESTRICT"
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_failure")),
        sa.UniqueConstraint("uid", name=op.f("uq_failure_uid")),
        sqlite_strict=True,
    )
    op.create_index(op.f("ix_failure_caused_by_id"), "failure", ["caused_by_id"], unique=False)
    op.create_index(op.f("ix_failure_part_id"), "failure", ["part_id"], unique=False)
    op.create_index(op.f("ix_failure_position_id"), "failure", ["position_id"], unique=False)
    op.create_index(op.f("ix_failure_sortie_id"), "failure", ["sortie_id"], unique=False)
    op.create_table(
        "suspicion",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("uid", sa.String(), nullable=False),
        sa.Column("part_id", sa.Integer(), nullable=False),
        sa.Column("raised_on", sa.Date(), nullable=False),
        sa.Column("mode", sa.String(), nullable=False),
        sa.Column("closed_on", sa.Date(), nullable=True),
        sa.Column("outcome", sa.String(), nullable=True),
        sa.Column("note", sa.String(), nullable=True),
        sa.CheckConstraint(
            "mode IN ('dead', 'erratic', 'hard over', 'slow', 'noisy', 'hot', 'leaks water', 'leaks gas', 'won''t prime', 'jams', 'came off', 'broken', 'corroded', 'won''t hold charge', 'no signal', 'operator', 'just died')",
            name=op.f("ck_suspicion_mode_known"),
        ),
        sa.CheckConstraint("note <> ''", name=op.f("ck_suspicion_note_not_empty")),
        sa.CheckConstraint("outcome IN ('no failure found', 'condemned')", name=op.f("ck_suspicion_outcome_known")),
        sa.CheckConstraint("(closed_on IS NULL) = (outcome IS NULL)", name=op.f("ck_suspicion_closed_with_an_outcome")),
        sa.CheckConstraint(
            "closed_on IS NULL OR raised_on <= closed_on", name=op.f("ck_suspicion_closed_after_raised")
        ),
        sa.ForeignKeyConstraint(["part_id"], ["part.id"], name=op.f("fk_suspicion_part_id_part"), ondelete="RESTRICT"),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_suspicion")),
        sa.UniqueConstraint("uid", name=op.f("uq_suspicion_uid")),
        sqlite_strict=True,
    )
    op.create_index(op.f("ix_suspicion_part_id"), "suspicion", ["part_id"], unique=False)
    op.create_table(
        "retest",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("uid", sa.String(), nullable=False),
        sa.Column("suspicion_id", sa.Integer(), nullable=False),
        sa.Column("tested_on", sa.Date(), nullable=False),
        sa.Column("result", sa.String(), nullable=False),
        sa.Column("note", sa.String(), nullable=True),
        sa.CheckConstraint("note <> ''", name=op.f("ck_retest_note_not_empty")),
        sa.CheckConstraint("result IN ('pass', 'fail')", name=op.f("ck_retest_result_known")),
        sa.ForeignKeyConstraint(
            ["suspicion_id"], ["suspicion.id"], name=op.f("fk_retest_suspicion_id_suspicion"), ondelete="RESTRICT"
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_retest")),
        sa.UniqueConstraint("uid", name=op.f("uq_retest_uid")),
        sqlite_strict=True,
    )
    op.create_index(op.f("ix_retest_suspicion_id"), "retest", ["suspicion_id"], unique=False)


def downgrade() -> None:
    op.drop_table("retest")
    op.drop_table("suspicion")
    op.drop_table("failure")
