"""The club, its ships and the positions on them."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "club",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("uid", sa.String(), nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("currency", sa.String(), nullable=False),
        sa.Column("records_from", sa.Date(), nullable=True),
        sa.CheckConstraint("name <> ''", name=op.f("ck_club_name_not_empty")),
        sa.CheckConstraint("id = 1", name=op.f("ck_club_one_row")),
        sa.CheckConstraint("length(currency) = 3", name=op.f("ck_club_currency_is_a_code")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_club")),
        sa.UniqueConstraint("uid", name=op.f("uq_club_uid")),
        sqlite_strict=True,
    )
    op.create_table(
        "member",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("uid", sa.String(), nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("left_on", sa.Date(), nullable=True),
        sa.Column("note", sa.String(), nullable=True),
        sa.CheckConstraint("name <> ''", name=op.f("ck_member_name_not_empty")),
        sa.CheckConstraint("note <> ''", name=op.f("ck_member_note_not_empty")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_member")),
        sa.UniqueConstraint("uid", name=op.f("uq_member_uid")),
        sqlite_strict=True,
    )
    op.create_index("uq_member_name_folded", "member", [sa.literal_column("lower(name)")], unique=True)
    op.create_table(
        "ship",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("uid", sa.String(), nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("club_number", sa.String(), nullable=True),
        sa.Column("captain_id", sa.Integer(), nullable=True),
        sa.Column("type", sa.String(), nullable=True),
        sa.Column("state", sa.String(), nullable=False),
        sa.Column("state_since", sa.Date(), nullable=True),
        sa.Column("records_from", sa.Date(), nullable=True),
        sa.Column("note", sa.String(), nullable=True),
        sa.CheckConstraint("club_number <> ''", name=op.f("ck_ship_club_number_not_empty")),
        sa.CheckConstraint("name <> ''", name=op.f("ck_ship_name_not_empty")),
        sa.CheckConstraint("note <> ''", name=op.f("ck_ship_note_not_empty")),
        sa.CheckConstraint(
            "state IN ('in commission', 'dry dock', 'lost', 'paid off')", name=op.f("ck_ship_state_known")
        ),
        sa.CheckConstraint("type <> ''", name=op.f("ck_ship_type_not_empty")),
        sa.ForeignKeyConstraint(
            ["captain_id"], ["member.id"], name=op.f("fk_ship_captain_id_member"), ondelete="RESTRICT"
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_ship")),
        sa.UniqueConstraint("club_number", name=op.f("uq_ship_club_number")),
        sa.UniqueConstraint("uid", name=op.f("uq_ship_uid")),
        sqlite_strict=True,
    )
    op.create_index(op.f("ix_ship_captain_id"), "ship", ["captain_id"], unique=False)
    op.create_index("uq_ship_name_folded", "ship", [sa.literal_column("lower(name)")], unique=True)
    op.create_table(
        "family",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("uid", sa.String(), nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("category", sa.String(), nullable=False),
        sa.Column("tracking", sa.String(), nullable=False),
        sa.Column("hidden", sa.Boolean(), nullable=False),
        sa.Column("ages_on_shelf", sa.Boolean(), nullable=False),
        sa.Column("unit_cost_cents", sa.Integer(), nullable=True),
        sa.Column("lead_time_days", sa.Integer(), nullable=True),
        sa.Column("shelf_life_days", sa.Integer(), nullable=True),
        sa.Column("fitting_minutes", sa.Integer(), nullable=True),
        sa.Column("reorder_line", sa.Integer(), nullable=True),
        sa.Column("weight_grams", sa.Double(), nullable=True),
        sa.Column("note", sa.String(), nullable=True),
        sa.CheckConstraint(
            "category IN ('servo', 'pump', 'motor', 'receiver', 'seal', 'speed controller', 'battery', 'valve', 'regulator', 'switch', 'cylinder', 'cannon', 'linkage', 'shaft', 'wiring', 'recovery gear', 'other')",
            name=op.f("ck_family_category_known"),
        ),
        sa.CheckConstraint("name <> ''", name=op.f("ck_family_name_not_empty")),
        sa.CheckConstraint("note <> ''", name=op.f("ck_family_note_not_empty")),
        sa.CheckConstraint("tracking IN ('tagged', 'counted')", name=op.f("ck_family_tracking_known")),
        sa.CheckConstraint("ages_on_shelf IN (true, false)", name=op.f("ck_family_ages_on_shelf_yes_or_no")),
        sa.CheckConstraint("fitting_minutes >= 0", name=op.f("ck_family_fitting_minutes_at_least_0")),
        sa.CheckConstraint("hidden IN (true, false)", name=op.f("ck_family_hidden_yes_or_no")),
        sa.CheckConstraint("lead_time_days >= 0", name=op.f("ck_family_lead_time_days_at_least_0")),
        sa.CheckConstraint("reorder_line >= 0", name=op.f("ck_family_reorder_line_at_least_0")),
        sa.CheckConstraint("shelf_life_days >= 1", name=op.f("ck_family_shelf_life_days_at_least_1")),
        sa.CheckConstraint("unit_cost_cents >= 0", name=op.f("ck_family_unit_cost_cents_at_least_0")),
        sa.CheckConstraint("weight_grams >= 0", name=op.f("ck_family_weight_grams_not_negative")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_family")),
        sa.UniqueConstraint("uid", name=op.f("uq_family_uid")),
        sqlite_strict=True,
    )
    op.create_index("uq_family_name_folded", "family", [sa.literal_column("lower(name)")], unique=True)
    op.create_table(
        "position",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("uid", sa.String(), nullable=False),
        sa.Column("ship_id", sa.Integer(), nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("system", sa.String(), nullable=False),
        sa.Column("zone", sa.String(), nullable=False),
        sa.Column("dependence", sa.String(), nullable=False),
        sa.Column("bank", sa.String(), nullable=True),
        sa.Column("bank_needs", sa.Integer(), nullable=True),
        sa.Column("powered_by_id", sa.Integer(), nullable=True),
        sa.Column("note", sa.String(), nullable=True),
        sa.CheckConstraint("bank <> ''", name=op.f("ck_position_bank_not_empty")),
        sa.CheckConstraint(
            "dependence IN ('vital', 'degrades', 'nuisance')", name=op.f("ck_position_dependence_known")
        ),
        sa.CheckConstraint("name <> ''", name=op.f("ck_position_name_not_empty")),
        sa.CheckConstraint("note <> ''", name=op.f("ck_position_note_not_empty")),
        sa.CheckConstraint(
            "system IN ('guns', 'steering', 'propulsion', 'radio', 'pumping', 'hull', 'recovery', 'gas')",
            name=op.f("ck_position_system_known"),
        ),
        sa.CheckConstraint(
            "zone IN ('sealed box', 'dry deck', 'bilge', 'external', 'ashore')", name=op.f("ck_position_zone_known")
        ),
        sa.CheckConstraint("(bank IS NULL) = (bank_needs IS NULL)", name=op.f("ck_position_bank_complete")),
        sa.CheckConstraint("bank_needs >= 1", name=op.f("ck_position_bank_needs_at_least_1")),
        sa.CheckConstraint("powered_by_id <> id", name=op.f("ck_position_not_powered_by_itself")),
        sa.ForeignKeyConstraint(
            ["powered_by_id"], ["position.id"], name=op.f("fk_position_powered_by_id_position"), ondelete="RESTRICT"
        ),
        sa.ForeignKeyConstraint(["ship_id"], ["ship.id"], name=op.f("fk_position_ship_id_ship"), ondelete="RESTRICT"),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_position")),
        sa.UniqueConstraint("ship_id", "name", name=op.f("uq_position_ship_id_name")),
        sa.UniqueConstraint("uid", name=op.f("uq_position_uid")),
        sqlite_strict=True,
    )
    op.create_index(op.f("ix_position_powered_by_id"), "position", ["powered_by_id"], unique=False)
    op.create_index(op.f("ix_position_ship_id"), "position", ["ship_id"], unique=False)
    op.create_table(
        "position_family",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("uid", sa.String(), nullable=False),
        sa.Column("position_id", sa.Integer(), nullable=False),
        sa.Column("family_id", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(
            ["family_id"], ["family.id"], name=op.f("fk_position_family_family_id_family"), ondelete="RESTRICT"
        ),
        sa.ForeignKeyConstraint(
            ["position_id"], ["position.id"], name=op.f("fk_position_family_position_id_position"), ondelete="RESTRICT"
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_position_family")),
        sa.UniqueConstraint("position_id", "family_id", name=op.f("uq_position_family_position_id_family_id")),
        sa.UniqueConstraint("uid", name=op.f("uq_position_family_uid")),
        sqlite_strict=True,
    )
    op.create_index(op.f("ix_position_family_family_id"), "position_family", ["family_id"], unique=False)
    op.create_index(op.f("ix_position_family_position_id"), "position_family", ["position_id"], unique=False)


def downgrade() -> None:
    op.drop_table("position_family")
    op.drop_table("position")
    op.drop_table("family")
    op.drop_table("ship")
    op.drop_table("member")
    op.drop_table("club")
