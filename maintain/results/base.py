"""The two shapes most answers have: something was done, or a table was asked for."""

from __future__ import annotations

import types
import typing
from collections.abc import Mapping
from dataclasses import dataclass, field, fields, is_dataclass, replace
from datetime import date
from decimal import Decimal
from typing import Any, TypeVar

T = TypeVar("T")


def plain(value: Any) -> Any:
    """Turn a result into what JSON can hold: dataclasses by field, days as ISO text, money as a number."""
    if is_dataclass(value) and not isinstance(value, type):
        return {each.name: plain(getattr(value, each.name)) for each in fields(value)}
    if isinstance(value, Mapping):
        return {str(key): plain(each) for key, each in value.items()}
    if isinstance(value, list | tuple):
        return [plain(each) for each in value]
    if isinstance(value, Decimal):
        return float(value)
    return value.isoformat() if isinstance(value, date) else value


def restored(kind: type[T], value: Any) -> T:
    """Turn plain values back into what they were: the inverse of `plain` for dataclasses, days, tuples and mappings."""
    found: T = _restored(kind, value)
    return found


def _restored(kind: Any, value: Any) -> Any:
    origin, inner = typing.get_origin(kind), typing.get_args(kind)
    if value is None or kind is Any:
        return value
    if origin in (types.UnionType, typing.Union):
        return _restored(next(each for each in inner if each is not type(None)), value)
    if is_dataclass(kind):
        hints = typing.get_type_hints(kind)
        given = {each.name: _restored(hints[each.name], value[each.name]) for each in fields(kind)}
        return typing.cast("Any", kind)(**given)
    if origin is tuple:
        several = len(inner) == 2 and inner[1] is Ellipsis
        kinds = [inner[0]] * len(value) if several else list(inner)
        return tuple(_restored(each, one) for each, one in zip(kinds, value, strict=True))
    if origin in (dict, Mapping):
        return {key: _restored(inner[1], each) for key, each in value.items()}
    return date.fromisoformat(value) if kind is date else value


def money(cents: int | None) -> Decimal | None:
    """An amount in the club's currency, with its two decimals; None is unknown."""
    return None if cents is None else Decimal(cents).scaleb(-2)


@dataclass(frozen=True)
class Result:
    """An answer that can be shown, or handed on as one JSON document."""

    def document(self) -> dict[str, Any]:
        """The answer as plain values under stable keys."""
        found = plain(self)
        assert isinstance(found, dict)
        return found


@dataclass(frozen=True)
class Pictured(Result):
    """
    An answer that can be drawn as well.

    Attributes
    ----------
    picture : bool, optional
        Whether to draw it in the terminal; None: where a person looks on.
    plotted : str, optional
        The file it was drawn to.
    """

    picture: bool | None = field(default=None, kw_only=True)
    plotted: str | None = field(default=None, kw_only=True)

    def document(self) -> dict[str, Any]:
        """The answer, and the file it was drawn to; what only a picture needs is left out."""
        found = super().document()
        return {**{key: value for key, value in found.items() if key not in ("picture", "plotted")}, **self.plot()}

    def plot(self) -> dict[str, Any]:
        """The file it was drawn to, under its key; nothing if it was not drawn."""
        return {} if self.plotted is None else {"plot": self.plotted}


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
    """
    A column of a table.

    Attributes
    ----------
    key, heading : str
        In the rows; on screen and in files.
    numeric : bool
    on_screen : bool
        False if it is only for files and scripts.
    wide : bool
        True if it is left out where the screen is too narrow for all.
    """

    key: str
    heading: str
    numeric: bool = False
    on_screen: bool = True
    wide: bool = False


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
    on_screen : int, optional
        How many rows a screen shows unless more are asked for; scripts get all.
    """

    title: str
    columns: tuple[Column, ...]
    rows: tuple[Mapping[str, Any], ...]
    footer: tuple[str, ...] = ()
    empty: str = "nothing recorded"
    on_screen: int | None = None

    def cut(self, limit: int) -> Listing:
        """The first rows, and in the footer how many there are."""
        if len(self.rows) <= limit:
            return self
        more = f"{limit} of {len(self.rows)}; --limit for more"
        return replace(self, rows=self.rows[:limit], footer=(*self.footer, more), on_screen=None)

    def document(self) -> dict[str, Any]:
        """Rows by column key."""
        return {
            "rows": [{c.key: plain(row.get(c.key)) for c in self.columns} for row in self.rows],
            "notes": list(self.footer),
        }
