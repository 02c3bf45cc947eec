"""Where a table stands in a grid: titles above it, its headings in one row or several, its rows, totals and notes."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from functools import cache

from maintain.errors import FileRejected
from maintain.exchange.own_sheets import dates, numbers
from maintain.exchange.own_sheets.grid import Cell, Grid, as_text, filled
from maintain.exchange.own_sheets.headings import known_heading
from maintain.exchange.own_sheets.kinds import KINDS
from maintain.exchange.own_sheets.words import TOTALS, folded

_DEEPEST, _MOST_ROWS = 40, 3  # how far down headings are looked for, and in how many rows they may stand
_NOTE = re.compile(r"(?:\*|#|note\b|notes\b|n\.?b\.?\b|p\.?s\.?\b)", re.IGNORECASE)
_LETTERS = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"


@dataclass(frozen=True)
class Header:
    """
    Headings.

    Attributes
    ----------
    first, last : int
        Rows they stand in, from 0.
    headings : tuple of str
        One a column; "column C" where there is none.
    titles : tuple of (int, str)
        Rows above that hold something else, from 1.
    """

    first: int
    last: int
    headings: tuple[str, ...]
    titles: tuple[tuple[int, str], ...]


@dataclass(frozen=True)
class LeftOut:
    """A row of the file that is no record."""

    row: int
    text: str
    why: str


@dataclass(frozen=True)
class BodyRow:
    """
    A row of the table.

    Attributes
    ----------
    row : int
        As a spreadsheet counts it.
    cells : tuple
    carried : frozenset of int
        Places whose value was taken from the row above.
    merged : frozenset of int
        Places that are one cell with rows above or below.
    doubt : str
        Why nobody can tell whether it is a record; empty if it is one.
    """

    row: int
    cells: tuple[Cell, ...]
    carried: frozenset[int] = frozenset()
    merged: frozenset[int] = frozenset()
    doubt: str = ""


@dataclass
class Body:
    """The rows of a table, and those that are none."""

    rows: list[BodyRow] = field(default_factory=list)
    left_out: list[LeftOut] = field(default_factory=list)


def find_header(grid: Grid) -> Header:
    """
    Find the row, or the rows, that name the columns.

    Raises
    ------
    FileRejected
        If nothing looks like headings.
    """
    best, best_score = None, (0, 0, 0)
    for first in range(min(len(grid.rows), _DEEPEST)):
        for depth in range(1, _MOST_ROWS + 1):
            block = grid.rows[first : first + depth]
            if len(block) < depth or not all(map(_names_only, block)):
                break
            headings = _joined(block)
            known = {folded(each) for each in headings if each and _known(each)}
            score = (len(known), -(first + depth), depth)
            if known and score > best_score:
                best, best_score = (first, depth, headings), score
    first, depth, headings = best or _unknown_header(grid)
    if _units_only(grid, first + depth):
        depth += 1
        headings = _joined(grid.rows[first : first + depth])
    width = len(headings)
    if width < 2 and not best:
        hint = "is it separated by commas, semicolons or tabs? the first row must name the columns"
        raise FileRejected(f"{grid.file} has only one column, and its heading says nothing we know", hint=hint)
    named = tuple(text or f"column {_letter(place)}" for place, text in enumerate(headings))
    titles = [(row + 1, _row_text(grid.rows[row])) for row in range(first) if filled(grid.rows[row])]
    return Header(first, first + depth - 1, _distinct(named), tuple(titles))


def _units_only(grid: Grid, row: int) -> bool:
    """Whether a row names nothing but the units of the columns above."""
    cells = grid.rows[row] if row < len(grid.rows) else ()
    texts = [as_text(cells[place]).strip("()[].").lower() for place in filled(cells)]
    return bool(texts) and all(text in numbers.UNIT_WORDS for text in texts)


def _unknown_header(grid: Grid) -> tuple[int, int, list[str]]:
    """The first row of texts about as wide as the table, where no heading is known."""
    widest = max(len(filled(row)) for row in grid.rows)
    for first, row in enumerate(grid.rows[:_DEEPEST]):
        if _names_only(row) and len(filled(row)) >= max(1, 0.6 * widest):
            return first, 1, _joined([row])
    hint = "write a name above each column, in one row"
    raise FileRejected(f"{grid.file}: no row of headings was found", hint=hint)


def _names_only(row: Sequence[Cell]) -> bool:
    """Whether a row holds texts alone, none of them a date or a number."""
    cells = [row[place] for place in filled(row)]
    return bool(cells) and all(
        isinstance(cell, str) and not numbers.readings(cell) and not dates.readings(cell) for cell in cells
    )


def _joined(block: Sequence[Sequence[Cell]]) -> list[str]:
    """One heading a column; what stands above several columns belongs to each of them."""
    columns = [[as_text(row[place]) for row in block] for place in range(len(block[0]))]
    for depth in range(len(block) - 1):
        above = ""
        for column in columns:
            below = " ".join(filter(None, column[depth + 1 :]))
            if column[depth]:
                above = column[depth]
            elif above and below and (_known(f"{above} {below}") or not _known(below)):
                column[depth] = above
            else:
                above = ""  # a heading that stands for itself ends the group
    return [" ".join(dict.fromkeys(" ".join(text.split()) for text in column if text)) for column in columns]


@cache
def _known(text: str) -> bool:
    return any(known_heading(text, kind.meanings) for kind in KINDS)


def _letter(place: int) -> str:
    first, second = divmod(place, len(_LETTERS))
    return (_LETTERS[first - 1] if first else "") + _LETTERS[second]


def _distinct(headings: Sequence[str]) -> tuple[str, ...]:
    """Headings that stand twice get a number, so that each can be named."""
    seen: dict[str, int] = {}
    for place, heading in enumerate(headings):
        key = folded(heading)
        seen[key] = seen.get(key, 0) + 1
        if seen[key] > 1:
            headings = [*headings[:place], f"{heading} ({seen[key]})", *headings[place + 1 :]]
    return tuple(headings)


def _row_text(row: Sequence[Cell]) -> str:
    return " | ".join(as_text(row[place]) for place in filled(row))[:120]


def read_body(grid: Grid, header: Header, carried: Sequence[int], alone: int | None) -> Body:
    """
    Tell the rows that are records from totals, notes and headings said again; fill in what is carried down.

    Parameters
    ----------
    grid : Grid
    header : Header
    carried : sequence of int
        Places of the columns whose empty cells say the same as above.
    alone : int, optional
        Place of the column that makes a record by itself, such as a ship's name in a list of ships.
    """
    reader = _Reader(grid, header, sorted(carried), alone)
    for row in range(header.last + 1, len(grid.rows)):
        reader.take(row)
    return reader.body


class _Reader:
    """Goes down the rows of a table and remembers what is carried on."""

    def __init__(self, grid: Grid, header: Header, carried: Sequence[int], alone: int | None) -> None:
        self.grid, self.header, self.carried, self.alone = grid, header, carried, alone
        self.body = Body()
        self._above: dict[int, Cell] = {}
        self._sums: dict[int, list[Decimal]] = {}
        self._any_carried = False

    def take(self, number: int) -> None:
        """Take the next row."""
        cells = self.grid.rows[number]
        own = [place for place in filled(cells) if not self._hangs(number, place)]
        if not own:
            return
        why = self._no_record(number, cells, own)
        if why:
            self.body.left_out.append(LeftOut(number + 1, _row_text(cells), why))
            return
        if len(own) == 1 and own[0] in self.carried and self._heads(number, own[0]):
            self.body.left_out.append(LeftOut(number + 1, _row_text(cells), "says what the rows below are of"))
            self._begin_block(cells, own[0])
            return
        self.body.rows.append(self._record(number, cells, own))

    def _hangs(self, number: int, place: int) -> bool:
        """Whether a cell is one with the cell above it."""
        return {(number, place), (number - 1, place)} <= self.grid.merged and (
            self.grid.rows[number - 1][place] == self.grid.rows[number][place]
        )

    def _no_record(self, number: int, cells: Sequence[Cell], own: Sequence[int]) -> str:
        texts = [folded(as_text(cells[place])) for place in own]
        if texts == [folded(self.header.headings[place]) for place in own] or (
            len(own) > 1 and all(_known(as_text(cells[place])) for place in own) and _names_only(cells)
        ):
            return "the headings again"
        if any(text in TOTALS or text.startswith("total ") for text in texts):
            self._above, self._sums = {}, {}
            return "a total"
        if len(own) == 1 and len(cells) > 1:
            text = as_text(cells[own[0]])
            if own[0] != self.alone and own[0] not in self.carried and _names_only(cells):
                return "a note: one cell alone"
            if _NOTE.match(text) or len(text) > 60 or (text.endswith(".") and len(text.split()) > 3):
                return "a note"
        if self._adds_up(cells, own) and self._ends(number) and self._surely_total(number, own):
            return "a total: the sum of the rows above"
        return ""

    def _adds_up(self, cells: Sequence[Cell], own: Sequence[int]) -> bool:
        """Whether a row holds nothing but sums of the columns above."""
        told = [numbers.readings(cells[place]) for place in own]
        return all(
            found and self._sums.get(place) and sum(self._sums[place]) in found.values()
            for place, found in zip(own, told, strict=True)
        )

    def _ends(self, number: int) -> bool:
        """Whether nothing but a blank row or a note follows."""
        return number + 1 >= len(self.grid.rows) or len(filled(self.grid.rows[number + 1])) <= 1

    def _surely_total(self, number: int, own: Sequence[int]) -> bool:
        """Whether a row of sums can't be a record that says nothing else because it is carried on."""
        return len(own) > 1 or not filled(self.grid.rows[number - 1]) or not (self._any_carried or self.carried)

    def _heads(self, number: int, place: int) -> bool:
        """Whether the next row leaves to this cell alone what it is of."""
        rows = (row for row in self.grid.rows[number + 1 :] if filled(row))
        below = next(rows, None)
        return below is not None and below[place] == "" and len(filled(below)) > 1

    def _begin_block(self, cells: Sequence[Cell], place: int) -> None:
        self._above = {each: value for each, value in self._above.items() if each < place}
        self._above[place] = cells[place]

    def _record(self, number: int, cells: Sequence[Cell], own: Sequence[int]) -> BodyRow:
        full, taken = list(cells), set()
        doubt = ""
        if self._adds_up(cells, own) and self._ends(number):
            doubt = "is the sum of the rows above and names nothing: it may be a total or a record"
        if number in self.grid.struck_out:
            doubt = "is struck out in the workbook: it may be void or done"
        told = False  # whether a column further left says something of its own
        for place in self.carried:
            if place in own:
                told = told or full[place] != self._above.get(place)
                self._above[place] = full[place]
            elif cells[place] != "":  # one cell with the rows above
                self._above[place] = full[place]
            elif not told and self._above.get(place, "") != "":
                full[place] = self._above[place]
                taken.add(place)
            else:
                self._above.pop(place, None)
        self._any_carried = self._any_carried or bool(taken)
        for place in own:
            found = numbers.readings(cells[place])
            if found:
                self._sums.setdefault(place, []).append(next(iter(found.values())))
        merged = frozenset(place for place in range(len(cells)) if (number, place) in self.grid.merged)
        return BodyRow(number + 1, tuple(full), frozenset(taken), merged, doubt)
