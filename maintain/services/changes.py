"""What a change of facts comes to, in words: old and new."""

from __future__ import annotations

from typing import Any

import sqlalchemy as sa

from maintain.errors import InvalidRecord

_UNITS = {"cents": "", "m": " (m)", "id": ""}  # endings of columns that a reader need not see, or sees in brackets


def differing(row: sa.Row[Any], named: str, facts: dict[str, Any]) -> dict[str, Any]:
    """
    The facts that a row does not hold yet; those that are None stay as they are.

    Parameters
    ----------
    row : Row
        As it is now.
    named : str
        What to call it in a message.
    facts : dict
        New values by column.

    Raises
    ------
    InvalidRecord
        If that is none.
    """
    given = {key: value for key, value in facts.items() if value is not None}
    new = {key: value for key, value in given.items() if getattr(row, key) != value}
    if not new:
        why = "is so already" if given else "nothing to change was named"
        raise InvalidRecord(f"{named}: {why}", hint="name what is to be different; --help lists what can be")
    return new


def told(row: sa.Row[Any], new: dict[str, Any]) -> str:
    """Each change: depth (m) unknown to 1.5."""
    return ", ".join(f"{_heading(key)} {_said(key, getattr(row, key))} to {_said(key, new[key])}" for key in new)


def _heading(column: str) -> str:
    stem, _, ending = column.rpartition("_")
    return (f"{stem}{_UNITS[ending]}" if ending in _UNITS else column).replace("_", " ")


def _said(column: str, value: Any) -> str:
    if value is None:
        return "unknown"
    if isinstance(value, bool):
        return "yes" if value else "no"
    return f"{value / 100:.2f}" if column.endswith("_cents") else f"{value}"
