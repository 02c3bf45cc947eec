"""Tables on the screen; too narrow a screen goes without some columns, and at last lists rows field by field."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from rich import box
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from maintain.render import words

if TYPE_CHECKING:
    from rich.console import Console, ConsoleOptions, JustifyMethod, RenderResult

    from maintain.results.base import Column, Listing

_GAP = 3  # columns that a border takes
_WORD = 18  # a longer word may be broken


def listing(result: Listing, console: Console) -> None:
    """A plain table under its title, or a line that says there is nothing and how to make something."""
    if result.rows:
        shown = [column for column in result.columns if column.on_screen]
        console.print(table(result.title, shown, result.rows))
    else:
        words.line(console, f"{result.title}: {result.empty}")
    for line in result.footer:
        words.line(console, line)


@dataclass(frozen=True)
class table:
    """
    Rows by column; numbers stand right, unknown is a dash.

    Attributes
    ----------
    title : str
    columns : sequence of Column
    rows : sequence of mapping
        By column key.
    first_whole : bool
        False if the first column may be broken between words.
    """

    title: str
    columns: Sequence[Column]
    rows: Sequence[Mapping[str, Any]]
    first_whole: bool = True

    def __rich_console__(self, _console: Console, options: ConsoleOptions) -> RenderResult:
        """Choose the form that fits."""
        form = next((each for each in self._forms() if each.fits(options.max_width)), None)
        if form is None:
            yield from self._as_records()
            return
        yield form._as_table(options.max_width)
        if left_out := [column.heading for column in self.columns if column not in form.columns]:
            yield Text(f"(no room for: {', '.join(left_out)}; a wider screen, --csv and --json show them)")

    def _forms(self) -> Iterator[table]:
        """Whole; without columns that are for wide screens, the last first; at last with a broken first column too."""
        yield self
        form = self
        for column in [each for each in self.columns if each.wide][::-1]:
            form = replace(form, columns=[each for each in form.columns if each is not column])
            yield form
        yield replace(form, first_whole=False)

    def fits(self, width: int) -> bool:
        """Whether it can stand as a table, without breaking words; else its rows are listed field by field."""
        return width >= sum(map(self._least_width, range(len(self.columns))))

    def _least_width(self, number: int) -> int:
        """Width below which words of a column would be broken; the first column may have to stay in one piece."""
        column, whole = self.columns[number], number == 0 and self.first_whole
        cells = [cell(row.get(column.key)) for row in self.rows]
        pieces = cells if whole else [word for text in (column.heading, *cells) for word in text.split()]
        longest = max((len(piece) for piece in (*pieces, *column.heading.split())), default=0)
        return _GAP + (longest if number == 0 else min(longest, _WORD))

    def _widths(self, most: int) -> list[int]:
        """Every column's least, and a share of what is left over: what is short of least is made whole first."""
        widths = [self._least_width(number) - _GAP for number in range(len(self.columns))]
        cells = [max((len(cell(row.get(column.key))) for row in self.rows), default=0) for column in self.columns]
        for wanted in (cells, [len(column.heading) for column in self.columns]):
            spare = most - sum(widths) - _GAP * len(widths)
            short = sorted((max(width - widths[number], 0), number) for number, width in enumerate(wanted))
            for rank, (need, number) in enumerate(short):
                given = min(need, spare // (len(short) - rank))
                widths[number], spare = widths[number] + given, spare - given
        return widths

    def _as_table(self, most: int) -> Table:
        made = Table(title=self.title, title_justify="left", box=box.SIMPLE_HEAD, pad_edge=False)
        for number, (column, width) in enumerate(zip(self.columns, self._widths(most), strict=True)):
            side: JustifyMethod = "right" if column.numeric else "left"
            made.add_column(
                column.heading, justify=side, overflow="fold", no_wrap=number == 0 and self.first_whole, width=width
            )
        for row in self.rows:
            made.add_row(*(Text(cell(row.get(column.key))) for column in self.columns))
        return made

    def _as_records(self) -> RenderResult:
        first, *rest = self.columns
        if self.title:
            yield Text(self.title, style="italic")
        for row in self.rows:
            yield Text(cell(row.get(first.key)), style="bold")
            known = [each for each in rest if row.get(each.key) is not None]
            told = "; ".join(f"{each.heading}: {cell(row.get(each.key))}" for each in known)
            yield Padding(Text(told), (0, 0, 0, 2), expand=False)
        yield Text("")


def cell(value: Any) -> str:
    """A value as a reader wants it: unknown is a dash, yes and no are words, lists are joined."""
    if value is None:
        return "–"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        return f"{value:.3g}" if abs(value) < 100 else f"{value:.0f}"
    return ", ".join(map(str, value)) if isinstance(value, list | tuple) else str(value)
