"""Service age in words: what a sinking costs."""

from __future__ import annotations

from maintain.core.service_age.cost import Cost

_UNIT = {"minutes afloat": "an hour afloat", "wet sorties": "a wet sortie", "immersions": "a sinking"}
_UNITS = {"minutes afloat": 60.0}  # of the clock, in the unit that is spoken of


def costs_told(found: tuple[Cost, ...]) -> str:
    """
    Tell what ages parts.

    Examples
    --------
    >>> costs_told((Cost("wet sorties", 2.0, 0.4, 6.0, False), Cost("immersions", 61.2, 50.1, 74.4, True)))
    "a sinking costs 61 days (50-74); can't tell yet what a wet sortie costs"
    """
    ranked = found[::-1]
    told = [f"{unit_of(each)} costs {days(*in_units(each))}" for each in ranked if each.told]
    unknown = [unit_of(each) for each in ranked if not each.told]
    guessed = f"can't tell yet what {' or '.join(unknown)} costs" if unknown else ""
    return "; ".join(filter(None, (", ".join(told), guessed))) or "days alone"


def unit_of(cost: Cost) -> str:
    """Name the unit that is spoken of."""
    return _UNIT[cost.clock]


def per_unit(cost: Cost) -> float:
    """How much of the clock is in the unit that is spoken of."""
    return _UNITS.get(cost.clock, 1.0)


def in_units(cost: Cost) -> tuple[float, float, float]:
    """Value and interval for the unit that is spoken of."""
    units = per_unit(cost)
    return cost.value * units, cost.lower * units, cost.upper * units


def days(value: float, lower: float, upper: float) -> str:
    """Tell an estimate with its interval."""
    told = _short(value)
    return f"{told} {'day' if told == '1' else 'days'} ({_short(lower)}-{_short(upper)})"


def _short(number: float) -> str:
    return f"{number:.0f}" if number >= 9.5 else f"{number:.1g}"
