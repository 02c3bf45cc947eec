"""Cells to values: each row of a file read as far as it can be, with its faults beside it."""

from __future__ import annotations

from dataclasses import dataclass, field

from maintain.errors import InvalidRecord
from maintain.exchange.cells import read_cell
from maintain.exchange.fault import Fault
from maintain.exchange.field import Field, Sheet
from maintain.exchange.labels import Row
from maintain.exchange.reading import Page


@dataclass
class Draft:
    """
    A row of a file on its way into the records.

    Attributes
    ----------
    file, row : str, int
        Where it stands.
    sheet : Sheet
        What it is.
    values : dict
        By stored column, of the columns the file has; a reference is the uid of its row once it is found.
    references : dict
        Text of each reference, by stored column.
    bad : set of str
        Stored columns whose cell has a fault already, so that nothing more is said about them.
    uid : str
        Its uid; empty until it has one.
    known_as : str
        Uid of the row of the records that it is; empty if it is new.
    """

    file: str
    row: int
    sheet: Sheet
    values: Row = field(default_factory=dict)
    references: dict[str, str] = field(default_factory=dict)
    bad: set[str] = field(default_factory=set)
    uid: str = ""
    known_as: str = ""

    def fault(self, heading: str, what: str, mend: str) -> Fault:
        """A fault of this row."""
        return Fault(self.file, self.row, heading, what, mend)


def draft_page(page: Page) -> tuple[list[Draft], list[Fault]]:
    """Read all rows of a page."""
    drafts, faults = [], []
    headings = [each.heading for each in page.fields]
    missing = {
        column for each in page.sheet.fields if each.needed and each not in page.fields for column in each.columns
    }
    for row, cells in page.rows:
        draft = Draft(page.file, row, page.sheet, bad=set(missing))
        texts = dict(zip(headings, cells, strict=True))
        for each, text in zip(page.fields, cells, strict=True):
            try:
                _take(draft, each, text, texts)
            except InvalidRecord as error:
                draft.bad.update(each.columns)
                draft.values.update(dict.fromkeys(each.columns))
                faults.append(draft.fault(each.heading, error.message, error.hint))
        draft.uid = draft.values.pop("uid", None) or ""
        drafts.append(draft)
    return drafts, faults


def _take(draft: Draft, each: Field, text: str, texts: dict[str, str]) -> None:
    if each.beside and text and not texts.get(each.beside):
        raise InvalidRecord(f"{text!r} goes with no day", hint=f"fill in {each.beside} or leave this empty")
    if not text:
        if each.needed:
            raise InvalidRecord("is empty", hint=f"fill it in: {each.meaning}")
        draft.values.update(dict.fromkeys(each.columns, None if each.beside else each.default))
    elif each.kind == "reference":
        draft.references[each.column] = text
    else:
        draft.values.update(zip(each.columns, read_cell(each, text), strict=True))


def complete(sheet: Sheet, given: Row) -> Row:
    """Fill a row with what its missing columns stand for."""
    empty = {column: None if each.beside else each.default for each in sheet.fields for column in each.columns}
    row = {**empty, **given}
    by_heading = {each.heading: each for each in sheet.fields}
    for each in filter(lambda field: field.beside, sheet.fields):
        if row[by_heading[each.beside].column] is None:
            row[each.column] = None
        elif row[each.column] is None:
            row[each.column] = each.default
    return row
