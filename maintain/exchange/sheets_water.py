"""Files of what happened on the water, and of what failed."""

from __future__ import annotations

from maintain import vocabulary as say
from maintain.exchange.field import NOTE, UID, Sheet, day, name, number, ref, sorties, whole, word, yes_no

VENUES = Sheet(
    "venues.csv",
    "venue",
    "venue",
    "Ponds and lakes.",
    (
        name("Venue", "name", "Name of the water."),
        word("Water", "water", say.WATERS, "What water it is.", default="unknown"),
        number("Depth m", "depth_m", "Depth where the ships fight, in metres."),
        NOTE,
        UID,
    ),
    identity=("name",),
    unique=True,
    label="{name}",
)

BATTLES = Sheet(
    "battles.csv",
    "battle",
    "battle",
    "Battles fought and planned.",
    (
        name("Battle", "name", "Name of the battle."),
        ref("Venue", "venue_id", "venue", "Where."),
        day("From", "from_on", "First day.", needed=True),
        day("Until", "until_on", "Last day.", needed=True),
        word("State", "state", say.BATTLE_STATES, "Whether it has been fought.", needed=True),
        whole("Planned sorties", "planned_sorties", "Sorties planned for each ship over the whole battle.", least=1),
        yes_no("Resupply", "resupply", "Whether parts can be fetched during it."),
        NOTE,
        UID,
    ),
    identity=("name",),
    unique=True,
    label="{name}",
)

SORTIES = Sheet(
    "sorties.csv",
    "sortie",
    "sortie",
    "Trips of one ship onto the water.",
    (
        ref("Ship", "ship_id", "ship", "The ship.", needed=True),
        day("Sailed on", "sailed_on", "The day.", needed=True),
        whole("Number", "number", "Which sortie of this ship on this day, from 1.", needed=True, least=1),
        ref("Battle", "battle_id", "battle", "The battle; empty for practice."),
        ref("Venue", "venue_id", "venue", "Where, if not where the battle was."),
        number("Minutes afloat", "minutes_afloat", "How long she was out."),
        whole("Shots", "shots", "Shots fired."),
        whole("Hits above", "hits_above", "Hits taken above the waterline."),
        whole("Hits on", "hits_on", "Hits taken on the waterline."),
        whole("Hits below", "hits_below", "Hits taken below the waterline."),
        word("Wetness", "wetness", say.WETNESS, "How wet she got inside; empty is unknown, not dry."),
        word("Ending", "ending", say.ENDINGS, "How it ended."),
        number("Minutes under", "minutes_under", "How long she lay sunk; only if she sank."),
        word("Sinking cause", "sinking_cause", say.SINKING_CAUSES, "Why she sank; needed if she did."),
        word("Sinking system", "sinking_system", say.SYSTEMS, "Which system sank her, if the cause is a system."),
        NOTE,
        UID,
    ),
    identity=("sailed_on", "ship_id", "number"),
    unique=True,
    label="{ship_id} {sailed_on} #{number}",
)

OPENINGS = Sheet(
    "openings.csv",
    "opening",
    "opening",
    "What was found when a box was opened; it outranks what the zone would make us expect.",
    (
        ref("Ship", "ship_id", "ship", "The ship.", needed=True),
        ref("Sortie", "sortie_id", "sortie", "After which sortie."),
        word("Zone", "zone", say.ZONES, "Which zone was opened.", needed=True),
        ref("Position", "position_id", "position", "Which position, if only that one was looked at."),
        day("Opened on", "opened_on", "The day.", needed=True),
        word("Found", "found", say.OPENED_FINDINGS, "What was seen.", needed=True),
        yes_no("Dried", "dried", "Whether it was dried."),
        NOTE,
        UID,
    ),
    identity=("opened_on", "ship_id", "zone", "position_id", "sortie_id"),
    label="{ship_id} {zone} {opened_on}",
)

FAILURES = Sheet(
    "failures.csv",
    "failure",
    "failure",
    "Parts that ceased to do their job. A ball hit is battle damage, a cause of its own.",
    (
        ref("Part", "part_id", "part", "The part.", needed=True),
        ref("Position", "position_id", "position", "Where it was installed."),
        ref("Sortie", "sortie_id", "sortie", "During which sortie, if known."),
        day("Found on", "found_on", "Day it was found.", needed=True),
        sorties("Found after sortie", "found_sortie", "Sorties sailed that day; empty is none.", beside="Found on"),
        day("Last good on", "last_good_on", "Day it was last known to work."),
        sorties(
            "Last good after sortie",
            "last_good_sortie",
            "Sorties sailed on that day; empty is none.",
            beside="Last good on",
        ),
        word("Mode", "mode", say.MODES, "What it did.", needed=True),
        word("Cause", "cause", say.BLAMED_CAUSES, "What is blamed.", default="unknown"),
        word("Effect", "effect", say.EFFECTS, "What it did to the ship.", default="unknown"),
        word("Found by", "found_by", say.FOUND_BY, "How it was found.", default="unknown"),
        yes_no("Secondary", "secondary", "Whether another part's failure brought it about."),
        ref("Caused by", "caused_by_id", "failure", "That other failure; only if secondary."),
        NOTE,
        UID,
    ),
    identity=("found_on", "part_id", "found_sortie", "mode"),
    label="{part_id} {found_on} #{found_sortie}",
)

SUSPICIONS = Sheet(
    "suspicions.csv",
    "suspicion",
    "suspicion",
    "Parts withdrawn but not condemned.",
    (
        ref("Part", "part_id", "part", "The part.", needed=True),
        day("Raised on", "raised_on", "The day.", needed=True),
        word("Mode", "mode", say.MODES, "What it did.", needed=True),
        day("Closed on", "closed_on", "Day it was decided."),
        word("Outcome", "outcome", say.SUSPICION_OUTCOMES, "What was decided."),
        NOTE,
        UID,
    ),
    identity=("raised_on", "part_id", "mode"),
    label="{part_id} {raised_on}",
)

RETESTS = Sheet(
    "retests.csv",
    "retest",
    "retest",
    "Tests of suspects.",
    (
        ref("Suspicion", "suspicion_id", "suspicion", "The suspicion.", needed=True),
        day("Tested on", "tested_on", "The day.", needed=True),
        word("Result", "result", say.TEST_RESULTS, "How it went.", needed=True),
        NOTE,
        UID,
    ),
    identity=("tested_on", "suspicion_id", "result"),
)
