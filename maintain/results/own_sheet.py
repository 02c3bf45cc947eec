"""What a club's own spreadsheet would become, and what only a person can say about it."""

from __future__ import annotations

from dataclasses import dataclass

from maintain.results.base import Result


@dataclass(frozen=True)
class Choice:
    """A possible answer: the key to press, what it says, and the answer itself."""

    key: str
    says: str
    answer: str


@dataclass(frozen=True)
class Question:
    """
    Something that a sheet leaves open.

    Attributes
    ----------
    about : str
        "kind", "column", "date order", "decimals" or "name".
    subject : str
        Heading of the column, or the text that is in doubt.
    text : str
        What is asked.
    choices : tuple of Choice
    option : str
        How a script answers it.
    """

    about: str
    subject: str
    text: str
    choices: tuple[Choice, ...]
    option: str


@dataclass(frozen=True)
class ReadColumn:
    """
    How a column is read.

    Attributes
    ----------
    heading : str
    read_as : str, optional
        None: it is left out.
    says : str
        What that is, in words, and how its cells are written.
    examples : tuple of str
    sure : str
        "sure", "doubtful", "told" or "left out".
    why : str
        What speaks for it, or against.
    """

    heading: str
    read_as: str | None
    says: str
    examples: tuple[str, ...]
    sure: str
    why: str


@dataclass(frozen=True)
class ReadRow:
    """
    A row of the sheet, and what it becomes.

    Attributes
    ----------
    row : int
    becomes : tuple of str
        One line for each record: new, changed or known.
    """

    row: int
    becomes: tuple[str, ...]


@dataclass(frozen=True)
class LeftOutRow:
    """A row that is no record: a title, a note, a total."""

    row: int
    text: str
    why: str


@dataclass(frozen=True)
class UnreadRow:
    """A row that can't be recorded: which column, what is wrong, how to mend it."""

    row: int
    column: str
    what: str
    mend: str


@dataclass(frozen=True)
class Writes:
    """How many records of one of our files a sheet makes, changes, or finds on record already."""

    file: str
    new: int
    changed: int
    known: int


@dataclass(frozen=True)
class OwnSheet(Result):
    """
    A sheet as it would be imported; nothing of it is.

    Attributes
    ----------
    file : str
    kind : str, optional
        None: nobody can tell.
    row_is : str
        What one row of it is.
    agreed_on : str, optional
        The day somebody agreed to the way it is read.
    heading_rows : tuple of int
    columns, rows, left_out, unread, questions : tuple
    carried : int
        Cells taken from the row above.
    notes : tuple of str
    writes : tuple of Writes
    agree : str
        The command that imports it; empty while something is open.
    """

    file: str
    kind: str | None
    row_is: str
    agreed_on: str | None
    heading_rows: tuple[int, ...]
    columns: tuple[ReadColumn, ...]
    rows: tuple[ReadRow, ...]
    left_out: tuple[LeftOutRow, ...]
    unread: tuple[UnreadRow, ...]
    questions: tuple[Question, ...]
    carried: int
    notes: tuple[str, ...]
    writes: tuple[Writes, ...]
    agree: str
