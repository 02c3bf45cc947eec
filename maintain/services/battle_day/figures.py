"""Figures of tests: which values make sense, and what to say of one beyond its limit."""

from __future__ import annotations

import math

from maintain.errors import InvalidRecord
from maintain.records.usual_limits import LIMITS
from maintain.results.battle_day import Limit
from maintain.vocabulary import DEMAND_TEST, MEASURES

# Beyond these a figure is a slip of the hand or of the unit (common practice, no source).
_SENSE = {
    "pump seconds per litre": (1.0, 600.0),
    "regulator creep": (0.0, 60.0),
    "downstream pressure": (0.0, 80.0),
    "range": (0.0, 2000.0),
    "servo current": (0.0, 20_000.0),
    "battery capacity": (0.0, 200_000.0),
    "rest volts": (0.0, 60.0),
    "loaded volts": (0.0, 60.0),
    "bottle weight": (1.0, 20_000.0),
    "leak test": (0.0, 5000.0),
    "line pull": (0.0, 2000.0),
}


def figure(text: str, measure: str) -> float:
    """
    Read the figure of a demand test; 24.5 and 24,5 are both read.

    Raises
    ------
    InvalidRecord
        If it is no number, or one that can't be meant.
    """
    try:
        value = float(text.strip().replace(",", "."))
    except ValueError:
        hint = f"write the {measure} in {MEASURES[measure]}, for example {_example(measure)}"
        raise InvalidRecord(f"{text.strip()!r} is no figure", hint=hint) from None
    return sensible(value, measure)


def sensible(value: float, measure: str) -> float:
    """
    Hand on a value that can be meant.

    Raises
    ------
    InvalidRecord
        If it can't.
    """
    unit = MEASURES[measure]
    if not math.isfinite(value):
        raise InvalidRecord(f"{measure} can't be {value:g}", hint="write the number that was read, for example 12.5")
    if measure == DEMAND_TEST and value not in (0, 1):
        raise InvalidRecord(f"{measure} can't be {value:g}", hint="write 1 for passed, 0 for failed")
    if not makes_sense(value, measure):
        low, high = _SENSE[measure]
        hint = f"it lies between {low:g} and {high:g} {unit}: read it again"
        raise InvalidRecord(f"{measure} can't be {value:g} {unit}", hint=hint)
    return value


def makes_sense(value: float, measure: str) -> bool:
    """Whether a value can be meant."""
    low, high = _SENSE.get(measure, (-math.inf, math.inf))
    return low <= value <= high


def beyond(limit: Limit | None, value: float) -> str | None:
    """What to say of a figure on the wrong side of its limit."""
    if limit is None or limit.kept_by(value):
        return None
    return f"{value:g} {limit.unit} is not {limit.bound} {limit.value:g} {limit.unit} ({limit.source})"


def _example(measure: str) -> str:
    limit = LIMITS.get(measure)
    return f"{limit.value:g}" if isinstance(limit, Limit) else "0.2"
