"""How a value is written in a cell, and read back; references apart."""

from __future__ import annotations

import re
from collections.abc import Mapping
from datetime import date
from typing import Any

from maintain.core.names import checked, checked_tag, readable
from maintain.core.when import When, parse_day, parse_when
from maintain.errors import InvalidRecord
from maintain.exchange.field import Field

_YES_NO = {"yes": True, "y": True, "true": True, "1": True, "no": False, "n": False, "false": False, "0": False}
_ANY_DAY = date(2000, 1, 1)  # asked for by the readers of days, never used: "today" is refused
_LARGEST = 2**63 - 1  # what a database holds in a whole number
_BEST_DAY = re.compile(r"(\S+) \((\d{4}-\d{2}-\d{2})\)")


def read_cell(field: Field, text: str) -> tuple[Any, ...]:
    """
    Read a cell that is not empty: one value for each stored column of the field.

    Raises
    ------
    InvalidRecord
        If it can't be that; the hint says how to write it.
    """
    if field.kind == "fuzzy day":
        when = _when(text)
        return when.on, when.precision
    return (_READ[field.kind](field, text),)


def write_cell(field: Field, row: Mapping[str, Any]) -> str:
    """Write the value of a row; unknown is an empty cell."""
    value = row[field.column]
    if value is None:
        return ""
    if field.kind == "fuzzy day":
        return _when_text(When(value, row[field.columns[1]]))
    if field.kind == "money":
        return f"{value // 100}.{value % 100:02d}"
    if field.kind == "yes/no":
        return "yes" if value else "no"
    if field.kind == "number":
        return repr(float(value)).removesuffix(".0")
    return str(value).strip()


def _text(field: Field, text: str) -> str:
    if field.column == "uid" and not re.fullmatch(r"[0-9a-f]{32}", text):
        raise InvalidRecord(f"{text!r} is no uid", hint="leave the cell empty; one is made")
    return readable(text, field.heading.lower())


def _name(field: Field, text: str) -> str:
    return checked(text, field.heading.lower())


def _tag(_field: Field, text: str) -> str:
    return checked_tag(text)


def _word(field: Field, text: str) -> str:
    folded = text.lower()
    for word in field.words:
        if word.lower() == folded:
            return word
    raise InvalidRecord(f"{text!r} is not one of the words", hint=f"write one of: {', '.join(field.words)}")


def _day(_field: Field, text: str) -> date:
    return parse_day(_dated(text), _ANY_DAY)


def _when(text: str) -> When:
    """Read a fuzzy day; a month or season may be followed by its best single day, where that is not the middle."""
    best = _BEST_DAY.fullmatch(text)
    if best is None:
        return parse_when(_dated(text), _ANY_DAY)
    when = When(parse_day(best[2], _ANY_DAY), parse_when(_dated(best[1]), _ANY_DAY).precision)
    if when.precision not in ("month", "season") or str(when) != best[1]:
        raise InvalidRecord(f"{best[2]} is not in {best[1]}", hint="write only the month or the year")
    return when


def _when_text(when: When) -> str:
    text = str(when)
    return text if parse_when(text, _ANY_DAY).on == when.on else f"{text} ({when.on})"


def _dated(text: str) -> str:
    if "day" in text.lower():
        raise InvalidRecord(f"{text!r} means another day tomorrow", hint="write year-month-day, for example 2026-05-03")
    return text


def _whole(field: Field, text: str) -> int:
    match = re.fullmatch(r"(\d+)(?:[.,]0+)?", text, re.ASCII)
    if match is None or not field.least <= int(match[1]) <= _LARGEST:
        raise InvalidRecord(f"{text!r} is not a whole number of at least {field.least}", hint="write digits only")
    return int(match[1])


def _number(field: Field, text: str) -> float:
    if re.fullmatch(r"-?\d{1,3},\d{3}", text, re.ASCII):
        raise InvalidRecord(f"{text!r} can be read in two ways", hint=f"write {text.replace(',', '.')} or no comma")
    if not re.fullmatch(r"-?\d+(?:[.,]\d+)?(?:e[+-]?\d+)?", text, re.ASCII | re.IGNORECASE):
        raise InvalidRecord(f"{text!r} is not a number", hint="write digits and one decimal point, no unit")
    value = float(text.replace(",", "."))
    if value == float("inf") or (value < 0 and not field.signed):
        raise InvalidRecord(f"{text!r} can't be", hint="it must be 0 or more, or empty if unknown")
    return value


def _yes_no(_field: Field, text: str) -> bool:
    if text.lower() not in _YES_NO:
        raise InvalidRecord(f"{text!r} is neither yes nor no", hint="write yes or no")
    return _YES_NO[text.lower()]


def _money(_field: Field, text: str) -> int:
    match = re.fullmatch(r"(\d+)(?:[.,](\d{1,2}))?", text, re.ASCII)
    cents = int(match[1]) * 100 + int((match[2] or "0").ljust(2, "0")) if match else -1
    if not 0 <= cents <= _LARGEST:
        raise InvalidRecord(f"{text!r} is not an amount", hint="write 12.50: no currency sign, at most two decimals")
    return cents


_READ = {
    "text": _text,
    "name": _name,
    "tag": _tag,
    "word": _word,
    "day": _day,
    "integer": _whole,
    "number": _number,
    "yes/no": _yes_no,
    "money": _money,
}
