"""Figures of demand tests: which values make sense, and which limit somebody has set."""

from __future__ import annotations

import math

from maintain.errors import InvalidRecord
from maintain.results.battle_day import Limit
from maintain.vocabulary import MEASURES

_PRACTICE = "common practice, no source"

LIMITS = {
    "pump seconds per litre": Limit("at most", 30.0, "s/L", f"a litre in 20 to 30 s a unit; {_PRACTICE}"),
    "range": Limit("at least", 40.0, "paces", f"a helper walks 40 to 50 paces off; {_PRACTICE}"),
    "downstream pressure": Limit("at most", 10.0, "bar", "club rule; public rule sets say about 150 psi"),
}

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
    unit = MEASURES[measure]
    try:
        value = float(text.strip().replace(",", "."))
    except ValueError:
        raise InvalidRecord(
            f"{text.strip()!r} is no figure", hint=f"write the {measure} in {unit}, for example {_example(measure)}"
        ) from None
    low, high = _SENSE[measure]
    if not (math.isfinite(value) and low <= value <= high):
        raise InvalidRecord(
            f"{measure} can't be {value:g} {unit}", hint=f"it lies between {low:g} and {high:g} {unit}: read it again"
        )
    return value


def beyond(measure: str, value: float) -> str | None:
    """What to say of a figure on the wrong side of its limit."""
    limit = LIMITS.get(measure)
    if limit is None or limit.kept_by(value):
        return None
    return f"{value:g} {limit.unit} is not {limit.bound} {limit.value:g} {limit.unit} ({limit.source})"


def _example(measure: str) -> str:
    limit = LIMITS.get(measure)
    return f"{limit.value:g}" if limit else "0.2"
