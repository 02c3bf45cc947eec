"""What every crate has that clubs rarely keep records of, and what to mind about what is in it."""

from __future__ import annotations

from collections.abc import Iterable
from math import ceil
from typing import NamedTuple

from maintain.results.crate import Caution, Consumable

_SHIPS, _DAYS = 10, 4  # that the quantities below are for


class Usual(NamedTuple):
    """Something usually packed: how much for ten ships and four days, and words that tell it is recorded."""

    name: str
    quantity: int
    unit: str
    words: tuple[str, ...]
    grows: bool = True  # with ships and days


# Common practice, no source.
_USUAL = (
    Usual("fuses of each rating in use", 10, "", ("fuse",)),
    Usual("connectors, made up with leads", 12, "", ("connector", "plug")),
    Usual("push fittings for gas, assorted", 12, "", ("fitting",)),
    Usual("gas hose 4 mm", 3, "m", ("hose 4",)),
    Usual("pump hose", 2, "m", ("pump hose",)),
    Usual("O-ring kits for cannons", 2, "sets", ("o-ring",)),
    Usual("full gas bottles beyond the ships' own", 6, "and a bulk supply at the venue", ("bottle", "cylinder")),
    Usual("pins", 10, "", ("pin",)),
    Usual("set screws and thread-locker", 1, "kit", ("set screw", "thread"), grows=False),
    Usual("balsa, tissue and cement for patches", 4, "m²", ("balsa", "tissue")),
    Usual("props, left and right, of each thread", 2, "each", ("prop",), grows=False),
    Usual("recovery line", 50, "m", ("line",), grows=False),
    Usual("recovery floats", 6, "", ("float and line", "recovery float")),
    Usual("grease, oil, alcohol, silica gel", 1, "each", ("grease", "alcohol", "silica"), grows=False),
    Usual("tape, zip ties, epoxy", 1, "box", ("tape", "epoxy", "zip"), grows=False),
    Usual("test gauge, scale, multimeter, hair dryer, generator", 1, "each", ("gauge", "multimeter"), grows=False),
    Usual("labels and paint pens", 1, "set", ("label", "paint pen"), grows=False),
)

_OFFICER = "the club's safety officer"
_INSPECTOR = "a licensed cylinder inspector"
_FLYING = Caution(
    "gas bottles",
    "never under pressure by air: above 50 ml only empty, with the valve visibly removed; plan the gas at the venue",
    "49 CFR 175.10(a)(25), in the United States; elsewhere ask the carrier",
    "the carrier",
)
_IN_DATE = Caution(
    "gas bottles",
    "pack only what is in date, filled by weight; never warm, never above 54 °C; a valve that turns with its bottle "
    "can launch it: stop, and send it away",
    "49 CFR 180.209 and 173.304a; ASTM F2553",
    _INSPECTOR,
)
_DISCS = Caution("burst discs", "none in the crate: the dealer fits them", "common practice", _INSPECTOR)
_TESTED = Caution(
    "regulators and gas valves",
    "nothing with gas goes out untested: leaks and creep first",
    "common practice",
    _OFFICER,
)
_CELLS = Caution(
    "batteries",
    "lithium cells half charged, poles covered, apart from what burns; none that is swollen, dented or damp, and a "
    "damaged one is not sent at all",
    "carriers' rules for lithium cells (UN 38.3)",
    "the carrier",
)
_FLOODED = Caution(
    "flooded batteries",
    "out of doors, at least 15 m from people and anything that burns, not charged, watched for hours to days for heat, "
    "smell or smoke; call the fire service if there are any. Plan the place before the first sinking",
    "advice of United States fire authorities after floods, 2022",
    "the fire service",
)
_ALCOHOL = Caution("alcohol", "away from gas, batteries and flames, aired", "common practice", _OFFICER)
_BY_CATEGORY = {
    "cylinder": (_FLYING, _IN_DATE, _DISCS),
    "regulator": (_TESTED,),
    "valve": (_TESTED,),
    "battery": (_CELLS, _FLOODED),
}


def consumables(recorded: Iterable[str], ships: int, days: int) -> tuple[Consumable, ...]:
    """What to add to the crate, unless a family recorded is such a thing; for so many ships and days."""
    names = [name.casefold() for name in recorded]
    return tuple(
        Consumable(each.name, _quantity(each, ships, days))
        for each in _USUAL
        if not any(word in name for word in each.words for name in names)
    )


def _quantity(usual: Usual, ships: int, days: int) -> str:
    number = usual.quantity
    if usual.grows:
        number = max(1, ceil(number * ships * days / (_SHIPS * _DAYS)))
    return f"{number} {usual.unit}".strip()


def cautions(categories: Iterable[str]) -> tuple[Caution, ...]:
    """What to mind about the categories in the crate, and about what every crate has."""
    held = set(categories)
    found = [each for category, these in _BY_CATEGORY.items() if category in held for each in these]
    return tuple(dict.fromkeys([*found, _ALCOHOL]))
