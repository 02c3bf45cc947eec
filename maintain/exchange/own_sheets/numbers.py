"""Numbers as people write them: points or commas, marks between thousands, units, money, and how many of what."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from decimal import Decimal

from maintain import vocabulary as say
from maintain.errors import InvalidRecord
from maintain.exchange.own_sheets.grid import Cell, Unreadable
from maintain.exchange.own_sheets.settling import Settled, settle

MARKS = say.DECIMAL_MARKS  # what stands before the decimals
_POINT = re.compile(r"-?(?:\d{1,3}(?:,\d{3})+|\d{1,3}(?:['’ ]\d{3})+|\d+)(?:\.\d+)?|-?\.\d+", re.ASCII)
_COMMA = re.compile(r"-?(?:\d{1,3}(?:\.\d{3})+|\d{1,3}(?:['’ ]\d{3})+|\d+)(?:,\d+)?|-?,\d+", re.ASCII)
_SIGNS = {"€": "EUR", "£": "GBP", "$": "USD"}
# Words for a unit, and how many of ours it is.
UNITS: dict[str, dict[str, Decimal]] = {
    "minutes": {
        **dict.fromkeys(("min", "mins", "minute", "minutes", "m", "'"), Decimal(1)),
        **dict.fromkeys(("h", "hr", "hrs", "hour", "hours"), Decimal(60)),
        **dict.fromkeys(("s", "sec", "secs", "second", "seconds"), 1 / Decimal(60)),
    },
    "grams": {
        **dict.fromkeys(("g", "gr", "gram", "grams"), Decimal(1)),
        **dict.fromkeys(("kg", "kilo", "kilos", "kilogram", "kilograms"), Decimal(1000)),
        # International avoirdupois pound: 0.45359237 kg, 16 ounces (NIST Special Publication 811, appendix B).
        **dict.fromkeys(("oz", "ounce", "ounces"), Decimal("28.349523125")),
        **dict.fromkeys(("lb", "lbs", "pound", "pounds"), Decimal("453.59237")),
    },
    "days": {
        **dict.fromkeys(("d", "day", "days"), Decimal(1)),
        **dict.fromkeys(("wk", "wks", "week", "weeks"), Decimal(7)),
        **dict.fromkeys(("month", "months"), Decimal(30)),  # common practice, no source
    },
    "money": dict.fromkeys(("cent", "cents", "pence", "pennies"), Decimal("0.01")),
    "metres": {**dict.fromkeys(("m", "metre", "metres", "meter", "meters"), Decimal(1)), "cm": Decimal("0.01")},
}
# What a reading may be written in instead of the records' unit of its measure, and how many of ours one is.
_MEASURED: dict[str, dict[str, Decimal]] = {
    "s/L": {
        **dict.fromkeys(("s/l", "sec/l", "secs/l", "s/litre", "sec/litre", "seconds/litre"), Decimal(1)),
        **dict.fromkeys(("min/l", "mins/l", "min/litre", "minutes/litre"), Decimal(60)),
    },
    # 1 psi = 6894.757 Pa (NIST Special Publication 811, appendix B).
    "bar": {"bar": Decimal(1), "mbar": Decimal("0.001"), "kpa": Decimal("0.01"), "psi": Decimal("0.06894757")},
    "paces": dict.fromkeys(("pace", "paces"), Decimal(1)),
    "mA": {"ma": Decimal(1), "a": Decimal(1000), "amp": Decimal(1000), "amps": Decimal(1000)},
    "mAh": {"mah": Decimal(1), "ah": Decimal(1000)},
    "V": {"v": Decimal(1), "volt": Decimal(1), "volts": Decimal(1), "mv": Decimal("0.001")},
    "g": UNITS["grams"],
    "mL": {"ml": Decimal(1), "l": Decimal(1000), "cl": Decimal(10)},
    "N": {"n": Decimal(1), "newton": Decimal(1), "newtons": Decimal(1)},
}
_PRECISION = Decimal("0.000001")
UNIT_WORDS = frozenset(word for factors in UNITS.values() for word in factors)
_WITH_UNIT = re.compile(r"(.*\d)\s*([a-z']+)\.?", re.IGNORECASE)
# A number before one of these belongs to the name: "6 volt batteries".
_NOT_COUNTED = re.compile(
    r"(?:volts?|v|mm|cm|m|g|kg|ml|tooth|teeth|pins?|cells?|ohms?|amps?|a|mah|ah|inch|in|way|ways|channels?|ch|ghz|mhz|"
    r"units?|wires?|psi|bar)\b",
    re.IGNORECASE,
)
_HOW_MANY = (
    re.compile(r"(?P<n>\d{1,5})\s*(?:[x×*]|off\b)\s*(?P<what>[^\d\s].*)", re.IGNORECASE),
    re.compile(r"(?P<what>.*[^\s])\s*[x×*]\s*(?P<n>\d{1,5})", re.IGNORECASE),
    re.compile(r"(?P<what>.*[^\s])\s*\(\s*[x×]?\s*(?P<n>\d{1,5})\s*[x×]?\s*\)", re.IGNORECASE),
)
_SEVERAL = re.compile(r"(?P<n>\d{1,5})\s+(?P<what>[^\d\s].*s)", re.IGNORECASE)


def readings(cell: Cell, *, whole: bool = False) -> Mapping[str, Decimal]:
    """What a cell says if its decimals follow a point, and if they follow a comma."""
    if isinstance(cell, bool | Unreadable) or not isinstance(cell, str | int | float):
        return {}
    if isinstance(cell, int | float):
        return dict.fromkeys(MARKS, Decimal(repr(cell)))
    text = cell.strip()
    found = {}
    if _POINT.fullmatch(text):
        found["point"] = Decimal(re.sub("[,'’ ]", "", text))
    if _COMMA.fullmatch(text):
        found["comma"] = Decimal(re.sub("[.'’ ]", "", text).replace(",", "."))
    return {mark: value for mark, value in found.items() if not whole or value == int(value)}


def marks_of(cells: Iterable[Cell], unit: str, *, whole: bool) -> Settled:
    """Whether a column writes its decimals after a point or a comma, as far as its cells decide it."""
    bare = ((str(cell), readings(split_unit(cell, unit)[0], whole=whole)) for cell in cells if cell != "")
    return settle(MARKS, bare)


def split_unit(cell: Cell, unit: str) -> tuple[Cell, Decimal]:
    """A cell without the unit or the sign of money beside its number, and how many of our unit that is."""
    if not isinstance(cell, str):
        return cell, Decimal(1)
    if unit == "money":
        cell = cell.strip("".join(_SIGNS) + " ")
    match = _WITH_UNIT.fullmatch(cell.strip())
    factor = UNITS.get(unit, {}).get(match[2].lower()) if match else None
    return (cell, Decimal(1)) if factor is None or match is None else (match[1].strip(), factor)


def read(cell: Cell, mark: str, unit: str, *, whole: bool, factor: Decimal = Decimal(1)) -> str:
    """
    A number in our unit, as our own files write it.

    Parameters
    ----------
    cell : Cell
    mark : str
        What stands before decimals in this column.
    unit : str
        Our unit; a cell may bring its own, which then counts.
    whole : bool
        Whether only whole numbers will do.
    factor : Decimal
        How many of our unit the heading's unit is.

    Raises
    ------
    InvalidRecord
    """
    if isinstance(cell, Unreadable):
        raise InvalidRecord(cell.what, hint=cell.mend)
    bare, own = split_unit(cell, unit)
    told = readings(bare, whole=False)
    if mark not in told:
        raise InvalidRecord(f"{as_written(cell)} is no number", hint="write digits, or nothing if it is unknown")
    value = told[mark] * (own if bare != cell else factor)
    value = value if value == told[mark] else value.quantize(_PRECISION)
    if whole and value != int(value):
        raise InvalidRecord(f"{as_written(cell)} is no whole number", hint="write a whole number")
    return str(int(value)) if value == int(value) else f"{value.normalize():f}"


def measured_in(value: str, written: str, unit: str) -> str:
    """
    A reading in the unit of the records.

    Parameters
    ----------
    value : str
        The number as our own files write it.
    written : str
        The unit beside it in the sheet.
    unit : str
        The records' unit of what was measured; empty: whatever is written.

    Raises
    ------
    InvalidRecord
        If it is a unit that is not ours, nor one known to be so many of ours.
    """
    if not unit:
        return value
    factor = _MEASURED.get(unit, {unit.lower(): Decimal(1)}).get(written.lower().replace(" ", "").strip("."))
    if factor is None:
        raise InvalidRecord(f"is in {written}, and the records hold it in {unit}", hint=f"convert it to {unit}")
    changed = Decimal(value) * factor
    return value if factor == 1 else f"{changed.quantize(_PRECISION).normalize():f}"


def currency_of(cell: Cell) -> str | None:
    """The currency whose sign stands beside an amount."""
    return next((code for sign, code in _SIGNS.items() if isinstance(cell, str) and sign in cell), None)


def as_written(cell: Cell) -> str:
    """A cell as it is quoted in a message."""
    return repr(str(cell)[:60])


def how_many(text: str) -> tuple[int, str, bool] | None:
    """
    A number of things in one text: "2x servo", "servo x2", "3 servos".

    Returns
    -------
    number, what, sure : int, str, bool
        Not sure where only the plural says that the number counts. None: the text tells no number.

    Examples
    --------
    >>> how_many("2x micro servo"), how_many("3 servos"), how_many("6 volt batteries")
    ((2, 'micro servo', True), (3, 'servos', False), None)
    """
    for pattern in _HOW_MANY:
        match = pattern.fullmatch(text.strip())
        if match:
            return int(match["n"]), match["what"].strip(" -:,"), True
    match = _SEVERAL.fullmatch(text.strip())
    if match and not _NOT_COUNTED.match(match["what"]):
        return int(match["n"]), match["what"], False
    return None
