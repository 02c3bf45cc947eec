"""Counts of the pool, what was issued uncounted, limits of storage, and quarantine and days of make in the ledger."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0009"
down_revision = "0008"
branch_labels = None
depends_on = None

_PLACES = ("supplier", "pool", "captain", "ship", "scrap", "count")
_WITH_QUARANTINE = ("supplier", "pool", "captain", "ship", "suspect", "scrap", "count")
_CATEGORIES = (
    "'servo', 'pump', 'motor', 'receiver', 'seal', 'speed controller', 'battery', 'valve', 'regulator', 'switch', "
    "'cylinder', 'cannon', 'linkage', 'shaft', 'wiring', 'recovery gear', 'other'"
)


def _place_rule(column: str, places: tuple[str, ...]) -> str:
    listed = ", ".join(f"'{each}'" for each in places)
    return f"{column} IN ({listed})"


def _movement(places: tuple[str, ...], *more: sa.Column[object]) -> sa.Table:
    """The table as it stands: a rebuilt one keeps only the rules it is given."""
    rules = {
        "from_captain_named": "(from_place = 'captain') = (from_member_id IS NOT NULL)",
        "to_captain_named": "(to_place = 'captain') = (to_member_id IS NOT NULL)",
        "ship_named": "(from_place = 'ship' OR to_place = 'ship') = (ship_id IS NOT NULL)",
        "moves": "from_place <> to_place OR COALESCE(from_member_id, 0) <> COALESCE(to_member_id, 0)",
        "from_place_known": _place_rule("from_place", places),
        "to_place_known": _place_rule("to_place", places),
        "reason_not_empty": "reason <> ''",
        "quantity_at_least_1": "quantity >= 1",
        "unit_cost_cents_at_least_0": "unit_cost_cents >= 0",
    }
    references = {
        "family_id": "family",
        "from_member_id": "member",
        "to_member_id": "member",
        "ship_id": "ship",
        "loan_id": "loan",
    }
    return sa.Table(
        "movement",
        sa.MetaData(),
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
        *more,
        *(sa.CheckConstraint(rule, name=op.f(f"ck_movement_{name}")) for name, rule in rules.items()),
        *(
            sa.ForeignKeyConstraint(
                [column], [f"{target}.id"], name=op.f(f"fk_movement_{column}_{target}"), ondelete="RESTRICT"
            )
            for column, target in references.items()
        ),
        *(sa.Index(op.f(f"ix_movement_{column}"), column) for column in references),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_movement")),
        sa.UniqueConstraint("uid", name=op.f("uq_movement_uid")),
    )


def upgrade() -> None:
    strict = {"sqlite_strict": True}
    with op.batch_alter_table("movement", copy_from=_movement(_PLACES), table_kwargs=strict) as batch:
        batch.add_column(sa.Column("made_on", sa.Date(), nullable=True))
        _replace_places(batch, _WITH_QUARANTINE)
    op.create_table(
        "stocktake",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("uid", sa.String(), nullable=False),
        sa.Column("family_id", sa.Integer(), nullable=False),
        sa.Column("counted_on", sa.Date(), nullable=False),
        sa.Column("counted", sa.Integer(), nullable=False),
        sa.Column("note", sa.String(), nullable=True),
        sa.CheckConstraint("counted >= 0", name=op.f("ck_stocktake_counted_at_least_0")),
        sa.CheckConstraint("note <> ''", name=op.f("ck_stocktake_note_not_empty")),
        sa.ForeignKeyConstraint(
            ["family_id"], ["family.id"], name=op.f("fk_stocktake_family_id_family"), ondelete="RESTRICT"
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_stocktake")),
        sa.UniqueConstraint("uid", name=op.f("uq_stocktake_uid")),
        sqlite_strict=True,
    )
    op.create_index(op.f("ix_stocktake_family_id"), "stocktake", ["family_id"], unique=False)
    _create_discrepancy()
    _create_shelf_limit()


def _replace_places(batch: object, places: tuple[str, ...]) -> None:
    for column in ("from_place", "to_place"):
        name = op.f(f"ck_movement_{column}_known")
        batch.drop_constraint(name, type_="check")  # type: ignore[attr-defined]
        batch.create_check_constraint(name, sa.text(_place_rule(column, places)))  # type: ignore[attr-defined]


def _create_discrepancy() -> None:
    op.create_table(
        "discrepancy",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("uid", sa.String(), nullable=False),
        sa.Column("family_id", sa.Integer(), nullable=False),
        sa.Column("part_id", sa.Integer(), nullable=True),
        sa.Column("quantity", sa.Integer(), nullable=False),
        sa.Column("found_on", sa.Date(), nullable=False),
        sa.Column("stocktake_id", sa.Integer(), nullable=True),
        sa.Column("note", sa.String(), nullable=True),
        sa.CheckConstraint("note <> ''", name=op.f("ck_discrepancy_note_not_empty")),
        sa.CheckConstraint("part_id IS NULL OR quantity = 1", name=op.f("ck_discrepancy_one_tagged_part")),
        sa.CheckConstraint("quantity >= 1", name=op.f("ck_discrepancy_quantity_at_least_1")),
        sa.ForeignKeyConstraint(
            ["family_id"], ["family.id"], name=op.f("fk_discrepancy_family_id_family"), ondelete="RESTRICT"
        ),
        sa.ForeignKeyConstraint(
            ["part_id"], ["part.id"], name=op.f("fk_discrepancy_part_id_part"), ondelete="RESTRICT"
        ),
        sa.ForeignKeyConstraint(
            ["stocktake_id"], ["stocktake.id"], name=op.f("fk_discrepancy_stocktake_id_stocktake"), ondelete="RESTRICT"
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_discrepancy")),
        sa.UniqueConstraint("uid", name=op.f("uq_discrepancy_uid")),
        sqlite_strict=True,
    )
    for column in ("family_id", "part_id", "stocktake_id"):
        op.create_index(op.f(f"ix_discrepancy_{column}"), "discrepancy", [column], unique=False)


def _create_shelf_limit() -> None:
    op.create_table(
        "shelf_limit",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("uid", sa.String(), nullable=False),
        sa.Column("family_id", sa.Integer(), nullable=True),
        sa.Column("category", sa.String(), nullable=True),
        sa.Column("days", sa.Integer(), nullable=True),
        sa.Column("extension_days", sa.Integer(), nullable=True),
        sa.Column("source", sa.String(), nullable=False),
        sa.Column("note", sa.String(), nullable=True),
        sa.CheckConstraint(f"category IN ({_CATEGORIES})", name=op.f("ck_shelf_limit_category_known")),
        sa.CheckConstraint("days >= 1", name=op.f("ck_shelf_limit_days_at_least_1")),
        sa.CheckConstraint("extension_days >= 1", name=op.f("ck_shelf_limit_extension_days_at_least_1")),
        sa.CheckConstraint("source <> ''", name=op.f("ck_shelf_limit_source_not_empty")),
        sa.CheckConstraint("note <> ''", name=op.f("ck_shelf_limit_note_not_empty")),
        sa.CheckConstraint(
            "(family_id IS NULL) <> (category IS NULL)", name=op.f("ck_shelf_limit_of_family_or_category")
        ),
        sa.CheckConstraint("extension_days IS NULL OR days IS NOT NULL", name=op.f("ck_shelf_limit_extends_a_limit")),
        sa.ForeignKeyConstraint(
            ["family_id"], ["family.id"], name=op.f("fk_shelf_limit_family_id_family"), ondelete="RESTRICT"
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_shelf_limit")),
        sa.UniqueConstraint("uid", name=op.f("uq_shelf_limit_uid")),
        sa.UniqueConstraint("family_id", name=op.f("uq_shelf_limit_family_id")),
        sa.UniqueConstraint("category", name=op.f("uq_shelf_limit_category")),
        sqlite_strict=True,
    )
    op.create_index(op.f("ix_shelf_limit_family_id"), "shelf_limit", ["family_id"], unique=False)


def downgrade() -> None:
    op.drop_table("shelf_limit")
    op.drop_table("discrepancy")
    op.drop_table("stocktake")
    # Without quarantine its stock counts as scrapped: nobody may take it for good.
    op.execute("DELETE FROM movement WHERE from_place = 'suspect' AND to_place = 'scrap'")
    op.execute("UPDATE movement SET from_place = 'scrap' WHERE from_place = 'suspect'")
    op.execute("UPDATE movement SET to_place = 'scrap' WHERE to_place = 'suspect'")
    strict = {"sqlite_strict": True}
    now = _movement(_WITH_QUARANTINE, sa.Column("made_on", sa.Date(), nullable=True))
    with op.batch_alter_table("movement", copy_from=now, table_kwargs=strict) as batch:
        _replace_places(batch, _PLACES)
        batch.drop_column("made_on")
