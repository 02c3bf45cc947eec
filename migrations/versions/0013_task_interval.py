"""Tasks on several clocks, on more clocks, and why one was closed."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0013"
down_revision = "0012"
branch_labels = None
depends_on = None

_STRICT = {"sqlite_strict": True}
_CATEGORIES = (
    "'servo', 'pump', 'motor', 'receiver', 'seal', 'speed controller', 'battery', 'valve', 'regulator', 'switch', "
    "'cylinder', 'cannon', 'linkage', 'shaft', 'wiring', 'recovery gear', 'other'"
)
_BEFORE = "clock IN ('days', 'battle days', 'sorties', 'wet sorties', 'immersions', 'shots')"
_NOW = (
    "clock IN ('days', 'times a season', 'battle days', 'sorties', 'minutes afloat', 'wet sorties', 'immersions', "
    "'minutes under', 'shots')"
)
_REASON = "why_closed IS NULL OR closed_on IS NOT NULL"


def _task(clock: str, *more: sa.schema.SchemaItem) -> sa.Table:
    """The table as it stands: a rebuilt one keeps only the rules it is given."""
    rules = {
        "title_not_empty": "title <> ''",
        "category_known": f"category IN ({_CATEGORIES})",
        "clock_known": clock,
        "every_at_least_1": "every >= 1",
        "source_not_empty": "source <> ''",
        "decider_not_empty": "decider <> ''",
        "work_minutes_at_least_0": "work_minutes >= 0",
        "note_not_empty": "note <> ''",
        "recurs_on_a_clock": "(clock IS NULL) = (every IS NULL)",
        "recurs_or_is_due": "clock IS NOT NULL OR due_on IS NOT NULL",
    }
    references = {"ship_id": "ship", "position_id": "position", "part_id": "part", "family_id": "family"}
    return sa.Table(
        "task",
        sa.MetaData(),
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("uid", sa.String(), nullable=False),
        sa.Column("title", sa.String(), nullable=False),
        *(sa.Column(column, sa.Integer(), nullable=True) for column in references),
        sa.Column("category", sa.String(), nullable=True),
        sa.Column("clock", sa.String(), nullable=True),
        sa.Column("every", sa.Integer(), nullable=True),
        sa.Column("due_on", sa.Date(), nullable=True),
        sa.Column("starts_on", sa.Date(), nullable=False),
        sa.Column("closed_on", sa.Date(), nullable=True),
        sa.Column("source", sa.String(), nullable=True),
        sa.Column("decider", sa.String(), nullable=True),
        sa.Column("work_minutes", sa.Integer(), nullable=True),
        sa.Column("note", sa.String(), nullable=True),
        *more,
        *(sa.CheckConstraint(rule, name=op.f(f"ck_task_{name}")) for name, rule in rules.items()),
        *(
            sa.ForeignKeyConstraint(
                [column], [f"{target}.id"], name=op.f(f"fk_task_{column}_{target}"), ondelete="RESTRICT"
            )
            for column, target in references.items()
        ),
        *(sa.Index(op.f(f"ix_task_{column}"), column) for column in references),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_task")),
        sa.UniqueConstraint("uid", name=op.f("uq_task_uid")),
    )


def upgrade() -> None:
    with op.batch_alter_table("task", copy_from=_task(_BEFORE), table_kwargs=_STRICT) as batch:
        batch.add_column(sa.Column("why_closed", sa.String(), nullable=True))
        batch.create_check_constraint(op.f("ck_task_why_closed_not_empty"), "why_closed <> ''")
        batch.create_check_constraint(op.f("ck_task_closed_for_a_reason"), _REASON)
        batch.drop_constraint(op.f("ck_task_clock_known"), type_="check")
        batch.create_check_constraint(op.f("ck_task_clock_known"), _NOW)
    op.create_table(
        "task_interval",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("uid", sa.String(), nullable=False),
        sa.Column("task_id", sa.Integer(), nullable=False),
        sa.Column("every", sa.Integer(), nullable=False),
        sa.Column("clock", sa.String(), nullable=False),
        sa.CheckConstraint("every >= 1", name=op.f("ck_task_interval_every_at_least_1")),
        sa.CheckConstraint(_NOW, name=op.f("ck_task_interval_clock_known")),
        sa.ForeignKeyConstraint(
            ["task_id"], ["task.id"], name=op.f("fk_task_interval_task_id_task"), ondelete="RESTRICT"
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_task_interval")),
        sa.UniqueConstraint("uid", name=op.f("uq_task_interval_uid")),
        sa.UniqueConstraint("task_id", "clock", name=op.f("uq_task_interval_task_id_clock")),
        sqlite_strict=True,
    )
    op.create_index(op.f("ix_task_interval_task_id"), "task_interval", ["task_id"], unique=False)


def downgrade() -> None:
    _keep_in_notes("or every {every} {clock}", "SELECT task_id, every, clock FROM task_interval ORDER BY id")
    _keep_in_notes(
        "every {every} {clock}",
        "SELECT id AS task_id, every, clock FROM task"
        " WHERE clock IN ('times a season', 'minutes afloat', 'minutes under') ORDER BY id",
    )
    _keep_in_notes(
        "closed: {why}", "SELECT id AS task_id, why_closed AS why FROM task WHERE why_closed IS NOT NULL ORDER BY id"
    )
    op.drop_table("task_interval")
    # Clocks that were not known before: the nearest that comes no later.
    op.execute(
        "UPDATE task SET clock = 'days', every = CASE WHEN every < 365 THEN 365 / every ELSE 1 END"
        " WHERE clock = 'times a season'"
    )
    op.execute("UPDATE task SET clock = 'sorties', every = 1 WHERE clock = 'minutes afloat'")
    op.execute("UPDATE task SET clock = 'immersions', every = 1 WHERE clock = 'minutes under'")
    now = _task(
        _NOW,
        sa.Column("why_closed", sa.String(), nullable=True),
        sa.CheckConstraint("why_closed <> ''", name=op.f("ck_task_why_closed_not_empty")),
        sa.CheckConstraint(_REASON, name=op.f("ck_task_closed_for_a_reason")),
    )
    with op.batch_alter_table("task", copy_from=now, table_kwargs=_STRICT) as batch:
        batch.drop_constraint(op.f("ck_task_closed_for_a_reason"), type_="check")
        batch.drop_constraint(op.f("ck_task_why_closed_not_empty"), type_="check")
        batch.drop_constraint(op.f("ck_task_clock_known"), type_="check")
        batch.create_check_constraint(op.f("ck_task_clock_known"), _BEFORE)
        batch.drop_column("why_closed")


def _keep_in_notes(words: str, query: str) -> None:
    """What the older tables can't hold is not lost: it goes on in the task's note."""
    connection = op.get_bind()
    for row in connection.execute(sa.text(query)).mappings().all():
        connection.execute(
            sa.text("UPDATE task SET note = COALESCE(note || '; ', '') || :more WHERE id = :id"),
            {"more": words.format(**row), "id": row["task_id"]},
        )
