"""Every failure a user can meet: one class, one code, one exit code.

    MaintainError
    ├── NotFound           3   no such ship, part, file or database
    ├── InvalidRecord      4   refused by a rule or a constraint
    ├── NotEnoughData      5   too few failures to estimate anything
    ├── SchemaOutOfDate    6   the database wants `maintain db upgrade`, or a newer program
    ├── DatabaseBusy       7   another writer holds the file
    ├── FileRejected       8   an import had faults; nothing was written
    ├── FindingsFound      9   a check of the records found problems
    └── DatabaseUnusable  11   not a database, damaged, or on a disk that can't be written

Exit codes 0 (done), 1 (a bug), 2 (wrong usage), 10 (`due --exit-code`: something is due) and 130 (interrupted)
have no class of their own.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any


class MaintainError(Exception):
    """
    What went wrong.

    Attributes
    ----------
    message : str
        What, and where.
    hint : str
        How to mend it.
    lines : sequence of str
        For people, below the message; scripts find the same in `context`.
    context : dict
        Plain facts for `--json`.
    """

    code = "error"
    exit_code = 1

    def __init__(self, message: str, *, hint: str = "", lines: Sequence[str] = (), **context: Any) -> None:
        super().__init__(message)
        self.message = message
        self.hint = hint
        self.lines = tuple(lines)
        self.context = context


class NotFound(MaintainError):
    """No such ship, part, file or database."""

    code, exit_code = "not-found", 3


class InvalidRecord(MaintainError):
    """Refused by a rule or a constraint; nothing was written."""

    code, exit_code = "invalid-record", 4


class NotEnoughData(MaintainError):
    """Too few failures, or too few lives, to estimate what was asked."""

    code, exit_code = "not-enough-data", 5


class SchemaOutOfDate(MaintainError):
    """The database has another schema version than this program."""

    code, exit_code = "schema-out-of-date", 6


class DatabaseBusy(MaintainError):
    """Another writer held the lock for too long."""

    code, exit_code = "database-busy", 7


class FileRejected(MaintainError):
    """An import had faults; all of them are listed and nothing was written."""

    code, exit_code = "file-rejected", 8


class FindingsFound(MaintainError):
    """A check of the records found problems."""

    code, exit_code = "findings-found", 9


class DatabaseUnusable(MaintainError):
    """Not a database of ours, damaged, or on a disk that can't be written."""

    code, exit_code = "database-unusable", 11
