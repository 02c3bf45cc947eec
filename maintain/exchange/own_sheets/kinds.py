"""What the rows of a club's own sheet can be, and what their columns are called (common practice, no source)."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

from maintain.exchange.own_sheets import words

How = Literal["text", "name", "tag", "day", "fuzzy day", "number", "whole", "money", "word"]


@dataclass(frozen=True)
class Meaning:
    """
    What a column of a kind of sheet says.

    Attributes
    ----------
    key : str
        What it is called by commands, and where it goes.
    says : str
        In words.
    headings : tuple of str
        What clubs write above it.
    how : str
        How its cells are read.
    of : str
        Whose name it is: ship, member, family, position, part, battle or venue.
    words : mapping
        Words of the records by what is written.
    unit : str
        The records' unit: minutes, grams, days.
    carried : bool
        Whether an empty cell says the same as the one above it.
    needed : bool
        Whether no row makes sense without it.
    past : bool
        Whether it is the day of something that has happened.
    """

    key: str
    says: str
    headings: tuple[str, ...]
    how: How = "text"
    of: str = ""
    words: Mapping[str, str] = field(default_factory=dict)
    unit: str = ""
    carried: bool = False
    needed: bool = False
    past: bool = False


@dataclass(frozen=True)
class Kind:
    """A kind of sheet: its name, what a row is, words in titles that hint at it, and its columns."""

    name: str
    row: str
    hints: tuple[str, ...]
    meanings: tuple[Meaning, ...]

    def meaning(self, key: str) -> Meaning:
        """The column of that key."""
        return next(each for each in self.meanings if each.key == key)


_SHIP = ("ship", "ship name", "vessel", "hull", "boat", "model", "name of ship", "warship")
_CAPTAIN = ("captain", "skipper", "owner", "driver", "cpt", "capt", "battler")
_DATE = ("date", "day", "when", "on")
_POSITION = ("position", "place", "location", "where", "fitted to", "where fitted", "installed in", "fitted in", "spot")
_TAG = ("tag", "part no", "part number", "no", "id", "label", "mark", "part tag", "number", "nr")
_FAMILY = ("family", "part", "item", "kind of part", "part type", "component", "description", "what", "type", "article")
_BATTLE = ("battle", "event", "meet", "battle name", "match", "regatta", "occasion")
_COST = ("cost", "price", "unit cost", "cost each", "each", "unit price", "paid", "price each")
_NOTE = ("note", "notes", "remark", "remarks", "comment", "comments", "repair done", "repair", "action", "other")
_AFLOAT = ("mins", "min", "ran for", "ran", "sailed for", "time")
_CATEGORY = ("category", "kind", "class", "group", "sort")


def _note() -> Meaning:
    return Meaning("note", "anything else", _NOTE)


def _ship(*, carried: bool = True) -> Meaning:
    return Meaning("ship", "the ship", _SHIP, "name", "ship", carried=carried, needed=True)


SHIPS = Kind(
    "ships",
    "a ship",
    ("ship", "ships", "fleet", "register"),
    (
        Meaning("ship", "her name", ("name", *_SHIP), "name", "ship", needed=True),
        Meaning("number", "her number in the club", ("club number", "no", "number", "club no", "hull number", "nr")),
        Meaning("captain", "her captain", _CAPTAIN, "name", "member"),
        Meaning("type", "what she is", ("type", "class", "ship type", "kind", "what she is")),
        Meaning("state", "whether she sails", ("state", "status", "condition"), "word", words=words.SHIP_STATES),
        Meaning("since", "since when she is in that state", ("since", "state since"), "day", past=True),
        _note(),
    ),
)
MEMBERS = Kind(
    "members",
    "a member",
    ("member", "members", "captains", "people"),
    (
        Meaning("member", "the name", ("member", "name", "person", *_CAPTAIN), "name", "member", needed=True),
        Meaning("left", "day they left", ("left", "left on", "resigned"), "day"),
        _note(),
    ),
)
FAMILIES = Kind(
    "families",
    "a family of parts",
    ("families", "catalogue", "prices"),
    (
        Meaning("family", "its name", ("name", *_FAMILY), "name", "family", needed=True),
        Meaning("category", "what kind of part", _CATEGORY, "word", words=words.CATEGORIES),
        Meaning("tracking", "tagged or counted", ("tracking", "kept"), "word", words=words.TRACKING),
        Meaning("cost", "cost of one", _COST, "money"),
        Meaning(
            "lead time", "days from order to delivery", ("lead time", "delivery", "delivery time"), "whole", unit="days"
        ),
        Meaning(
            "line", "order more when this many are left", ("reorder line", "minimum", "min", "reorder at"), "whole"
        ),
        Meaning("weight", "weight of one", ("weight",), "number", unit="grams"),
        _note(),
    ),
)
POSITIONS = Kind(
    "positions",
    "a position on a ship",
    ("positions", "layout"),
    (
        _ship(),
        Meaning("position", "its name on that ship", _POSITION, needed=True),
        Meaning("system", "what it serves", ("system",), "word", words=words.SYSTEMS),
        Meaning("zone", "where water finds it", ("zone", "wet or dry", "water zone"), "word", words=words.ZONES),
        Meaning(
            "dependence",
            "how much the ship depends on it",
            ("dependence", "importance"),
            "word",
            words=words.DEPENDENCE,
        ),
        _note(),
    ),
)
PARTS = Kind(
    "parts",
    "a part and where it sits",
    ("parts", "inventory", "fitted", "equipment"),
    (
        Meaning("ship", "the ship it is in", _SHIP[:4], "name", "ship", carried=True),
        Meaning("position", "where on her", (*_POSITION, "part", "item", "component"), of="position"),
        Meaning("tag", "its tag", _TAG, "tag"),
        Meaning("family", "its family", _FAMILY, "name", "family"),
        Meaning("category", "what kind of part", _CATEGORY, "word", words=words.CATEGORIES),
        Meaning("model", "maker's designation", ("model", "make", "designation", "make and model", "maker")),
        Meaning("batch", "which lot it came with", ("batch", "lot")),
        Meaning(
            "origin", "how the club came by it", ("origin", "new or used", "bought as"), "word", words=words.ORIGINS
        ),
        Meaning("owner", "whose it is", ("owner", "belongs to", "owned by"), "name", "member"),
        Meaning(
            "since",
            "since when it is there",
            ("since", "installed", "fitted", "date fitted", "installed on", "fitted on", "in since", "from", *_DATE),
            "fuzzy day",
            past=True,
        ),
        Meaning(
            "acquired",
            "when it was acquired",
            ("acquired", "bought", "purchased", "date bought"),
            "fuzzy day",
            past=True,
        ),
        Meaning("system", "what the position serves", ("system",), "word", words=words.SYSTEMS),
        Meaning("zone", "where water finds it", ("zone", "wet or dry", "water zone"), "word", words=words.ZONES),
        Meaning("cost", "what it cost", _COST, "money"),
        _note(),
    ),
)
BATTLES = Kind(
    "battles",
    "a battle",
    ("battles", "calendar", "events", "fixtures"),
    (
        Meaning("battle", "its name", ("name", *_BATTLE), "name", "battle", needed=True),
        Meaning("venue", "where", ("venue", "pond", "water", "lake", "place", "where", "location"), "name", "venue"),
        Meaning("from", "first day", ("from", "first day", "start", "begins", *_DATE), "day", needed=True),
        Meaning("until", "last day", ("until", "to", "last day", "end", "ends"), "day"),
        Meaning("state", "whether it was fought", ("state", "status"), "word", words=words.BATTLE_STATES),
        Meaning("sorties", "sorties planned for each ship", ("planned sorties", "sorties"), "whole"),
        _note(),
    ),
)
SORTIES = Kind(
    "sorties",
    "a sortie of one ship",
    ("sorties", "log", "logbook", "battle log", "scores"),
    (
        Meaning("date", "the day", (*_DATE, "sailed", "sailed on"), "day", carried=True, needed=True, past=True),
        _ship(),
        Meaning("number", "which sortie of that day", ("sortie", "sortie no", "sortie number", "run"), "whole"),
        Meaning("sorties", "how many sorties a row tells of", ("sorties", "trips", "no of sorties", "runs"), "whole"),
        Meaning("battle", "the battle", _BATTLE, "name", "battle", carried=True),
        Meaning("venue", "where", ("venue", "pond", "lake", "water"), "name", "venue", carried=True),
        Meaning(
            "minutes",
            "how long she was afloat",
            ("minutes", "afloat", "minutes afloat", "time afloat", "duration", "on water", "run time", *_AFLOAT),
            "number",
            unit="minutes",
        ),
        Meaning("shots", "shots fired", ("shots", "fired", "shots fired", "rounds", "balls"), "whole"),
        Meaning(
            "above", "hits above the waterline", ("hits above", "above", "damage above", "above waterline"), "whole"
        ),
        Meaning("on", "hits on the waterline", ("hits on", "on waterline", "damage on", "on waterline hits"), "whole"),
        Meaning(
            "below", "hits below the waterline", ("hits below", "below", "damage below", "below waterline"), "whole"
        ),
        Meaning(
            "wetness",
            "how wet she got",
            ("wetness", "wet", "water", "water inside", "inside"),
            "word",
            words=words.WETNESS,
        ),
        Meaning(
            "sank",
            "whether she sank",
            ("sank", "sunk", "sinks", "sank y n", "sank?", "sinkings"),
            "word",
            words=words.YES_NO,
        ),
        Meaning("ending", "how it ended", ("ending", "end", "result", "outcome", "ended"), "word", words=words.ENDINGS),
        Meaning(
            "under",
            "how long she lay sunk",
            ("minutes under", "under", "time under", "under water", "on the bottom"),
            "number",
            unit="minutes",
        ),
        Meaning(
            "cause", "why she sank", ("cause", "sinking cause", "why", "cause of sinking"), "word", words=words.CAUSES
        ),
        Meaning("system", "which system sank her", ("system", "sinking system"), "word", words=words.SYSTEMS),
        _note(),
    ),
)
FAILURES = Kind(
    "failures",
    "a failure",
    ("failures", "breakdowns", "repairs", "faults"),
    (
        Meaning("date", "day it was found", (*_DATE, "found", "found on"), "day", carried=True, needed=True, past=True),
        Meaning("ship", "the ship", _SHIP, "name", "ship", carried=True),
        Meaning(
            "position",
            "where on her",
            (*_POSITION, "part", "component", "item", "what failed", "part changed", "failed part", "what broke"),
            of="position",
        ),
        Meaning("tag", "its tag", ("tag", "part tag", "part no", "part number", "label"), "tag", "part"),
        Meaning(
            "mode",
            "what it did",
            ("mode", "symptom", "symptoms", "fault", "problem", "failure", "what happened", "what it did", "complaint"),
            "word",
            words=words.MODES,
            needed=True,
        ),
        Meaning("cause", "what is blamed", ("cause", "blamed", "because", "why", "reason"), "word", words=words.BLAMED),
        Meaning("effect", "what it did to the ship", ("effect", "consequence", "result"), "word", words=words.EFFECTS),
        Meaning("found by", "how it was found", ("found by", "how found", "found how"), "word", words=words.FOUND_BY),
        Meaning("last good", "last known to work", ("last good", "last ok", "last worked"), "day", past=True),
        _note(),
    ),
)
STOCK = Kind(
    "stock",
    "what was counted of a family in the pool",
    ("stock", "spares", "pool", "stores", "count"),
    (
        Meaning("family", "what was counted", _FAMILY, "name", "family", needed=True),
        Meaning("category", "what kind of part", _CATEGORY, "word", words=words.CATEGORIES),
        Meaning(
            "quantity",
            "how many",
            (
                "quantity",
                "qty",
                "how many",
                "count",
                "counted",
                "number",
                "stock",
                "in stock",
                "amount",
                "on hand",
                "pcs",
            ),
            "whole",
        ),
        Meaning("date", "day of the count", (*_DATE, "counted on", "as of", "checked"), "day", carried=True, past=True),
        Meaning("cost", "cost of one", _COST, "money"),
        _note(),
    ),
)
READINGS = Kind(
    "readings",
    "a reading",
    ("readings", "measurements", "tests"),
    (
        Meaning(
            "date", "the day", (*_DATE, "taken", "measured on", "tested"), "day", carried=True, needed=True, past=True
        ),
        Meaning("ship", "the ship", _SHIP, "name", "ship", carried=True),
        Meaning("position", "where on her", (*_POSITION, "part", "component", "item"), of="position"),
        Meaning("tag", "tag of the part", ("tag", "part tag", "part no", "label"), "tag", "part"),
        Meaning(
            "measure",
            "what was measured",
            ("measure", "test", "what", "measured", "reading"),
            "word",
            words=words.MEASURES,
            needed=True,
        ),
        Meaning("value", "the value", ("value", "result", "figure", "measured value"), "number", needed=True),
        Meaning("unit", "its unit, if it is not ours", ("unit", "units", "unit of measure", "measured in")),
        Meaning("by", "who measured", ("by", "who", "measured by", "tester"), "name", "member"),
        _note(),
    ),
)

KINDS = (SHIPS, MEMBERS, FAMILIES, POSITIONS, PARTS, BATTLES, SORTIES, FAILURES, STOCK, READINGS)
BY_NAME = {kind.name: kind for kind in KINDS}
