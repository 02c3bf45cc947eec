"""The preventive work that captains of such ships usually do: a start for a club that has none, to be mended by it."""

from __future__ import annotations

from typing import NamedTuple

COMMON = "common practice, no source"
_CAPTAIN = "the captain"


class Usual(NamedTuple):
    """
    Work that is usually done again and again on one kind of part.

    Attributes
    ----------
    title : str
    category : str
        Of the parts it is done on.
    every : tuple of str
        How often; as soon as any is reached.
    work_minutes : int
        A guess (common practice, no source).
    why : str
        What it keeps off, or what to mind.
    words : tuple of str
        It is for families with one of these words in their name or in a position they are fitted in; none: for all.
    source, decider : str
    """

    title: str
    category: str
    every: tuple[str, ...]
    work_minutes: int
    why: str
    words: tuple[str, ...] = ()
    source: str = COMMON
    decider: str = _CAPTAIN


USUAL = (
    Usual(
        "re-grease the shaft tubes",
        "seal",
        ("2 battle days", "1 immersion"),
        15,
        "grease washes out; a tube without it lets water in with no hole to be seen",
        ("shaft",),
    ),
    Usual(
        "look at the shaft seals and tubes",
        "seal",
        ("once a season",),
        30,
        "worn O-rings, hairline cracks where a tube meets the hull; renew and reseal in winter",
        ("shaft",),
    ),
    Usual(
        "look inside the rudder boot",
        "seal",
        ("once a season",),
        20,
        "a torn boot fills the box; renew its seal: rubber ages by the calendar",
        ("rudder",),
    ),
    Usual(
        "renew the box gasket",
        "seal",
        ("1 year",),
        20,
        "a gasket clamped all winter stays flat; tighten it no harder than it needs",
        ("gasket",),
    ),
    Usual(
        "renew the desiccant and dry the box",
        "seal",
        ("1 immersion",),
        10,
        "soaked paper or foam left in a box keeps it wet",
        ("gasket",),
    ),
    Usual(
        "pinch-test the foam strips",
        "seal",
        ("once a season",),
        30,
        "paper pulled out from under the deck shows where they have gone flat: renew those",
        ("foam", "deck", "hatch"),
    ),
    Usual(
        "open, flush and dry the servos",
        "servo",
        ("1 immersion",),
        30,
        "water stays in a closed case for days; alcohol outdoors, away from flames and gas; then new grease",
    ),
    Usual(
        "check the servos' end points and seals",
        "servo",
        ("once a season",),
        15,
        "a stalled servo drags the receiver's supply down",
    ),
    Usual(
        "open the receiver and look",
        "receiver",
        ("once a season", "1 immersion"),
        30,
        "only if its method allows opening: cutting a coating open can ruin the board",
    ),
    Usual(
        "open, flush and dry the speed controllers",
        "speed controller",
        ("1 immersion",),
        30,
        "boards corrode weeks after the water; dry before power",
    ),
    Usual(
        "measure the batteries' capacity",
        "battery",
        ("twice a season",),
        20,
        "an undercharged battery slows the pump; charge attended, on something that does not burn",
    ),
    Usual(
        "top up the stored batteries",
        "battery",
        ("3 months",),
        10,
        "lead sulphates when flat; lithium lies at half charge and is not charged once swollen or soaked in salt water",
    ),
    Usual(
        "re-terminate and grease the connectors",
        "wiring",
        ("once a season",),
        60,
        "water wicks inside the jacket: the main source of 'it just died'; each winter",
        ("connector", "plug", "lead", "wire", "wiring", "loom"),
    ),
    Usual(
        "dry, spray and oil the motors",
        "motor",
        ("1 wet sortie",),
        5,
        "after water: spin dry, a water-displacing spray, a drop of oil at each bush",
    ),
    Usual(
        "look at the impeller and its screw",
        "pump",
        ("once a season",),
        20,
        "a loose impeller or a lifted pump throws no water",
    ),
    Usual(
        "check set screws and couplings",
        "shaft",
        ("1 battle day",),
        5,
        "screws back out without thread-locker",
    ),
    Usual(
        "check clevises and horns",
        "linkage",
        ("1 battle day",),
        5,
        "a push rod that pops off ends the day",
    ),
    Usual(
        "strip, dry and lightly oil the cannon",
        "cannon",
        ("1 wet sortie",),
        20,
        "after any flooding; pins in, gas off and bled first",
    ),
    Usual(
        "renew the cannon O-rings",
        "cannon",
        ("once a season", "1000 shots"),
        30,
        "swollen or worn rings dribble; pins in, gas off and bled first",
    ),
    Usual(
        "strip, clean and re-test the regulator",
        "regulator",
        ("once a season", "1 immersion"),
        45,
        "it creeps on a dirty seat; after any work the pressure is tested again before a witness",
        decider="technical officer",
    ),
    Usual(
        "look over the regulator's hose",
        "regulator",
        ("once a season",),
        15,
        "kinks, cracks, weeping push-fits; never mend under pressure: bleed first",
    ),
    Usual(
        "look over the bottles",
        "cylinder",
        ("once a season",),
        10,
        "witness mark, valve, scars, weight; a valve that turns in its bottle is lethal: stop, send it away",
        decider="licensed cylinder inspector",
    ),
    Usual(
        "pull hard at the recovery line and its eye",
        "recovery gear",
        ("once a season",),
        10,
        "lines rot and eyes rust: a ship lay a year for it; line at least 1.5 times the deepest water",
    ),
)
