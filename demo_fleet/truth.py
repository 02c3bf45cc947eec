"""The truth of the demo club: everything the records are drawn from, and nothing else decides it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from maintain.core.simulate import ServiceAge, Waters, Weibull

SEED = 20230318
CLUB = "Sallowmere Small Fleet"
CURRENCY = "EUR"
RECORDS_FROM = date(2023, 3, 18)
TODAY = date(2026, 9, 20)


@dataclass(frozen=True)
class Family:
    """A family of parts: what it is, what it costs, how it truly lives."""

    letters: str  # its parts' tags begin with them
    name: str
    category: str
    life: Weibull
    cost_cents: int
    lead_days: int
    minutes: int  # to fit one
    grams: float
    shelf_days: int | None = None
    ages_on_shelf: bool = False
    hidden: bool = False
    line: int = 1  # the club orders when fewer are left
    start: int = 2


# What ages a part of each category: days of life per minute afloat, wet sortie and immersion.
SERVICE_AGE = {
    "servo": ServiceAge(0.10, 2.0, 60.0),
    "receiver": ServiceAge(0.05, 1.0, 80.0),
    "speed controller": ServiceAge(0.05, 1.0, 70.0),
    "motor": ServiceAge(0.20, 3.0, 40.0),
    "pump": ServiceAge(0.20, 2.0, 10.0),
    "seal": ServiceAge(0.05, 1.0, 15.0),
    "battery": ServiceAge(0.10, 0.0, 20.0),
    "valve": ServiceAge(0.10, 1.0, 30.0),
    "regulator": ServiceAge(0.05, 0.0, 30.0),
    "switch": ServiceAge(0.05, 2.0, 40.0),
    "cylinder": ServiceAge(0.0, 0.0, 5.0),
    "recovery gear": ServiceAge(0.0, 1.0, 20.0),
}

FAMILIES = (
    Family("SV", "standard servo", "servo", Weibull(1.6, 2000), 1450, 10, 25, 40.0, line=2, start=5),
    Family("MG", "metal-gear servo", "servo", Weibull(1.6, 2600), 2600, 21, 25, 48.0, start=2),
    Family("MC", "micro servo", "servo", Weibull(1.6, 2000), 900, 14, 20, 9.0, line=2, start=5),
    Family("PM", "pump motor 28 mm", "motor", Weibull(2.3, 1800), 1200, 18, 30, 72.0, line=2, start=4),
    Family("DM", "drive motor 36 mm", "motor", Weibull(1.9, 4800), 1900, 18, 45, 190.0, start=2),
    Family("PB", "pump body 3.2 mm", "pump", Weibull(1.2, 7000), 5500, 45, 40, 85.0, start=1),
    Family("RA", "receiver, Alder protocol", "receiver", Weibull(1.0, 1800), 2900, 12, 20, 10.0, start=2),
    Family("RB", "receiver, Birch protocol", "receiver", Weibull(1.0, 1800), 3400, 30, 20, 12.0, start=1),
    Family("SC", "brushed controller 20 A", "speed controller", Weibull(1.0, 1700), 3200, 28, 35, 38.0, start=2),
    Family("LB", "lead battery 6 V", "battery", Weibull(2.5, 1700), 2400, 5, 5, 1650.0, 900, True, start=2),
    Family("IB", "iron phosphate pack 6.4 V", "battery", Weibull(2.5, 2600), 5200, 14, 5, 900.0, 1800, True, start=1),
    Family("RP", "receiver pack 4.8 V", "battery", Weibull(2.5, 1600), 1500, 7, 5, 110.0, 1200, True, start=2),
    Family("SS", "shaft seal 4 mm", "seal", Weibull(2.2, 1550), 350, 21, 40, 3.0, 2500, True, line=2, start=5),
    Family("RS", "rudder seal 3 mm", "seal", Weibull(2.2, 1700), 280, 21, 30, 2.0, 2500, True, start=3),
    Family(
        "BG",
        "box gasket cord 4 mm",
        "seal",
        Weibull(2.0, 1100),
        400,
        10,
        30,
        8.0,
        2500,
        True,
        line=2,
        start=6,
    ),
    Family("RG", "regulator 8 bar", "regulator", Weibull(1.3, 4200), 7500, 56, 45, 140.0, start=1),
    Family("FV", "firing valve", "valve", Weibull(0.7, 4500), 2800, 35, 30, 55.0, start=4),
    Family("OV", "shut-off valve", "valve", Weibull(1.0, 8000), 1600, 21, 20, 30.0, hidden=True, start=1),
    Family("PS", "pump switch", "switch", Weibull(1.0, 4500), 800, 10, 15, 12.0, hidden=True, start=2),
    Family("FS", "float switch", "switch", Weibull(1.4, 3200), 1100, 10, 15, 25.0, hidden=True, start=2),
    Family("CB", "bottle 100 g", "cylinder", Weibull(1.0, 30000), 3200, 14, 10, 380.0, start=2),
    Family(
        "RF",
        "recovery float and line",
        "recovery gear",
        Weibull(1.0, 6000),
        600,
        7,
        10,
        35.0,
        hidden=True,
        start=2,
    ),
)
FAMILY = {each.name: each for each in FAMILIES}


@dataclass(frozen=True)
class Counted:
    """A family counted by number, without lives."""

    name: str
    category: str
    cost_cents: int
    lead_days: int
    line: int


COUNTED = (Counted("cannon O-ring", "seal", 25, 21, 40), Counted("blade fuse 10 A", "wiring", 15, 5, 20))

# Which families fit a position, by its name without the number or side.
FITS = {
    "main-battery": ("lead battery 6 V", "iron phosphate pack 6.4 V"),
    "receiver-battery": ("receiver pack 4.8 V",),
    "speed-controller": ("brushed controller 20 A",),
    "rudder-servo": ("standard servo", "metal-gear servo"),
    "rudder-seal": ("rudder seal 3 mm",),
    "box-gasket": ("box gasket cord 4 mm",),
    "pump": ("pump body 3.2 mm",),
    "pump-motor": ("pump motor 28 mm",),
    "pump-switch": ("pump switch",),
    "float-switch": ("float switch",),
    "recovery-float": ("recovery float and line",),
    "drive-motor": ("drive motor 36 mm",),
    "shaft-seal": ("shaft seal 4 mm",),
    "bottle": ("bottle 100 g",),
    "regulator": ("regulator 8 bar",),
    "shut-off-valve": ("shut-off valve",),
    "gun-servo": ("micro servo",),
    "gun-valve": ("firing valve",),
}

# Positions that this club adds to a typical ship of each kind: name, system, zone, dependence.
EXTRA_POSITIONS = {
    "cruiser": (
        ("float-switch", "pumping", "bilge", "vital"),
        ("shut-off-valve", "gas", "dry deck", "degrades"),
        ("gun-1-valve", "guns", "dry deck", "degrades"),
        ("gun-2-valve", "guns", "dry deck", "degrades"),
    ),
    "battleship": (
        ("shut-off-valve", "gas", "dry deck", "degrades"),
        ("gun-1-valve", "guns", "dry deck", "degrades"),
        ("gun-2-valve", "guns", "dry deck", "degrades"),
        ("gun-3-valve", "guns", "dry deck", "degrades"),
        ("gun-4-valve", "guns", "dry deck", "degrades"),
    ),
    "convoy ship": (("float-switch", "pumping", "bilge", "vital"),),
}

ZONE_RATIO = {"sealed box": 0.6, "dry deck": 1.0, "bilge": 1.6, "external": 1.0}


@dataclass(frozen=True)
class Method:
    """A waterproofing method: its hazard ratio against no treatment, and how often a new part gets it."""

    name: str
    ratio: float
    servo_share: float  # of servos; the rest stay untreated
    board_share: float  # of receivers and speed controllers


METHODS = (
    Method("grease-filled case", 0.40, 0.26, 0.0),
    Method("conformal coating", 0.50, 0.0, 0.36),
    Method("oil bath", 0.60, 0.16, 0.0),
    Method("corrosion inhibitor", 0.80, 0.20, 0.24),
    Method("liquid tape dip", 1.60, 0.12, 0.16),
)
METHOD_RATIO = {each.name: each.ratio for each in METHODS}
TREATED_CATEGORIES = ("servo", "receiver", "speed controller")
UNLOGGED_TREATMENTS = 0.05  # share of treatments that nobody wrote down


@dataclass(frozen=True)
class Venue:
    """A pond of the club."""

    name: str
    water: str
    depth_m: float | None


VENUES = (
    Venue("Upper Sallow", "fresh", 1.4),
    Venue("Bandstand Lake", "treated-fresh", 0.9),
    Venue("Sluice Basin", "brackish", 2.2),
    Venue("Clay Pit", "unknown", None),
    Venue("Long Withy Reservoir", "fresh", 2.8),
)
MEET_VENUE = "Long Withy Reservoir"


@dataclass(frozen=True)
class Format:
    """A kind of battle: sorties a ship and day, minutes of each, and how it multiplies every ship's sinking chance."""

    name: str
    sorties: int
    minutes: float
    sinking_factor: float


FORMATS = (
    Format("fleet battle", 4, 25.0, 1.0),
    Format("convoy run", 3, 35.0, 0.6),
    Format("last ship afloat", 2, 20.0, 2.0),
    Format("campaign", 6, 30.0, 0.8),
)
MEET = Format("annual meet", 4, 25.0, 1.3)
PRACTICE = Format("practice", 2, 20.0, 0.3)

NEXT_BATTLE = (date(2026, 9, 27), "fleet battle", "Upper Sallow", 4)
NEXT_MEET = (date(2026, 10, 15), date(2026, 10, 18), 14)


@dataclass(frozen=True)
class ShipTruth:
    """A ship: who sails her, when, how often, and how wet."""

    name: str
    captain: str
    kind: str
    joined: date
    attendance: float
    sinking: float  # chance of sinking at a sortie of a fleet battle
    flooding: float  # chance of W2 at a sortie that does not sink her
    protocol: str = "Alder"
    leaves: tuple[date, str] | None = None  # when her state changed, and to what


_START = RECORDS_FROM
SHIPS = (
    ShipTruth("Ashvane", "Bramble", "battleship", _START, 0.80, 0.05, 0.15),
    ShipTruth("Brackenfell", "Tallow", "cruiser", _START, 0.75, 0.09, 0.20),
    ShipTruth("Corvane", "Quill", "battleship", _START, 0.70, 0.04, 0.10, "Birch"),
    ShipTruth("Dunmarrow", "Fennimore", "convoy ship", _START, 0.65, 0.12, 0.20),
    ShipTruth("Emberlyn", "Bramble", "cruiser", _START, 0.60, 0.15, 0.25),
    ShipTruth("Farrowgale", "Ness", "battleship", _START, 0.80, 0.07, 0.15),
    ShipTruth("Grimmelwick", "Sorrel", "cruiser", _START, 0.70, 0.10, 0.20, "Birch"),
    ShipTruth("Hollowmere", "Tansy", "cruiser", _START, 0.75, 0.06, 0.15),
    ShipTruth("Ironwhistle", "Corrie", "battleship", _START, 0.65, 0.08, 0.15, "Birch", (date(2026, 6, 1), "dry dock")),
    ShipTruth("Kestrane", "Wick", "convoy ship", _START, 0.60, 0.10, 0.20, "Alder", (date(2025, 6, 22), "lost")),
    ShipTruth("Larkspite", "Dray", "cruiser", _START, 0.70, 0.08, 0.15, "Alder", (date(2025, 2, 1), "paid off")),
    ShipTruth("Mossdrake", "Tallow", "convoy ship", date(2023, 6, 10), 0.65, 0.07, 0.15),
    ShipTruth("Nettlebrand", "Wick", "cruiser", date(2024, 4, 6), 0.75, 0.11, 0.20, "Birch"),
    ShipTruth("Orrisholt", "Hob", "battleship", date(2024, 8, 3), 0.80, 0.06, 0.15),
    ShipTruth("Pellwarden", "Sorrel", "cruiser", date(2025, 5, 17), 0.75, 0.13, 0.20),
    ShipTruth("Quillhaven", "Tansy", "convoy ship", date(2023, 3, 18), 0.55, 0.05, 0.10, "Birch"),
)
QUARTERMASTER = "Marl"
LEFT_THE_CLUB = {"Dray": date(2025, 2, 1)}

LIES_LONG = (0.74, 0.24, 0.02)  # of the sinkings: W3, W4, W5
# Seconds a new pump takes for a litre, how many more when its motor's service age is the scale of its family, and the
# scatter of readings; none is under the least.
PUMP_NEW, PUMP_WORN, PUMP_SCATTER, PUMP_LEAST = 17.0, 9.0, 1.5, 12.0
SPLASH = 0.40  # of the sorties that neither sink nor flood her: W1, the rest W0
BOX_LETS_IN = (0.08, 0.55)  # water in the sealed box at W3, and at W4 or W5


def waters(ship: ShipTruth, form: Format) -> Waters:
    """How the sorties of a ship go in a kind of battle."""
    sinks = min(0.6, ship.sinking * form.sinking_factor)
    floods = (1.0 - sinks) * ship.flooding
    calm = 1.0 - sinks - floods
    w3, w4, w5 = (sinks * share for share in LIES_LONG)
    chances = (calm * (1.0 - SPLASH), calm * SPLASH, floods, w3, w4, w5)
    return Waters(chances, minutes_mean=form.minutes, box_lets_in=BOX_LETS_IN)


def stem(position: str) -> str:
    """The kind of a position: its name without number or side."""
    words = [word for word in position.split("-") if not word.isdigit() and word not in ("port", "starboard")]
    return "-".join(words)


def families_that_fit(position: str, protocol: str) -> tuple[str, ...]:
    """Names of the families that fit a position of a ship with this radio protocol."""
    kind = stem(position)
    return (f"receiver, {protocol} protocol",) if kind == "receiver" else FITS[kind]
