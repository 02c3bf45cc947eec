"""The check on the morning of a battle, in the order that keeps gas for last (common practice, no source)."""

from __future__ import annotations

from collections.abc import Iterable
from typing import NamedTuple

from maintain.results.paper import CheckStep


class Place(NamedTuple):
    """A position as the check sees it."""

    name: str
    system: str
    zone: str
    category: str | None


class _Asked(NamedTuple):
    """A step, for ships that have a position in one of `systems` whose name or category holds one of `words`."""

    what: str
    systems: tuple[str, ...] = ()
    words: tuple[str, ...] = ()
    figure: str | None = None
    caution: str | None = None
    zone: str | None = None


_GAS = "A leak is never taped or soaped under pressure: bleed first. The technical officer decides on pressure."
_ORDER = (
    _Asked("Eye wear on", caution="The safety officer decides which grade."),
    _Asked("Batteries: volts under load; the transmitter's too", ("propulsion", "radio"), ("battery",), "V"),
    _Asked("Range: a helper walks the ship off, low power if the set has it", ("radio",), ("receiver",), "paces"),
    _Asked("Failsafe: transmitter off; throttle stops, guns dead, pump as meant", ("radio",), ("receiver",)),
    _Asked("Rudder: full sweep and centre", ("steering",), ("servo", "linkage")),
    _Asked("Drives: forward and reverse", ("propulsion",), ("motor", "speed", "shaft")),
    _Asked("Pump: pour a mug in, full stream", ("pumping",), ("pump",), "s per litre"),
    _Asked("Float switch: flood it until the pump starts", ("pumping",), ("switch",)),
    _Asked("Leak: float five minutes at fighting weight, dry paper below", (), ("seal",), "mL"),
    _Asked("Box: shut, dry tissue inside, feed-throughs greased", zone="sealed box"),
    _Asked("Recovery line: free, tied, eye without rust", ("recovery",), ()),
    _Asked("Pins in. Open the gas: gauge within the rule", ("gas",), (), "bar", _GAS),
    _Asked("Creep: watch the gauge two minutes; leak spray", ("gas",), ("regulator",), "bar after 2 min"),
    _Asked("Guns: fire in the area set aside for it; pins back in", ("guns",), (), None, "Nobody downrange."),
)


def steps(places: Iterable[Place]) -> tuple[CheckStep, ...]:
    """The steps that a ship's own positions ask for, gas last."""
    aboard = list(places)
    made = []
    for asked in _ORDER:
        where = tuple(place.name for place in aboard if _meant(asked, place))
        everybody = not (asked.systems or asked.words or asked.zone)
        if where or everybody:
            made.append(CheckStep(asked.what, where, asked.figure, asked.caution))
    return tuple(made)


def _meant(asked: _Asked, place: Place) -> bool:
    if asked.zone is not None:
        return place.zone == asked.zone
    named = not asked.words or any(word in f"{place.name} {place.category or ''}" for word in asked.words)
    return bool(asked.systems or asked.words) and named and (not asked.systems or place.system in asked.systems)
