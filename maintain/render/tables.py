"""Tables on the screen."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from rich import box
from rich.table import Table
from rich.text import Text

if TYPE_CHECKING:
    from rich.console import Console, JustifyMethod

    from maintain.results.base import Column, Listing


def listing(result: Listing, console: Console) -> None:
    """A plain table under its title, or a line that says there is nothing and how to make something."""
    if result.rows:
        console.print(table(result.title, result.columns, result.rows))
    else:
        console.print(Text(f"{result.title}: {result.empty}"), soft_wrap=True)
    for line in result.footer:
        console.print(Text(line), soft_wrap=True)


def table(title: str, columns: tuple[Column, ...], rows: Any) -> Table:
    """Lay out rows by column; numbers stand right, unknown is a dash."""
    made = Table(title=title, title_justify="left", box=box.SIMPLE_HEAD, pad_edge=False)
    for number, column in enumerate(columns):
        # what a row is about stays in one piece; the rest gives way on a narrow screen
        side: JustifyMethod = "right" if column.numeric else "left"
        made.add_column(column.heading, justify=side, overflow="fold", no_wrap=number == 0)
    for row in rows:
        made.add_row(*(Text(cell(row.get(column.key))) for column in columns))
    return made


def cell(value: Any) -> str:
    """A value as a reader wants it: unknown is a dash, yes and no are words, lists are joined."""
    if value is None:
        return "–"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        return f"{value:.3g}" if abs(value) < 100 else f"{value:.0f}"
    return ", ".join(map(str, value)) if isinstance(value, list | tuple) else str(value)
