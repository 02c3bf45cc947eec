"""The words the records may use: trade words and terms of open standards, each list in the order it is shown.

Stored as text, held by CHECK constraints in the database, offered as choices on the command line.
"""

from __future__ import annotations

SHIP_STATES = ("in commission", "dry dock", "lost", "paid off")


def being(state: str) -> str:
    """The state of a ship as it follows "she is"."""
    return f"in {state}" if state == "dry dock" else state


SYSTEMS = ("guns", "steering", "propulsion", "radio", "pumping", "hull", "recovery", "gas")
ZONES = ("sealed box", "dry deck", "bilge", "external", "ashore")
CATEGORIES = (
    "servo",
    "pump",
    "motor",
    "receiver",
    "seal",
    "speed controller",
    "battery",
    "valve",
    "regulator",
    "switch",
    "cylinder",
    "cannon",
    "linkage",
    "shaft",
    "wiring",
    "recovery gear",
    "other",
)

_UNCOUNTED = ("recovery gear", "wiring", "other")


def many(category: str) -> str:
    """A category in the plural."""
    if category in _UNCOUNTED:
        return category
    if category.endswith("ch"):
        return f"{category}es"
    return f"{category[:-1]}ies" if category.endswith("y") else f"{category}s"


# How much the ship depends on a position: without it she is out of the battle, fights worse, or is merely annoyed.
DEPENDENCE = ("vital", "degrades", "nuisance")
TRACKING = ("tagged", "counted")  # one by one under a tag, or by number (O-rings, fuses)

PRECISIONS = ("day", "month", "season", "before records")
ORIGINS = ("new", "second-hand", "inherited", "unknown")
PRIOR_USE = ("none", "unknown")
PLACES = ("installed", "pool", "captain", "loan", "suspect", "scrapped", "lost")
PULL_REASONS = ("failed", "working", "suspect", "ship paid off", "ship lost", "moved", "correction")
TREATMENT_KINDS = ("applied", "renewed", "removed")

WATERS = ("fresh", "treated-fresh", "brackish", "salt", "unknown")
BATTLE_STATES = ("planned", "fought", "called off")

# One tap per ship and sortie; the words are the captains'.
WETNESS = {
    "W0": "dry",
    "W1": "splash",
    "W2": "flooded",
    "W3": "sank, lifted quickly (under 10 minutes)",
    "W4": "sank, lay (10 minutes to a day)",
    "W5": "sank, lost for more than a day",
}
SUNK = ("W3", "W4", "W5")

# More is a slip of the hand (common practice, no source): launched again after 20 minutes, ten hours of light a day.
MOST_SORTIES_A_DAY = 30
MOST_OF_A_SORTIE = {
    "minutes_afloat": 600.0,
    "minutes_under": 366 * 1440.0,  # some are found when the pond is let off
    "shots": 2000,
    "hits_above": 1000,
    "hits_on": 1000,
    "hits_below": 1000,
}


def wetness_of(minutes_under: float) -> str:
    """Which wetness a time under water is."""
    return "W3" if minutes_under < 10 else "W4" if minutes_under <= 1440 else "W5"


# Wetness (0 to 5) from which the water reaches a part in a zone, and from which the part was under (common practice, no
# source). A gasketed box holds when the ship is lifted quickly and is taken to have leaked when she lay, unless opening
# it showed otherwise; 9: never.
WET_FROM = {"sealed box": 4, "dry deck": 2, "bilge": 1, "external": 1, "ashore": 9}
UNDER_FROM = {"sealed box": 4, "dry deck": 3, "bilge": 3, "external": 3, "ashore": 9}
ENDINGS = ("recall", "timer", "out of control", "sank")
SINKING_CAUSES = ("damage", "system", "trim", "operator", "unknown")
OPENED_FINDINGS = ("dry", "damp", "water")

MODES = (
    "dead",
    "erratic",
    "hard over",
    "slow",
    "noisy",
    "hot",
    "leaks water",
    "leaks gas",
    "won't prime",
    "jams",
    "came off",
    "broken",
    "corroded",
    "won't hold charge",
    "no signal",
    "operator",
    "just died",
)
BLAMED_CAUSES = (
    "water",
    "wear",
    "knock",
    "ball hit",
    "overload",
    "wrong setting",
    "bad joint",
    "assembly",
    "stale",
    "unknown",
)
BATTLE_DAMAGE = "ball hit"  # a competing cause, not a failure of the part
EFFECTS = ("none", "nuisance", "lost function", "out of battle", "sank", "unknown")
FOUND_BY = ("in battle", "pre-battle check", "demand test", "opened", "roll call", "bench", "unknown")
SUSPICION_OUTCOMES = ("no failure found", "condemned")
TEST_RESULTS = ("pass", "fail")

STOCK_PLACES = ("supplier", "pool", "captain", "ship", "suspect", "scrap", "count")
LOAN_TERMS = ("return", "payback in kind")
RETURN_CONDITIONS = ("good", "suspect", "dead", "kept")

# What the shortage board tells of, the most pressing first.
NOTICES = (
    "legal date",
    "to settle",
    "overdue",
    "late order",
    "below its line",
    "stale",
    "suspect",
    "unidentified",
    "owed",
)

DEMAND_TEST = "demand test"
# measure -> unit
MEASURES = {
    "pump seconds per litre": "s/L",
    "regulator creep": "bar",
    "downstream pressure": "bar",
    "range": "paces",
    "servo current": "mA",
    "battery capacity": "mAh",
    "rest volts": "V",
    "loaded volts": "V",
    "bottle weight": "g",
    "leak test": "mL",
    "line pull": "N",
    DEMAND_TEST: "passed",  # 1 passed, 0 failed
    "other": "",
}
# Measures that are a quantity of which more or less is worse.
GAUGED = tuple(measure for measure in MEASURES if measure not in (DEMAND_TEST, "other"))
# What is measured of a part where it sits: elsewhere the same part gives another figure.
SITUATED = ("pump seconds per litre", "range", "leak test", "servo current")
# Which parts a measure shows to work while it keeps its limit (common practice, no source); a demand test shows any.
SHOWN_BY = {
    "pump seconds per litre": ("pump", "motor"),
    "regulator creep": ("regulator",),
    "downstream pressure": ("regulator",),
    "range": ("receiver",),
    "servo current": ("servo",),
    "battery capacity": ("battery",),
    "rest volts": ("battery",),
    "loaded volts": ("battery",),
    "bottle weight": ("cylinder",),
    "leak test": ("seal", "shaft"),
    "line pull": ("recovery gear",),
}
BOUNDS = ("at most", "at least")
A_SEASON = "times a season"  # of recurring work: so many times in each, evenly
TASK_CLOCKS = (
    "days",
    A_SEASON,
    "battle days",
    "sorties",
    "minutes afloat",
    "wet sorties",
    "immersions",
    "minutes under",
    "shots",
)
# How work that comes round stands, the most pressing first.
TASK_STATES = ("overdue", "due", "due soon", "not yet", "done")
CHECK_ANSWERS = ("pass", "fail", "not done", "promise")
ROLL_CALL_ANSWERS = ("works", "does not work", "empty", "not seen")
# After a sinking: of something to do, of what was found, of a test, and of the sinking itself.
SALVAGE_ANSWERS = (
    *("done", "not done"),
    *(*OPENED_FINDINGS, "not seen"),
    *TEST_RESULTS,
    "timed",
    *SINKING_CAUSES,
)
DRYING = ("fan", "warm air", "alcohol rinse", "spray and oil", "stripped and oiled", "not dried")

# Use of a part, each a clock an estimate can run on.
CLOCKS = ("days", "sorties", "minutes afloat", "wet sorties", "immersions", "minutes under", "shots")

# A club's own spreadsheet: what its rows are, and how it writes dates and decimals.
SHEET_KINDS = (
    "ships",
    "members",
    "families",
    "positions",
    "parts",
    "battles",
    "sorties",
    "failures",
    "stock",
    "readings",
)
DATE_ORDERS = ("day-first", "month-first", "year-first")
DECIMAL_MARKS = ("point", "comma")
