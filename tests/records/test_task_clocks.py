"""What an older schema can't hold of a task goes on in its note when the database is taken back."""

from __future__ import annotations

import sqlalchemy as sa

from maintain.records import migrate

_TASK = "INSERT INTO task (id, uid, title, clock, every, starts_on, closed_on, why_closed, note) VALUES "
_ROWS = (
    "(1, 'a', 'grease', 'battle days', 2, '2026-01-01', NULL, NULL, 'blue tin')",
    "(2, 'b', 'capacity', 'times a season', 2, '2026-01-01', NULL, NULL, NULL)",
    "(3, 'c', 'brushes', 'minutes afloat', 90, '2026-01-01', NULL, NULL, NULL)",
    "(4, 'd', 'skin', 'days', 30, '2026-01-01', '2026-02-01', 'sold', NULL)",
)


def test_further_clocks_new_clocks_and_reasons_are_kept_in_words(empty: sa.Engine) -> None:
    migrate.upgrade(empty)
    with empty.connect() as connection, connection.begin():
        for row in _ROWS:
            connection.execute(sa.text(_TASK + row))
        more = "INSERT INTO task_interval (id, uid, task_id, clock, every) VALUES (1, 'e', 1, 'immersions', 1)"
        connection.execute(sa.text(more))
    migrate.downgrade(empty, "0012")
    with empty.connect() as connection:
        rows = connection.execute(sa.text("SELECT title, clock, every, note FROM task ORDER BY id")).all()
    assert [tuple(row) for row in rows] == [
        ("grease", "battle days", 2, "blue tin; or every 1 immersions"),
        ("capacity", "days", 182, "every 2 times a season"),
        ("brushes", "sorties", 1, "every 90 minutes afloat"),
        ("skin", "days", 30, "closed: sold"),
    ]
