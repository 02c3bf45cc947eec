"""Venues, battles, sorties and opened boxes."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision = "0002"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "venue",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("uid", sa.String(), nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("water", sa.String(), nullable=False),
        sa.Column("depth_m", sa.Double(), nullable=True),
        sa.Column("note", sa.String(), nullable=True),
        sa.CheckConstraint("name <> ''", name=op.f("ck_venue_name_not_empty")),
        sa.CheckConstraint("note <> ''", name=op.f("ck_venue_note_not_empty")),
        sa.CheckConstraint(
            "water IN ('fresh', 'treated-fresh', 'brackish', 'salt', 'unknown')", name=op.f("ck_venue_water_known")
        ),
        sa.CheckConstraint("depth_m >= 0", name=op.f("ck_venue_depth_m_not_negative")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_venue")),
        sa.UniqueConstraint("uid", name=op.f("uq_venue_uid")),
        sqlite_strict=True,
    )
    op.create_index("uq_venue_name_folded", "venue", [sa.literal_column("lower(name)")], unique=True)
    op.create_table(
        "battle",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("uid", sa.String(), nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("venue_id", sa.Integer(), nullable=True),
        sa.Column("from_on", sa.Date(), nullable=False),
        sa.Column("until_on", sa.Date(), nullable=False),
        sa.Column("state", sa.String(), nullable=False),
        sa.Column("planned_sorties", sa.Integer(), nullable=True),
        sa.Column("resupply", sa.Boolean(), nullable=False),
        sa.Column("note", sa.String(), nullable=True),
        sa.CheckConstraint("name <> ''", name=op.f("ck_battle_name_not_empty")),
        sa.CheckConstraint("note <> ''", name=op.f("ck_battle_note_not_empty")),
        sa.CheckConstraint("state IN ('planned', 'fought', 'called off')", name=op.f("ck_battle_state_known")),
        sa.CheckConstraint("from_on <= until_on", name=op.f("ck_battle_ends_after_start")),
        sa.CheckConstraint("planned_sorties >= 1", name=op.f("ck_battle_planned_sorties_at_least_1")),
        sa.CheckConstraint("resupply IN (true, false)", name=op.f("ck_battle_resupply_yes_or_no")),
        sa.ForeignKeyConstraint(["venue_id"], ["venue.id"], name=op.f("fk_battle_venue_id_venue"), ondelete="RESTRICT"),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_battle")),
        sa.UniqueConstraint("uid", name=op.f("uq_battle_uid")),
        sqlite_strict=True,
    )
    op.create_index(op.f("ix_battle_venue_id"), "battle", ["venue_id"], unique=False)
    op.create_index("uq_battle_name_folded", "battle", [sa.literal_column("lower(name)")], unique=True)
    op.create_table(
        "sortie",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("uid", sa.String(), nullable=False),
        sa.Column("battle_id", sa.Integer(), nullable=True),
        sa.Column("venue_id", sa.Integer(), nullable=True),
        sa.Column("ship_id", sa.Integer(), nullable=False),
        sa.Column("sailed_on", sa.Date(), nullable=False),
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("minutes_afloat", sa.Double(), nullable=True),
        sa.Column("shots", sa.Integer(), nullable=True),
        sa.Column("hits_above", sa.Integer(), nullable=True),
        sa.Column("hits_on", sa.Integer(), nullable=True),
        sa.Column("hits_below", sa.Integer(), nullable=True),
        sa.Column("wetness", sa.String(), nullable=True),
        sa.Column("ending", sa.String(), nullable=True),
        sa.Column("minutes_under", sa.Double(), nullable=True),
        sa.Column("sinking_cause", sa.String(), nullable=True),
        sa.Column("sinking_system", sa.String(), nullable=True),
        sa.Column("note", sa.String(), nullable=True),
        sa.CheckConstraint(
            "(sinking_cause IS NOT NULL) = (ending IS NOT NULL AND ending = 'sank')",
            name=op.f("ck_sortie_sinking_has_a_cause"),
        ),
        sa.CheckConstraint(
            "ending IN ('recall', 'timer', 'out of control', 'sank')", name=op.f("ck_sortie_ending_known")
        ),
        sa.CheckConstraint(
            "ending IS NULL OR ending <> 'sank' OR wetness IS NOT NULL", name=op.f("ck_sortie_sinking_has_a_wetness")
        ),
        sa.CheckConstraint(
            "minutes_under IS NULL OR (ending IS NOT NULL AND ending = 'sank')",
            name=op.f("ck_sortie_under_water_only_if_sunk"),
        ),
        sa.CheckConstraint("note <> ''", name=op.f("ck_sortie_note_not_empty")),
        sa.CheckConstraint(
            "sinking_cause IN ('damage', 'system', 'trim', 'operator', 'unknown')",
            name=op.f("ck_sortie_sinking_cause_known"),
        ),
        sa.CheckConstraint(
            "sinking_system IN ('guns', 'steering', 'propulsion', 'radio', 'pumping', 'hull', 'recovery', 'gas')",
            name=op.f("ck_sortie_sinking_system_known"),
        ),
        sa.CheckConstraint(
            "sinking_system IS NULL OR (sinking_cause IS NOT NULL AND sinking_cause = 'system')",
            name=op.f("ck_sortie_system_named_for_a_system_cause"),
        ),
        sa.CheckConstraint(
            "wetness <> 'W3' OR minutes_under IS NULL OR minutes_under < 10",
            name=op.f("ck_sortie_under_ten_minutes_is_w3"),
        ),
        sa.CheckConstraint(
            "wetness <> 'W4' OR minutes_under IS NULL OR minutes_under BETWEEN 10 AND 1440",
            name=op.f("ck_sortie_ten_minutes_to_a_day_is_w4"),
        ),
        sa.CheckConstraint(
            "wetness <> 'W5' OR minutes_under IS NULL OR minutes_under > 1440",
            name=op.f("ck_sortie_more_than_a_day_is_w5"),
        ),
        sa.CheckConstraint("wetness IN ('W0', 'W1', 'W2', 'W3', 'W4', 'W5')", name=op.f("ck_sortie_wetness_known")),
        sa.CheckConstraint(
            "wetness IS NULL OR (wetness IN ('W3', 'W4', 'W5')) = (ending IS NOT NULL AND ending = 'sank')",
            name=op.f("ck_sortie_sank_means_w3_or_worse"),
        ),
        sa.CheckConstraint("hits_above >= 0", name=op.f("ck_sortie_hits_above_at_least_0")),
        sa.CheckConstraint("hits_below >= 0", name=op.f("ck_sortie_hits_below_at_least_0")),
        sa.CheckConstraint("hits_on >= 0", name=op.f("ck_sortie_hits_on_at_least_0")),
        sa.CheckConstraint("minutes_afloat >= 0", name=op.f("ck_sortie_minutes_afloat_not_negative")),
        sa.CheckConstraint("minutes_under >= 0", name=op.f("ck_sortie_minutes_under_not_negative")),
        sa.CheckConstraint("number >= 1", name=op.f("ck_sortie_number_at_least_1")),
        sa.CheckConstraint("shots >= 0", name=op.f("ck_sortie_shots_at_least_0")),
        sa.ForeignKeyConstraint(
            ["battle_id"], ["battle.id"], name=op.f("fk_sortie_battle_id_battle"), ondelete="RESTRICT"
        ),
        sa.ForeignKeyConstraint(["ship_id"], ["ship.id"], name=op.f("fk_sortie_ship_id_ship"), ondelete="RESTRICT"),
        sa.ForeignKeyConstraint(["venue_id"], ["venue.id"], name=op.f("fk_sortie_venue_id_venue"), ondelete="RESTRICT"),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_sortie")),
        sa.UniqueConstraint("ship_id", "sailed_on", "number", name=op.f("uq_sortie_ship_id_sailed_on_number")),
        sa.UniqueConstraint("uid", name=op.f("uq_sortie_uid")),
        sqlite_strict=True,
    )
    op.create_index(op.f("ix_sortie_battle_id"), "sortie", ["battle_id"], unique=False)
    op.create_index("ix_sortie_battle_id_ship_id", "sortie", ["battle_id", "ship_id"], unique=False)
    op.create_index(op.f("ix_sortie_ship_id"), "sortie", ["ship_id"], unique=False)
    op.create_index(op.f("ix_sortie_venue_id"), "sortie", ["venue_id"], unique=False)
    op.create_table(
        "opening",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("uid", sa.String(), nullable=False),
        sa.Column("ship_id", sa.Integer(), nullable=False),
        sa.Column("sortie_id", sa.Integer(), nullable=True),
        sa.Column("zone", sa.String(), nullable=False),
        sa.Column("position_id", sa.Integer(), nullable=True),
        sa.Column("opened_on", sa.Date(), nullable=False),
        sa.Column("found", sa.String(), nullable=False),
        sa.Column("dried", sa.Boolean(), nullable=False),
        sa.Column("note", sa.String(), nullable=True),
        sa.CheckConstraint("found IN ('dry', 'damp', 'water')", name=op.f("ck_opening_found_known")),
        sa.CheckConstraint("note <> ''", name=op.f("ck_opening_note_not_empty")),
        sa.CheckConstraint(
            "zone IN ('sealed box', 'dry deck', 'bilge', 'external', 'ashore')", name=op.f("ck_opening_zone_known")
        ),
        sa.CheckConstraint("dried IN (true, false)", name=op.f("ck_opening_dried_yes_or_no")),
        sa.ForeignKeyConstraint(
            ["position_id"], ["position.id"], name=op.f("fk_opening_position_id_position"), ondelete="RESTRICT"
        ),
        sa.ForeignKeyConstraint(["ship_id"], ["ship.id"], name=op.f("fk_opening_ship_id_ship"), ondelete="RESTRICT"),
        sa.ForeignKeyConstraint(
            ["sortie_id"], ["sortie.id"], name=op.f("fk_opening_sortie_id_sortie"), ondelete="RESTRICT"
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_opening")),
        sa.UniqueConstraint("uid", name=op.f("uq_opening_uid")),
        sqlite_strict=True,
    )
    op.create_index(op.f("ix_opening_position_id"), "opening", ["position_id"], unique=False)
    op.create_index(op.f("ix_opening_ship_id"), "opening", ["ship_id"], unique=False)
    op.create_index(op.f("ix_opening_sortie_id"), "opening", ["sortie_id"], unique=False)


def downgrade() -> None:
    op.drop_table("opening")
    op.drop_table("sortie")
    op.drop_table("battle")
    op.drop_table("venue")
