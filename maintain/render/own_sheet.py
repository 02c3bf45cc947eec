"""A club's own sheet on the screen: how it would be read, what it would become, what it leaves open."""

from __future__ import annotations

from itertools import groupby
from typing import TYPE_CHECKING

from maintain.core.wording import count
from maintain.render import asking
from maintain.render.tables import table
from maintain.render.words import line as say
from maintain.results.base import Column

if TYPE_CHECKING:
    from rich.console import Console

    from maintain.results.own_sheet import OwnSheet, Question, Writes

_MOST = 12  # rows shown of each sort; scripts get all
_COLUMNS = (
    Column("heading", "Column"),
    Column("read_as", "Read as"),
    Column("says", "That is"),
    Column("examples", "Such as"),
    Column("sure", "How sure"),
)


def own_sheet(result: OwnSheet, console: Console) -> None:
    """The columns, the rows, what can't be read, and how to go on."""
    _head(result, console)
    if result.columns:
        lines = [
            {
                "heading": each.heading,
                "read_as": each.read_as,
                "says": each.says or None,
                "examples": "; ".join(text[:30] for text in each.examples),
                "sure": each.sure + (f": {each.why}" if each.why and each.sure != "told" else ""),
            }
            for each in result.columns
        ]
        console.print(table("", _COLUMNS, lines))
    for line in (
        *([f"{count(result.carried, 'cell')} taken from the row above"] if result.carried else []),
        *result.notes,
    ):
        say(console, line)
    _rows(result, console)
    for question in result.questions:
        say(console, f"to be said: {question.text}", "bold")
        say(console, f"  {question.option}")
    _end(result, console)


def _head(result: OwnSheet, console: Console) -> None:
    rows = result.heading_rows
    where = f"headings in row {rows[0]}" if len(rows) == 1 else f"headings in rows {rows[0]} to {rows[-1]}"
    what = f"each row is {result.row_is}" if result.kind else "nobody can tell yet what a row is"
    say(console, f"{result.file}: {what} ({where})", "bold")
    if result.agreed_on:
        say(console, f"read as agreed on {result.agreed_on}")


def _rows(result: OwnSheet, console: Console) -> None:
    for each in result.rows[:_MOST]:
        say(console, f"row {each.row}: {'; '.join(each.becomes)}")
    _more(len(result.rows), console)
    if result.columns and not (result.rows or result.unread):
        say(console, "what the rows become is shown once they can be read")
    for left in result.left_out[:_MOST]:
        say(console, f"row {left.row} is no record, {left.why}: {left.text}", "dim")
    _more(len(result.left_out), console)
    unread = [(row, list(faults)) for row, faults in groupby(result.unread, key=lambda each: each.row)]
    for _row, faults in unread[:_MOST]:
        for fault in faults:
            column = f", {fault.column}" if fault.column else ""
            say(console, f"row {fault.row}{column} can't be read: {fault.what} ({fault.mend})", "red")
    _more(len(unread), console)


def _more(rows: int, console: Console) -> None:
    if rows > _MOST:
        say(console, f"... and {count(rows - _MOST, 'row')} more (all of them with --json)")


def _end(result: OwnSheet, console: Console) -> None:
    told = [f"{each.file} {', '.join(f'{n} {said}' for said, n in _counted(each) if n)}" for each in result.writes]
    if told:
        say(console, f"would be written: {'; '.join(told)}")
    say(console, "Nothing was imported." + (f" To import: {result.agree}" if result.agree else ""), "bold")


def _counted(writes: Writes) -> list[tuple[str, int]]:
    return [("new", writes.new), ("changed", writes.changed), ("known already", writes.known)]


def preview(result: OwnSheet) -> None:
    """The sheet, beside the questions about it."""
    own_sheet(result, asking.console())


def ask(question: Question) -> None:
    """Put a question, with its answers, to whoever is asked."""
    screen = asking.console()
    say(screen, question.text, "bold")
    for each in question.choices:
        say(screen, f"  {each.key}  {each.says}")
