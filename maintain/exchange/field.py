"""What a column of a file is: its heading, what it means, how its cells are written, where its value is kept."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any, Literal

Kind = Literal["text", "name", "tag", "word", "day", "fuzzy day", "integer", "number", "yes/no", "money", "reference"]


@dataclass(frozen=True)
class Field:
    """
    One column of a file.

    Attributes
    ----------
    heading : str
        What stands above it.
    columns : tuple of str
        Names of the stored columns: one, or the day and the precision of a fuzzy day.
    kind : str
        How a cell is written.
    meaning : str
        What it says, for the documentation.
    needed : bool
        Whether an empty cell is refused.
    default : object, optional
        What an empty cell stands for; None is unknown.
    words : tuple of str
        The words allowed.
    to : str
        The table a reference points into.
    least : int
        The smallest whole number allowed.
    signed : bool
        Whether a number may be negative.
    beside : str
        Heading of the column that this one goes with: without it this one is empty too.
    """

    heading: str
    columns: tuple[str, ...]
    kind: Kind
    meaning: str
    needed: bool = False
    default: Any = None
    words: tuple[str, ...] = ()
    to: str = ""
    least: int = 0
    signed: bool = False
    beside: str = ""

    @property
    def column(self) -> str:
        """The stored column (of a fuzzy day: the day)."""
        return self.columns[0]


@dataclass(frozen=True)
class Sheet:
    """
    One file, or one sheet of a workbook: the rows of one table.

    Attributes
    ----------
    file : str
        File name of the CSV; a workbook's sheet is called the same without the ending.
    table : str
        Name of the table.
    what : str
        What a row is, in the singular.
    about : str
        What the file holds, for the documentation.
    fields : tuple of Field
        In the order of the columns.
    identity : tuple of str
        Stored columns by which a row without a uid is known again, and by which rows are ordered.
    unique : bool
        Whether no two rows may agree in all of `identity`.
    label : str
        How other files refer to a row: stored columns in braces, a reference standing for the label of its row.
    """

    file: str
    table: str
    what: str
    about: str
    fields: tuple[Field, ...]
    identity: tuple[str, ...]
    unique: bool = False
    label: str = ""

    @property
    def name(self) -> str:
        """Name of the sheet in a workbook."""
        return self.file.removesuffix(".csv")

    @property
    def references(self) -> tuple[Field, ...]:
        """The columns that refer to rows of a table."""
        return tuple(each for each in self.fields if each.kind == "reference")


def text(heading: str, column: str, meaning: str, *, needed: bool = False) -> Field:
    """Free text."""
    return Field(heading, (column,), "text", meaning, needed=needed)


def name(heading: str, column: str, meaning: str) -> Field:
    """What a row is called by commands and other files; needed."""
    return Field(heading, (column,), "name", meaning, needed=True)


def word(
    heading: str, column: str, words: Iterable[str], meaning: str, *, needed: bool = False, default: str | None = None
) -> Field:
    """One word of a list."""
    return Field(heading, (column,), "word", meaning, needed, default, words=tuple(words))


def day(heading: str, column: str, meaning: str, *, needed: bool = False) -> Field:
    """An exact day."""
    return Field(heading, (column,), "day", meaning, needed=needed)


def fuzzy(heading: str, stem: str, meaning: str, *, needed: bool = False) -> Field:
    """A date as remembered, kept as `stem`_on and `stem`_precision."""
    return Field(heading, (f"{stem}_on", f"{stem}_precision"), "fuzzy day", meaning, needed=needed)


def whole(heading: str, column: str, meaning: str, *, needed: bool = False, least: int = 0) -> Field:
    """A whole number."""
    return Field(heading, (column,), "integer", meaning, needed=needed, least=least)


def sorties(heading: str, column: str, meaning: str, *, beside: str) -> Field:
    """How many sorties the ship had sailed on the day under the heading `beside`."""
    return Field(heading, (column,), "integer", meaning, default=0, beside=beside)


def number(heading: str, column: str, meaning: str) -> Field:
    """A measured quantity, not negative."""
    return Field(heading, (column,), "number", meaning)


def yes_no(heading: str, column: str, meaning: str) -> Field:
    """Yes or no; empty is no."""
    return Field(heading, (column,), "yes/no", meaning, default=False)


def money(heading: str, column: str, meaning: str) -> Field:
    """An amount in the club's currency with at most two decimals, kept in hundredths."""
    return Field(heading, (column,), "money", meaning)


def ref(heading: str, column: str, to: str, meaning: str, *, needed: bool = False) -> Field:
    """A row of another file, by its label or its uid."""
    return Field(heading, (column,), "reference", meaning, needed=needed, to=to)


NOTE = text("Note", "note", "Anything else worth knowing.")
UID = text("Uid", "uid", "Thirty-two hexadecimal digits that name the row for ever; leave it empty in new rows.")
