"""Parts, where each has been, and waterproofing."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "part",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("uid", sa.String(), nullable=False),
        sa.Column("tag", sa.String(), nullable=False),
        sa.Column("family_id", sa.Integer(), nullable=False),
        sa.Column("model", sa.String(), nullable=True),
        sa.Column("batch", sa.String(), nullable=True),
        sa.Column("origin", sa.String(), nullable=False),
        sa.Column("prior_use", sa.String(), nullable=False),
        sa.Column("owner_id", sa.Integer(), nullable=True),
        sa.Column("acquired_on", sa.Date(), nullable=True),
        sa.Column("acquired_precision", sa.String(), nullable=True),
        sa.Column("made_on", sa.Date(), nullable=True),
        sa.Column("cost_cents", sa.Integer(), nullable=True),
        sa.Column("note", sa.String(), nullable=True),
        sa.CheckConstraint(
            "acquired_precision IN ('day', 'month', 'season', 'before records')",
            name=op.f("ck_part_acquired_precision_known"),
        ),
        sa.CheckConstraint("batch <> ''", name=op.f("ck_part_batch_not_empty")),
        sa.CheckConstraint("model <> ''", name=op.f("ck_part_model_not_empty")),
        sa.CheckConstraint("note <> ''", name=op.f("ck_part_note_not_empty")),
        sa.CheckConstraint(
            "origin IN ('new', 'second-hand', 'inherited', 'unknown')", name=op.f("ck_part_origin_known")
        ),
        sa.CheckConstraint("prior_use = 'unknown' OR origin = 'new'", name=op.f("ck_part_only_new_parts_are_unused")),
        sa.CheckConstraint("prior_use IN ('none', 'unknown')", name=op.f("ck_part_prior_use_known")),
        sa.CheckConstraint("tag <> ''", name=op.f("ck_part_tag_not_empty")),
        sa.CheckConstraint(
            "(acquired_on IS NULL) = (acquired_precision IS NULL)", name=op.f("ck_part_acquired_complete")
        ),
        sa.CheckConstraint("cost_cents >= 0", name=op.f("ck_part_cost_cents_at_least_0")),
        sa.ForeignKeyConstraint(
            ["family_id"], ["family.id"], name=op.f("fk_part_family_id_family"), ondelete="RESTRICT"
        ),
        sa.ForeignKeyConstraint(["owner_id"], ["member.id"], name=op.f("fk_part_owner_id_member"), ondelete="RESTRICT"),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_part")),
        sa.UniqueConstraint("uid", name=op.f("uq_part_uid")),
        sqlite_strict=True,
    )
    op.create_index(op.f("ix_part_family_id"), "part", ["family_id"], unique=False)
    op.create_index(op.f("ix_part_owner_id"), "part", ["owner_id"], unique=False)
    op.create_index("uq_part_tag_folded", "part", [sa.literal_column("lower(tag)")], unique=True)
    op.create_table(
        "placement",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("uid", sa.String(), nullable=False),
        sa.Column("part_id", sa.Integer(), nullable=False),
        sa.Column("place", sa.String(), nullable=False),
        sa.Column("position_id", sa.Integer(), nullable=True),
        sa.Column("member_id", sa.Integer(), nullable=True),
        sa.Column("from_on", sa.Date(), nullable=False),
        sa.Column("from_sortie", sa.Integer(), nullable=False),
        sa.Column("from_precision", sa.String(), nullable=False),
        sa.Column("until_on", sa.Date(), nullable=True),
        sa.Column("until_sortie", sa.Integer(), nullable=True),
        sa.Column("until_precision", sa.String(), nullable=True),
        sa.Column("reason", sa.String(), nullable=True),
        sa.Column("note", sa.String(), nullable=True),
        sa.CheckConstraint(
            "(place = 'installed') = (position_id IS NOT NULL)", name=op.f("ck_placement_installed_in_a_position")
        ),
        sa.CheckConstraint(
            "(place IN ('captain', 'loan')) = (member_id IS NOT NULL)", name=op.f("ck_placement_held_by_somebody")
        ),
        sa.CheckConstraint(
            "from_precision IN ('day', 'month', 'season', 'before records')",
            name=op.f("ck_placement_from_precision_known"),
        ),
        sa.CheckConstraint("note <> ''", name=op.f("ck_placement_note_not_empty")),
        sa.CheckConstraint(
            "place IN ('installed', 'pool', 'captain', 'loan', 'suspect', 'scrapped', 'lost')",
            name=op.f("ck_placement_place_known"),
        ),
        sa.CheckConstraint(
            "reason IN ('failed', 'working', 'suspect', 'ship paid off', 'ship lost', 'moved', 'correction')",
            name=op.f("ck_placement_reason_known"),
        ),
        sa.CheckConstraint(
            "until_precision IN ('day', 'month', 'season', 'before records')",
            name=op.f("ck_placement_until_precision_known"),
        ),
        sa.CheckConstraint(
            "until_precision IS NULL OR until_precision <> 'before records'", name=op.f("ck_placement_end_is_dated")
        ),
        sa.CheckConstraint(
            "(until_on IS NULL) = (until_sortie IS NULL) AND (until_on IS NULL) = (until_precision IS NULL)",
            name=op.f("ck_placement_end_complete"),
        ),
        sa.CheckConstraint("from_sortie >= 0", name=op.f("ck_placement_from_sortie_at_least_0")),
        sa.CheckConstraint("reason IS NULL OR until_on IS NOT NULL", name=op.f("ck_placement_reason_when_ended")),
        sa.CheckConstraint(
            "until_on IS NULL OR (from_on, from_sortie) <= (until_on, until_sortie)",
            name=op.f("ck_placement_ends_after_start"),
        ),
        sa.CheckConstraint("until_sortie >= 0", name=op.f("ck_placement_until_sortie_at_least_0")),
        sa.ForeignKeyConstraint(
            ["member_id"], ["member.id"], name=op.f("fk_placement_member_id_member"), ondelete="RESTRICT"
        ),
        sa.ForeignKeyConstraint(["part_id"], ["part.id"], name=op.f("fk_placement_part_id_part"), ondelete="RESTRICT"),
        sa.ForeignKeyConstraint(
            ["position_id"], ["position.id"], name=op.f("fk_placement_position_id_position"), ondelete="RESTRICT"
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_placement")),
        sa.UniqueConstraint("uid", name=op.f("uq_placement_uid")),
        sqlite_strict=True,
    )
    op.create_index(op.f("ix_placement_member_id"), "placement", ["member_id"], unique=False)
    op.create_index(op.f("ix_placement_part_id"), "placement", ["part_id"], unique=False)
    op.create_index("ix_placement_part_id_from_on", "placement", ["part_id", "from_on"], unique=False)
    op.create_index(op.f("ix_placement_position_id"), "placement", ["position_id"], unique=False)
    op.create_table(
        "method",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("uid", sa.String(), nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("note", sa.String(), nullable=True),
        sa.CheckConstraint("name <> ''", name=op.f("ck_method_name_not_empty")),
        sa.CheckConstraint("note <> ''", name=op.f("ck_method_note_not_empty")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_method")),
        sa.UniqueConstraint("uid", name=op.f("uq_method_uid")),
        sqlite_strict=True,
    )
    op.create_index("uq_method_name_folded", "method", [sa.literal_column("lower(name)")], unique=True)
    op.create_table(
        "treatment",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("uid", sa.String(), nullable=False),
        sa.Column("part_id", sa.Integer(), nullable=False),
        sa.Column("method_id", sa.Integer(), nullable=False),
        sa.Column("kind", sa.String(), nullable=False),
        sa.Column("done_on", sa.Date(), nullable=False),
        sa.Column("done_precision", sa.String(), nullable=False),
        sa.Column("by_id", sa.Integer(), nullable=True),
        sa.Column("note", sa.String(), nullable=True),
        sa.CheckConstraint(
            "done_precision IN ('day', 'month', 'season', 'before records')",
            name=op.f("ck_treatment_done_precision_known"),
        ),
        sa.CheckConstraint("kind IN ('applied', 'renewed', 'removed')", name=op.f("ck_treatment_kind_known")),
        sa.CheckConstraint("note <> ''", name=op.f("ck_treatment_note_not_empty")),
        sa.ForeignKeyConstraint(["by_id"], ["member.id"], name=op.f("fk_treatment_by_id_member"), ondelete="RESTRICT"),
        sa.ForeignKeyConstraint(
            ["method_id"], ["method.id"], name=op.f("fk_treatment_method_id_method"), ondelete="RESTRICT"
        ),
        sa.ForeignKeyConstraint(["part_id"], ["part.id"], name=op.f("fk_treatment_part_id_part"), ondelete="RESTRICT"),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_treatment")),
        sa.UniqueConstraint("uid", name=op.f("uq_treatment_uid")),
        sqlite_strict=True,
    )
    op.create_index(op.f("ix_treatment_by_id"), "treatment", ["by_id"], unique=False)
    op.create_index(op.f("ix_treatment_method_id"), "treatment", ["method_id"], unique=False)
    op.create_index(op.f("ix_treatment_part_id"), "treatment", ["part_id"], unique=False)
    _create_guards()


def downgrade() -> None:
    _drop_guards()
    op.drop_table("treatment")
    op.drop_table("method")
    op.drop_table("placement")
    op.drop_table("part")


# One part, one place; one position, one part. A moment is (day, sorties already sailed that day); an open end is for ever.
_CLASH = """
    SELECT 1 FROM placement AS other
    WHERE other.id <> NEW.id AND {same}
      AND (other.from_on, other.from_sortie) < (COALESCE(NEW.until_on, {ever}), COALESCE(NEW.until_sortie, 0))
      AND (NEW.from_on, NEW.from_sortie) < (COALESCE(other.until_on, {ever}), COALESCE(other.until_sortie, 0))
"""
_SAME = {
    "part": ("other.part_id = NEW.part_id", "one part, one place"),
    "position": ("other.position_id = NEW.position_id", "one position, one part"),
}


def _create_guards() -> None:
    postgres = op.get_bind().dialect.name == "postgresql"
    for name, (same, message) in _SAME.items():
        if postgres:
            _create_postgres_guard(name, _CLASH.format(same=same, ever="DATE '9999-12-31'"), message)
        else:
            _create_sqlite_guard(name, _CLASH.format(same=same, ever="'9999-12-31'"), message)


def _create_sqlite_guard(name: str, clash: str, message: str) -> None:
    for event in ("INSERT", "UPDATE"):
        op.execute(
            f"CREATE TRIGGER placement_{name}_{event.lower()} BEFORE {event} ON placement WHEN EXISTS ({clash}) "
            f"BEGIN SELECT RAISE(ABORT, '{message}'); END"
        )


def _create_postgres_guard(name: str, clash: str, message: str) -> None:
    # The lock makes two writers of one part or position wait for each other: neither sees the other's row otherwise.
    op.execute(
        f"CREATE FUNCTION placement_{name}_guard() RETURNS trigger LANGUAGE plpgsql AS $$ BEGIN "
        f"PERFORM pg_advisory_xact_lock(hashtext('placement_{name}'), COALESCE(NEW.{name}_id, 0)); "
        f"IF EXISTS ({clash}) THEN RAISE EXCEPTION '{message}' USING ERRCODE = 'exclusion_violation'; END IF; "
        f"RETURN NEW; END $$"
    )
    op.execute(
        f"CREATE TRIGGER placement_{name} BEFORE INSERT OR UPDATE ON placement "
        f"FOR EACH ROW EXECUTE FUNCTION placement_{name}_guard()"
    )


def _drop_guards() -> None:
    # A trigger goes with its table; on PostgreSQL its function stays behind.
    if op.get_bind().dialect.name == "postgresql":
        for name in _SAME:
            op.execute(f"DROP FUNCTION placement_{name}_guard() CASCADE")
