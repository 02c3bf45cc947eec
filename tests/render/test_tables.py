"""Tables on screens of any width: what is left out first, what is broken, and what becomes a list."""

from __future__ import annotations

import io

from rich.console import Console

from maintain.render.tables import table
from maintain.results.base import Column

COLUMNS = (
    Column("name", "Name"),
    Column("held", "Held", numeric=True),
    Column("cost", "Cost", numeric=True, wide=True),
    Column("why", "Why so", wide=True),
)
ROWS = ({"name": "long name", "held": 12, "cost": 3, "why": "because"}, {"name": "b", "held": 1, "why": "so"})


def drawn(width: int) -> str:
    out = io.StringIO()
    Console(file=out, width=width).print(table("All", COLUMNS, ROWS))
    assert max(map(len, out.getvalue().splitlines())) <= width
    return out.getvalue()


def test_a_wide_screen_shows_all_columns() -> None:
    told = drawn(60)
    assert "because" in told
    assert "no room" not in told


def test_columns_for_wide_screens_go_first_the_last_of_them_before_the_others_and_are_named() -> None:
    told = drawn(28)
    assert "because" not in told
    assert "Cost" in told
    assert "(no room for: Why so;" in " ".join(told.split())


def test_then_the_first_column_is_broken_between_words() -> None:
    told = drawn(17)
    assert "long name" not in told
    assert "long" in told
    assert "12" in told


def test_at_last_rows_are_listed_with_all_they_say() -> None:
    told = drawn(12)
    assert "Why so:" in " ".join(told.split())
