"""Files of the club, its ships, and its parts."""

from __future__ import annotations

from maintain import vocabulary as say
from maintain.exchange.field import (
    NOTE,
    UID,
    Field,
    Sheet,
    day,
    fuzzy,
    money,
    name,
    number,
    ref,
    sorties,
    text,
    whole,
    word,
    yes_no,
)

CLUB = Sheet(
    "club.csv",
    "club",
    "club",
    "The club itself: one row.",
    (
        text("Club", "name", "Name of the club.", needed=True),
        text("Currency", "currency", "Code of three letters for all costs: EUR, USD, GBP ...", needed=True),
        day("Records from", "records_from", "First day the club's records cover."),
        UID,
    ),
    identity=(),
    unique=True,
)

MEMBERS = Sheet(
    "members.csv",
    "member",
    "member",
    "People: captains, lenders, borrowers, whoever did the work.",
    (
        name("Member", "name", "Name the club knows them by."),
        day("Left on", "left_on", "Day they left the club."),
        NOTE,
        UID,
    ),
    identity=("name",),
    unique=True,
    label="{name}",
)

SHIPS = Sheet(
    "ships.csv",
    "ship",
    "ship",
    "The model warships.",
    (
        name("Ship", "name", "Her name."),
        text("Club number", "club_number", "Her number in the club; no two ships share one."),
        ref("Captain", "captain_id", "member", "Her captain."),
        text("Type", "type", "What she is: cruiser, battleship, convoy ship ..."),
        word("State", "state", say.SHIP_STATES, "Whether she sails.", default="in commission"),
        day("State since", "state_since", "Since when she is in that state."),
        day("Records from", "records_from", "First day her own records cover."),
        NOTE,
        UID,
    ),
    identity=("name",),
    unique=True,
    label="{name}",
)

FAMILIES = Sheet(
    "families.csv",
    "family",
    "family",
    "Parts that swap without rework.",
    (
        name("Family", "name", "Name of the family."),
        word("Category", "category", say.CATEGORIES, "What kind of part it is.", needed=True),
        word("Tracking", "tracking", say.TRACKING, "One by one under a tag, or by number.", default="tagged"),
        yes_no("Hidden", "hidden", "Whether only a demand test finds a failure (bilge pump, failsafe)."),
        yes_no("Ages on shelf", "ages_on_shelf", "Whether it ages unused (rubber, cells)."),
        money("Unit cost", "unit_cost_cents", "Cost of one, in the club's currency."),
        whole("Lead time days", "lead_time_days", "Days from order to delivery."),
        whole("Shelf life days", "shelf_life_days", "Days it may lie before it is stale.", least=1),
        whole("Fitting minutes", "fitting_minutes", "Minutes of work to change one."),
        whole("Reorder line", "reorder_line", "Order more when this many are left."),
        number("Weight g", "weight_grams", "Weight of one, in grams."),
        NOTE,
        UID,
    ),
    identity=("name",),
    unique=True,
    label="{name}",
)

POSITIONS = Sheet(
    "positions.csv",
    "position",
    "position",
    "The places on a ship that take one part each.",
    (
        ref("Ship", "ship_id", "ship", "The ship.", needed=True),
        name("Position", "name", "Its name on that ship: rudder-servo."),
        word("System", "system", say.SYSTEMS, "What it serves.", needed=True),
        word("Zone", "zone", say.ZONES, "Where water finds it.", needed=True),
        word("Dependence", "dependence", say.DEPENDENCE, "How much the ship depends on it.", needed=True),
        text("Bank", "bank", "Name of the group it belongs to, where several do one job (twin screws)."),
        whole("Bank needs", "bank_needs", "How many of the bank must work.", least=1),
        ref("Powered by", "powered_by_id", "position", "The position that feeds it."),
        NOTE,
        UID,
    ),
    identity=("ship_id", "name"),
    unique=True,
    label="{ship_id}/{name}",
)

FITS = Sheet(
    "fits.csv",
    "position_family",
    "fit",
    "Which families fit a position.",
    (
        ref("Position", "position_id", "position", "The position.", needed=True),
        ref("Family", "family_id", "family", "A family that fits it.", needed=True),
        UID,
    ),
    identity=("position_id", "family_id"),
    unique=True,
)

PARTS = Sheet(
    "parts.csv",
    "part",
    "part",
    "Physical parts, each under its tag.",
    (
        Field("Tag", ("tag",), "tag", "The short tag on the part.", needed=True),
        ref("Family", "family_id", "family", "Its family.", needed=True),
        text("Model", "model", "Maker's designation."),
        text("Batch", "batch", "Which lot it came with."),
        word("Origin", "origin", say.ORIGINS, "How the club came by it.", default="unknown"),
        word("Prior use", "prior_use", say.PRIOR_USE, "Use before these records; none only if new.", default="unknown"),
        ref("Owner", "owner_id", "member", "Whose it is; empty is the club's pool."),
        fuzzy("Acquired", "acquired", "When it was acquired."),
        day("Made on", "made_on", "Day it was made."),
        money("Cost", "cost_cents", "What it cost."),
        NOTE,
        UID,
    ),
    identity=("tag",),
    unique=True,
    label="{tag}",
)

PLACEMENTS = Sheet(
    "placements.csv",
    "placement",
    "placement",
    "Where each part has been, one row per place. A place ends where the next begins; the last has no end.",
    (
        ref("Part", "part_id", "part", "The part.", needed=True),
        word("Place", "place", say.PLACES, "What kind of place.", needed=True),
        ref("Position", "position_id", "position", "The position; only when installed."),
        ref("Member", "member_id", "member", "Who holds it; only with a captain or on loan."),
        fuzzy("From", "from", "Since when.", needed=True),
        sorties(
            "From after sortie", "from_sortie", "Sorties the ship had sailed that day; empty is none.", beside="From"
        ),
        fuzzy("Until", "until", "Until when; empty while it is there."),
        sorties(
            "Until after sortie",
            "until_sortie",
            "Sorties the ship had sailed on the last day; empty is none.",
            beside="Until",
        ),
        word("Reason", "reason", say.PULL_REASONS, "Why it left."),
        NOTE,
        UID,
    ),
    identity=("part_id", "from_on", "from_sortie", "place", "position_id"),
)

METHODS = Sheet(
    "methods.csv",
    "method",
    "method",
    "Ways of keeping water out.",
    (name("Method", "name", "Name of the method."), NOTE, UID),
    identity=("name",),
    unique=True,
    label="{name}",
)

TREATMENTS = Sheet(
    "treatments.csv",
    "treatment",
    "treatment",
    "What was done to a part against water.",
    (
        ref("Part", "part_id", "part", "The part.", needed=True),
        ref("Method", "method_id", "method", "The method.", needed=True),
        word("Kind", "kind", say.TREATMENT_KINDS, "What was done.", default="applied"),
        fuzzy("Done", "done", "When.", needed=True),
        ref("By", "by_id", "member", "Who did it."),
        NOTE,
        UID,
    ),
    identity=("part_id", "done_on", "method_id", "kind"),
)
