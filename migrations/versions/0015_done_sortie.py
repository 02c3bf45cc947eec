"""After how many of the day's sorties a task was done."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0015"
down_revision = "0014"
branch_labels = None
depends_on = None

_STRICT = {"sqlite_strict": True}
_RULE = "ck_task_completion_done_sortie_at_least_0"
_REFERENCES = {"task_id": "task", "ship_id": "ship", "part_id": "part", "by_id": "member"}


def _completion(*more: sa.schema.SchemaItem) -> sa.Table:
    """The table as it stands: a rebuilt one keeps only the rules it is given."""
    return sa.Table(
        "task_completion",
        sa.MetaData(),
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("uid", sa.String(), nullable=False),
        sa.Column("task_id", sa.Integer(), nullable=False),
        sa.Column("ship_id", sa.Integer(), nullable=True),
        sa.Column("part_id", sa.Integer(), nullable=True),
        sa.Column("done_on", sa.Date(), nullable=False),
        sa.Column("by_id", sa.Integer(), nullable=True),
        sa.Column("note", sa.String(), nullable=True),
        *more,
        sa.CheckConstraint("note <> ''", name=op.f("ck_task_completion_note_not_empty")),
        *(
            sa.ForeignKeyConstraint(
                [column], [f"{target}.id"], name=op.f(f"fk_task_completion_{column}_{target}"), ondelete="RESTRICT"
            )
            for column, target in _REFERENCES.items()
        ),
        *(sa.Index(op.f(f"ix_task_completion_{column}"), column) for column in _REFERENCES),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_task_completion")),
        sa.UniqueConstraint("uid", name=op.f("uq_task_completion_uid")),
    )


def upgrade() -> None:
    with op.batch_alter_table("task_completion", copy_from=_completion(), table_kwargs=_STRICT) as batch:
        batch.add_column(sa.Column("done_sortie", sa.Integer(), nullable=True))
        batch.create_check_constraint(op.f(_RULE), "done_sortie >= 0")


def downgrade() -> None:
    now = _completion(
        sa.Column("done_sortie", sa.Integer(), nullable=True), sa.CheckConstraint("done_sortie >= 0", name=op.f(_RULE))
    )
    with op.batch_alter_table("task_completion", copy_from=now, table_kwargs=_STRICT) as batch:
        batch.drop_constraint(op.f(_RULE), type_="check")
        batch.drop_column("done_sortie")
