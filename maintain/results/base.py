"""The two shapes most answers have: something was done, or a table was asked for."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, fields, is_dataclass
from datetime import date
from typing import Any


def plain(value: Any) -> Any:
    """Turn a result into what JSON can hold: dataclasses by field, days as ISO text, tuples as lists."""
    if is_dataclass(value) and not isinstance(value, type):
        return {each.name: plain(getattr(value, each.name)) for each in fields(value)}
    if isinstance(value, Mapping):
        return {str(key): plain(each) for key, each in value.items()}
    if isinstance(value, list | tuple):
        return [plain(each) for each in value]
    return value.isoformat() if isinstance(value, date) else value


@dataclass(frozen=True)
class Result:
    """An answer that can be shown, or handed on as one JSON document."""

    def document(self) -> dict[str, Any]:
        """The answer as plain values under stable keys."""
        found = plain(self)
        assert isinstance(found, dict)
        return found


@dataclass(frozen=True)
class Done(Result):
    """
    Something was written.

    Attributes
    ----------
    did : str
        One line that says what.
    closed : tuple of str
        What it ended on the way, one line each.
    notes : tuple of str
        What the user should know besides.
    record : mapping
        The names of what was made or changed.
    """

    did: str
    closed: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()
    record: Mapping[str, Any] = field(default_factory=dict)


@dataclass(frozen=True)
class Column:
    """A column of a table: key in the rows, heading on screen and in files."""

    key: str
    heading: str
    numeric: bool = False


@dataclass(frozen=True)
class Listing(Result):
    """
    A table.

    Attributes
    ----------
    title : str
        What the rows are.
    columns : tuple of Column
        In the order shown.
    rows : tuple of mapping
        One per line, by column key; None is unknown.
    footer : tuple of str
        Remarks below, one line each.
    empty : str
        What to say when there are no rows, and how to make some.
    """

    title: str
    columns: tuple[Column, ...]
    rows: tuple[Mapping[str, Any], ...]
    footer: tuple[str, ...] = ()
    empty: str = "nothing recorded"

    def document(self) -> dict[str, Any]:
        """Rows by column key."""
        return {
            "rows": [{c.key: plain(row.get(c.key)) for c in self.columns} for row in self.rows],
            "notes": list(self.footer),
        }
