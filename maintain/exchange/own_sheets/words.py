"""Words that captains write, and the word of the records that each of them is (common practice, no source)."""

from __future__ import annotations

import difflib
import re
from collections.abc import Iterable, Mapping

from maintain import vocabulary as say

# What people write where they know nothing.
UNKNOWN = frozenset(("", "-", "--", "–", "—", "?", "??", "n/a", "na", "n.a.", "unknown", "not known", "dunno", "tbc"))
TOTALS = frozenset(
    ("total", "totals", "sum", "sums", "grand total", "subtotal", "sub total", "overall", "average", "mean")
)


def folded(text: str) -> str:
    """What counts when names and headings are compared: neither case nor spaces, dashes, dots and the like."""
    return " ".join(re.findall(r"[^\W_]+", text.lower()))


def as_said(text: str) -> str:
    """The same of a text that a person is asked about: a question mark beside it is a doubt of its own."""
    return folded(text) + ("?" if "?" in text else "")


def squashed(text: str) -> str:
    """The same without any space."""
    return folded(text).replace(" ", "")


def near(text: str, known: Iterable[str], *, least: float = 0.8) -> str | None:
    """The known text that another one may be meant for; texts that differ in a number are two."""
    key = squashed(text)
    numbers = re.findall(r"\d+", key)
    by_key = {squashed(each): each for each in known}
    for found in difflib.get_close_matches(key, by_key, n=3, cutoff=least):
        if re.findall(r"\d+", found) == numbers:
            return by_key[found]
    return None


def namesake(text: str, known: Iterable[str]) -> str | None:
    """A known full name that another one may be short for: its first name alone, or its initial and surname."""
    said = folded(text).split()
    for each in known:
        full = folded(each).split()
        short, long = sorted((said, full), key=len)
        if short and len(short) < len(long) and set(short) <= set(long):
            return each
        if len(said) == len(full) > 1 and said[-1] == full[-1] and said != full and said[0][0] == full[0][0]:
            return each
    return None


def meanings(words: Iterable[str], more: Mapping[str, tuple[str, ...]] | None = None) -> dict[str, str]:
    """Words of the records by what people write for them; every word of the records means itself."""
    words = tuple(words)
    said = {folded(word): word for word in words}
    for word, others in (more or {}).items():
        said.update({folded(other): word for other in others})
    return said


YES_NO = {
    **dict.fromkeys(("yes", "y", "x", "true", "1", "✓", "✔", "☑", "tick", "ticked", "done"), "yes"),
    **dict.fromkeys(("no", "n", "false", "0", "✗", "✘", "☐", "none"), "no"),
}
# A sinking whose depth the sheet may say beside it; how it is recorded is decided with the rest of the row.
SANK = "sank"
WETNESS = {
    **meanings(
        say.WETNESS,
        {
            "W0": ("0", "dry", "bone dry"),
            "W1": ("1", "splash", "splashed", "splashes", "damp", "drops", "spray"),
            "W2": ("2", "flooded", "low", "awash", "decks awash", "half full", "water in"),
            "W3": ("3", "sank lifted quickly"),
            "W4": ("4", "sank lay"),
            "W5": ("5", "lost"),
        },
    ),
    **dict.fromkeys(("sank", "sunk", "sink", "sinking", "went down", "under"), SANK),
}
CAUSES = meanings(
    say.SINKING_CAUSES,
    {
        "damage": ("hits", "hit", "holes", "holed", "shot", "gunfire", "battle damage", "ram", "rammed"),
        "system": ("breakdown", "failure", "system failure"),
        "trim": ("capsized", "rolled over", "capsize", "stability", "design"),
        "operator": ("captain", "forgot", "forgot pump", "driver", "pilot", "own fault"),
        "unknown": ("just sank", "no idea"),
    },
)
ENDINGS = meanings(
    say.ENDINGS,
    {
        "recall": ("recalled", "came home", "returned", "ok", "finished", "survived"),
        "timer": ("on the timer", "withdrew", "withdrawn", "five"),
        "out of control": ("ooc", "dead in the water", "lost control"),
        "sank": ("sunk", "sink", "sinking"),
    },
)
SHIP_STATES = meanings(
    say.SHIP_STATES,
    {
        "in commission": ("active", "sailing", "afloat", "in service", "ready", "running", "commissioned"),
        "dry dock": ("refit", "repair", "in repair", "building", "laid up", "out of service", "dock"),
        "lost": ("sunk for good", "never found", "wreck"),
        "paid off": ("sold", "scrapped", "retired", "broken up", "gone"),
    },
)
ZONES = meanings(
    say.ZONES,
    {
        "sealed box": ("box", "boxed", "radio box", "watertight box", "sealed", "dry box"),
        "dry deck": ("deck", "under deck", "dry", "high", "turret", "superstructure"),
        "bilge": ("bilges", "wet", "bottom", "hull bottom", "pump well"),
        "external": ("outside", "outboard", "hull outside"),
        "ashore": ("shore", "pit", "bank", "shed"),
    },
)
SYSTEMS = meanings(
    say.SYSTEMS,
    {
        "guns": ("gun", "weapons", "armament", "cannon", "cannons"),
        "steering": ("rudder", "rudders"),
        "propulsion": ("drive", "motor", "motors", "engine", "shafts"),
        "radio": ("rc", "r c", "receiver", "control"),
        "pumping": ("pump", "pumps", "damage control"),
        "gas": ("co2", "pneumatics"),
    },
)
DEPENDENCE = meanings(say.DEPENDENCE, {"vital": ("critical", "essential"), "nuisance": ("minor",)})
CATEGORIES = meanings(
    say.CATEGORIES,
    {
        **{each: (say.many(each),) for each in say.CATEGORIES},
        "speed controller": ("speed controllers", "esc", "escs", "throttle", "speed control"),
        "receiver": ("receivers", "rx"),
        "seal": ("seals", "o ring", "o rings", "oring", "orings", "gasket", "gaskets", "bellows", "boot", "boots"),
        "cylinder": ("cylinders", "bottle", "bottles", "co2 bottle", "co2 bottles"),
        "cannon": ("cannons", "gun", "guns"),
        "battery": ("batteries", "pack", "packs", "accu", "cell", "cells"),
        "valve": ("valves", "solenoid", "solenoids", "poppet", "poppets"),
        "wiring": ("wire", "wires", "fuse", "fuses", "connector", "connectors", "lead", "leads", "plug", "plugs"),
        "linkage": ("linkages", "clevis", "clevises", "pushrod", "pushrods", "horn", "horns"),
        "shaft": ("shafts", "prop", "props", "propeller", "propellers", "screw", "coupling", "couplings"),
        "recovery gear": ("float", "floats", "line", "recovery line"),
    },
)
COUNTED = ("seal", "wiring", "linkage", "recovery gear", "other")  # of these a club numbers none, it counts them
TRACKING = meanings(say.TRACKING, {"tagged": ("tag", "one by one"), "counted": ("count", "by number")})
ORIGINS = meanings(say.ORIGINS, {"new": ("bought new", "unused"), "second-hand": ("used", "second hand", "2nd hand")})
MODES = meanings(
    say.MODES,
    {
        "dead": ("died", "stopped", "failed", "no go", "burnt out", "burned out", "does not work", "not working"),
        "erratic": ("jitter", "jittery", "jitters", "chatter", "glitches", "glitching", "intermittent", "twitching"),
        "hard over": ("full lock", "stuck over"),
        "slow": ("weak", "sluggish", "low power"),
        "noisy": ("rough", "grinding"),
        "hot": ("overheated", "overheating"),
        "leaks water": ("leak", "leaks", "leaking", "leaked", "water in", "wet inside"),
        "leaks gas": ("gas leak", "hissing"),
        "won't prime": ("wont prime", "not priming", "no prime", "air locked", "airlock"),
        "jams": ("jam", "jammed", "seized", "stuck", "double feed", "double feeds"),
        "came off": ("loose", "fell off", "popped off", "rod popped out", "adrift"),
        "broken": ("snapped", "cracked", "split", "stripped", "bent", "torn"),
        "corroded": ("rusted", "rust", "rusty", "corrosion", "green"),
        "won't hold charge": ("wont charge", "flat", "no charge", "low capacity", "won't charge", "wont hold charge"),
        "no signal": ("no link", "lost signal", "no bind", "out of range"),
        "operator": ("forgot", "forgotten", "own fault"),
        "just died": ("it just died",),
    },
)
BLAMED = meanings(
    say.BLAMED_CAUSES,
    {
        "water": ("wet", "flooded", "got wet", "sank", "sinking", "immersion", "submerged"),
        "wear": ("worn", "worn out", "old age", "wear and tear", "gears"),
        "knock": ("ram", "rammed", "knocked", "dropped", "collision", "impact"),
        "ball hit": ("shot", "bb", "hit", "battle damage", "gunfire"),
        "overload": ("stall", "stalled", "overloaded", "overheated", "short"),
        "wrong setting": ("setting", "settings", "set wrong", "programming"),
        "bad joint": ("joint", "solder", "plug", "connector", "wiring", "bad plug", "loose wire"),
        "assembly": ("fitted wrong", "badly fitted", "installation"),
        "stale": ("old", "perished", "shelf"),
        "unknown": ("just died", "no idea"),
    },
)
EFFECTS = meanings(
    say.EFFECTS,
    {
        "none": ("nothing", "no effect"),
        "lost function": ("lost steering", "no steering", "no pump", "lost the gun", "no drive"),
        "out of battle": ("withdrew", "out", "withdrawn"),
        "sank": ("sunk",),
    },
)
FOUND_BY = meanings(
    say.FOUND_BY,
    {
        "in battle": ("battle", "on the water", "during battle", "sortie", "sailing"),
        "pre-battle check": ("check", "before battle", "morning check"),
        "demand test": ("test", "tub", "tub test"),
        "opened": ("on opening", "looked inside", "inspection"),
        "bench": ("at home", "workshop", "winter"),
    },
)
BATTLE_STATES = meanings(
    say.BATTLE_STATES,
    {"fought": ("done", "held", "past", "took place"), "called off": ("cancelled", "canceled", "off", "rained off")},
)
MEASURES = meanings(
    say.MEASURES,
    {
        "pump seconds per litre": ("pump", "s l", "sec l", "seconds per litre", "pump time", "pump test"),
        "servo current": ("current", "servo ma"),
        "battery capacity": ("capacity", "mah"),
        "rest volts": ("volts", "voltage", "battery volts"),
        "range": ("range test", "range check", "paces"),
        "bottle weight": ("bottle",),
    },
)
