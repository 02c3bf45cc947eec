"""Where and when the ships fought, and how wet each trip was."""

from __future__ import annotations

import sqlalchemy as sa

from maintain import vocabulary as say
from maintain.records.tables.base import amount, check, day, flag, number, ref, table, text, unique_folded, word

_SUNK = ", ".join(f"'{code}'" for code in say.SUNK)

venue = table("venue", text("name"), word("water", say.WATERS), amount("depth_m", null=True), text("note", null=True))
unique_folded(venue, "name")

battle = table(
    "battle",
    text("name"),
    ref("venue_id", "venue", null=True),
    day("from_on"),
    day("until_on"),
    word("state", say.BATTLE_STATES),
    number("planned_sorties", null=True, least=1),  # each ship's, over the whole battle
    flag("resupply"),  # a meet far from home has none
    text("note", null=True),
    check("ends_after_start", "from_on <= until_on"),
)
unique_folded(battle, "name")

sortie = table(
    "sortie",
    ref("battle_id", "battle", null=True),  # none: a practice day
    ref("venue_id", "venue", null=True),
    ref("ship_id", "ship"),
    day("sailed_on"),
    number("number", least=1),  # of this ship on this day
    amount("minutes_afloat", null=True),
    number("shots", null=True),
    number("hits_above", null=True),
    number("hits_on", null=True),
    number("hits_below", null=True),
    word("wetness", tuple(say.WETNESS), null=True),
    word("ending", say.ENDINGS, null=True),
    amount("minutes_under", null=True),
    word("sinking_cause", say.SINKING_CAUSES, null=True),
    word("sinking_system", say.SYSTEMS, null=True),
    text("note", null=True),
    sa.UniqueConstraint("ship_id", "sailed_on", "number"),
    check(
        "sank_means_w3_or_worse",
        f"wetness IS NULL OR (wetness IN ({_SUNK})) = (ending IS NOT NULL AND ending = 'sank')",
    ),
    check("sinking_has_a_wetness", "ending IS NULL OR ending <> 'sank' OR wetness IS NOT NULL"),
    check("sinking_has_a_cause", "(sinking_cause IS NOT NULL) = (ending IS NOT NULL AND ending = 'sank')"),
    check(
        "system_named_for_a_system_cause",
        "sinking_system IS NULL OR (sinking_cause IS NOT NULL AND sinking_cause = 'system')",
    ),
    check("under_water_only_if_sunk", "minutes_under IS NULL OR (ending IS NOT NULL AND ending = 'sank')"),
    check("under_ten_minutes_is_w3", "wetness <> 'W3' OR minutes_under IS NULL OR minutes_under < 10"),
    check(
        "ten_minutes_to_a_day_is_w4", "wetness <> 'W4' OR minutes_under IS NULL OR minutes_under BETWEEN 10 AND 1440"
    ),
    check("more_than_a_day_is_w5", "wetness <> 'W5' OR minutes_under IS NULL OR minutes_under > 1440"),
)
sa.Index("ix_sortie_battle_id_ship_id", sortie.c.battle_id, sortie.c.ship_id)

# What was seen when a box was opened outranks what its zone would make us expect. A dry finding is data, not silence.
opening = table(
    "opening",
    ref("ship_id", "ship"),
    ref("sortie_id", "sortie", null=True),
    word("zone", say.ZONES),
    ref("position_id", "position", null=True),
    day("opened_on"),
    word("found", say.OPENED_FINDINGS),
    flag("dried"),
    text("note", null=True),
)
