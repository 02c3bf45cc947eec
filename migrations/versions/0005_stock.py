"""Counted stock, loans, debts and purchases."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0005"
down_revision = "0004"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "loan",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("uid", sa.String(), nullable=False),
        sa.Column("part_id", sa.Integer(), nullable=True),
        sa.Column("family_id", sa.Integer(), nullable=False),
        sa.Column("quantity", sa.Integer(), nullable=False),
        sa.Column("lender_id", sa.Integer(), nullable=True),
        sa.Column("borrower_id", sa.Integer(), nullable=True),
        sa.Column("ship_id", sa.Integer(), nullable=True),
        sa.Column("lent_on", sa.Date(), nullable=False),
        sa.Column("due_on", sa.Date(), nullable=True),
        sa.Column("terms", sa.String(), nullable=False),
        sa.Column("closed_on", sa.Date(), nullable=True),
        sa.Column("came_back", sa.String(), nullable=True),
        sa.Column("note", sa.String(), nullable=True),
        sa.CheckConstraint("came_back IN ('good', 'suspect', 'dead', 'kept')", name=op.f("ck_loan_came_back_known")),
        sa.CheckConstraint("note <> ''", name=op.f("ck_loan_note_not_empty")),
        sa.CheckConstraint("terms IN ('return', 'payback in kind')", name=op.f("ck_loan_terms_known")),
        sa.CheckConstraint("(closed_on IS NULL) = (came_back IS NULL)", name=op.f("ck_loan_closed_complete")),
        sa.CheckConstraint("COALESCE(lender_id, 0) <> COALESCE(borrower_id, 0)", name=op.f("ck_loan_between_two")),
        sa.CheckConstraint("closed_on IS NULL OR lent_on <= closed_on", name=op.f("ck_loan_closed_after_lent")),
        sa.CheckConstraint("due_on IS NULL OR lent_on <= due_on", name=op.f("ck_loan_due_after_lent")),
        sa.CheckConstraint("part_id IS NULL OR quantity = 1", name=op.f("ck_loan_one_tagged_part")),
        sa.CheckConstraint("quantity >= 1", name=op.f("ck_loan_quantity_at_least_1")),
        sa.ForeignKeyConstraint(
            ["borrower_id"], ["member.id"], name=op.f("fk_loan_borrower_id_member"), ondelete="RESTRICT"
        ),
        sa.ForeignKeyConstraint(
            ["family_id"], ["family.id"], name=op.f("fk_loan_family_id_family"), ondelete="RESTRICT"
        ),
        sa.ForeignKeyConstraint(
            ["lender_id"], ["member.id"], name=op.f("fk_loan_lender_id_member"), ondelete="RESTRICT"
        ),
        sa.ForeignKeyConstraint(["part_id"], ["part.id"], name=op.f("fk_loan_part_id_part"), ondelete="RESTRICT"),
        sa.ForeignKeyConstraint(["ship_id"], ["ship.id"], name=op.f("fk_loan_ship_id_ship"), ondelete="RESTRICT"),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_loan")),
        sa.UniqueConstraint("uid", name=op.f("uq_loan_uid")),
        sqlite_strict=True,
    )
    op.create_index(op.f("ix_loan_borrower_id"), "loan", ["borrower_id"], unique=False)
    op.create_index(op.f("ix_loan_family_id"), "loan", ["family_id"], unique=False)
    op.create_index(op.f("ix_loan_lender_id"), "loan", ["lender_id"], unique=False)
    op.create_index(op.f("ix_loan_part_id"), "loan", ["part_id"], unique=False)
    op.create_index(op.f("ix_loan_ship_id"), "loan", ["ship_id"], unique=False)
    op.create_table(
        "movement",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("uid", sa.String(), nullable=False),
        sa.Column("family_id", sa.Integer(), nullable=False),
        sa.Column("quantity", sa.Integer(), nullable=False),
        sa.Column("from_place", sa.String(), nullable=False),
        sa.Column("to_place", sa.String(), nullable=False),
        sa.Column("from_member_id", sa.Integer(), nullable=True),
        sa.Column("to_member_id", sa.Integer(), nullable=True),
        sa.Column("ship_id", sa.Integer(), nullable=True),
        sa.Column("loan_id", sa.Integer(), nullable=True),
        sa.Column("moved_on", sa.Date(), nullable=False),
        sa.Column("unit_cost_cents", sa.Integer(), nullable=True),
        sa.Column("reason", sa.String(), nullable=True),
        sa.CheckConstraint(
            "(from_place = 'captain') = (from_member_id IS NOT NULL)", name=op.f("ck_movement_from_captain_named")
        ),
        sa.CheckConstraint(
            "(from_place = 'ship' OR to_place = 'ship') = (ship_id IS NOT NULL)", name=op.f("ck_movement_ship_named")
        ),
        sa.CheckConstraint(
            "(to_place = 'captain') = (to_member_id IS NOT NULL)", name=op.f("ck_movement_to_captain_named")
        ),
        sa.CheckConstraint(
            "from_place IN ('supplier', 'pool', 'captain', 'ship', 'scrap', 'count')",
            name=op.f("ck_movement_from_place_known"),
        ),
        sa.CheckConstraint("reason <> ''", name=op.f("ck_movement_reason_not_empty")),
        sa.CheckConstraint(
            "to_place IN ('supplier', 'pool', 'captain', 'ship', 'scrap', 'count')",
            name=op.f("ck_movement_to_place_known"),
        ),
        sa.CheckConstraint(
            "from_place <> to_place OR COALESCE(from_member_id, 0) <> COALESCE(to_member_id, 0)",
            name=op.f("ck_movement_moves"),
        ),
        sa.CheckConstraint("quantity >= 1", name=op.f("ck_movement_quantity_at_least_1")),
        sa.CheckConstraint("unit_cost_cents >= 0", name=op.f("ck_movement_unit_cost_cents_at_least_0")),
        sa.ForeignKeyConstraint(
            ["family_id"], ["family.id"], name=op.f("fk_movement_family_id_family"), ondelete="RESTRICT"
        ),
        sa.ForeignKeyConstraint(
            ["from_member_id"], ["member.id"], name=op.f("fk_movement_from_member_id_member"), ondelete="RESTRICT"
        ),
        sa.ForeignKeyConstraint(["loan_id"], ["loan.id"], name=op.f("fk_movement_loan_id_loan"), ondelete="RESTRICT"),
        sa.ForeignKeyConstraint(["ship_id"], ["ship.id"], name=op.f("fk_movement_ship_id_ship"), ondelete="RESTRICT"),
        sa.ForeignKeyConstraint(
            ["to_member_id"], ["member.id"], name=op.f("fk_movement_to_member_id_member"), ondelete="RESTRICT"
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_movement")),
        sa.UniqueConstraint("uid", name=op.f("uq_movement_uid")),
        sqlite_strict=True,
    )
    op.create_index(op.f("ix_movement_family_id"), "movement", ["family_id"], unique=False)
    op.create_index(op.f("ix_movement_from_member_id"), "movement", ["from_member_id"], unique=False)
    op.create_index(op.f("ix_movement_loan_id"), "movement", ["loan_id"], unique=False)
    op.create_index(op.f("ix_movement_ship_id"), "movement", ["ship_id"], unique=False)
    op.create_index(op.f("ix_movement_to_member_id"), "movement", ["to_member_id"], unique=False)
    op.create_table(
        "debt",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("uid", sa.String(), nullable=False),
        sa.Column("debtor_id", sa.Integer(), nullable=True),
        sa.Column("creditor_id", sa.Integer(), nullable=True),
        sa.Column("family_id", sa.Integer(), nullable=False),
        sa.Column("quantity", sa.Integer(), nullable=False),
        sa.Column("loan_id", sa.Integer(), nullable=True),
        sa.Column("since_on", sa.Date(), nullable=False),
        sa.Column("due_on", sa.Date(), nullable=True),
        sa.Column("settled_on", sa.Date(), nullable=True),
        sa.Column("note", sa.String(), nullable=True),
        sa.CheckConstraint("note <> ''", name=op.f("ck_debt_note_not_empty")),
        sa.CheckConstraint("COALESCE(debtor_id, 0) <> COALESCE(creditor_id, 0)", name=op.f("ck_debt_between_two")),
        sa.CheckConstraint("due_on IS NULL OR since_on <= due_on", name=op.f("ck_debt_due_after_since")),
        sa.CheckConstraint("quantity >= 1", name=op.f("ck_debt_quantity_at_least_1")),
        sa.CheckConstraint("settled_on IS NULL OR since_on <= settled_on", name=op.f("ck_debt_settled_after_since")),
        sa.ForeignKeyConstraint(
            ["creditor_id"], ["member.id"], name=op.f("fk_debt_creditor_id_member"), ondelete="RESTRICT"
        ),
        sa.ForeignKeyConstraint(
            ["debtor_id"], ["member.id"], name=op.f("fk_debt_debtor_id_member"), ondelete="RESTRICT"
        ),
        sa.ForeignKeyConstraint(
            ["family_id"], ["family.id"], name=op.f("fk_debt_family_id_family"), ondelete="RESTRICT"
        ),
        sa.ForeignKeyConstraint(["loan_id"], ["loan.id"], name=op.f("fk_debt_loan_id_loan"), ondelete="RESTRICT"),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_debt")),
        sa.UniqueConstraint("uid", name=op.f("uq_debt_uid")),
        sqlite_strict=True,
    )
    op.create_index(op.f("ix_debt_creditor_id"), "debt", ["creditor_id"], unique=False)
    op.create_index(op.f("ix_debt_debtor_id"), "debt", ["debtor_id"], unique=False)
    op.create_index(op.f("ix_debt_family_id"), "debt", ["family_id"], unique=False)
    op.create_index(op.f("ix_debt_loan_id"), "debt", ["loan_id"], unique=False)
    op.create_table(
        "purchase",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("uid", sa.String(), nullable=False),
        sa.Column("family_id", sa.Integer(), nullable=False),
        sa.Column("quantity", sa.Integer(), nullable=False),
        sa.Column("unit_cost_cents", sa.Integer(), nullable=True),
        sa.Column("supplier", sa.String(), nullable=True),
        sa.Column("ordered_on", sa.Date(), nullable=False),
        sa.Column("expected_on", sa.Date(), nullable=True),
        sa.Column("received_on", sa.Date(), nullable=True),
        sa.Column("note", sa.String(), nullable=True),
        sa.CheckConstraint("note <> ''", name=op.f("ck_purchase_note_not_empty")),
        sa.CheckConstraint("supplier <> ''", name=op.f("ck_purchase_supplier_not_empty")),
        sa.CheckConstraint(
            "expected_on IS NULL OR ordered_on <= expected_on", name=op.f("ck_purchase_expected_after_ordered")
        ),
        sa.CheckConstraint("quantity >= 1", name=op.f("ck_purchase_quantity_at_least_1")),
        sa.CheckConstraint(
            "received_on IS NULL OR ordered_on <= received_on", name=op.f("ck_purchase_received_after_ordered")
        ),
        sa.CheckConstraint("unit_cost_cents >= 0", name=op.f("ck_purchase_unit_cost_cents_at_least_0")),
        sa.ForeignKeyConstraint(
            ["family_id"], ["family.id"], name=op.f("fk_purchase_family_id_family"), ondelete="RESTRICT"
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_purchase")),
        sa.UniqueConstraint("uid", name=op.f("uq_purchase_uid")),
        sqlite_strict=True,
    )
    op.create_index(op.f("ix_purchase_family_id"), "purchase", ["family_id"], unique=False)


def downgrade() -> None:
    op.drop_table("purchase")
    op.drop_table("debt")
    op.drop_table("movement")
    op.drop_table("loan")
