"""Parts that ceased to do their job, and parts that are only doubted."""

from __future__ import annotations

from maintain import vocabulary as say
from maintain.records.tables.base import check, day, flag, number, ref, table, text, word

failure = table(
    "failure",
    ref("part_id", "part"),
    ref("position_id", "position", null=True),
    ref("sortie_id", "sortie", null=True),
    day("found_on"),
    number("found_sortie"),  # sorties the ship had sailed that day when it was found
    day("last_good_on", null=True),
    number("last_good_sortie", null=True),
    word("mode", say.MODES),
    word("cause", say.BLAMED_CAUSES),
    word("effect", say.EFFECTS),
    word("found_by", say.FOUND_BY),
    flag("secondary"),  # brought about by another part's failure
    ref("caused_by_id", "failure", null=True),
    text("note", null=True),
    check("last_good_complete", "(last_good_on IS NULL) = (last_good_sortie IS NULL)"),
    check(
        "found_after_last_good",
        "last_good_on IS NULL OR (last_good_on, last_good_sortie) <= (found_on, found_sortie)",
    ),
    check("cause_only_of_secondary", "caused_by_id IS NULL OR secondary"),
    check("not_its_own_cause", "caused_by_id <> id"),
)

suspicion = table(
    "suspicion",
    ref("part_id", "part"),
    day("raised_on"),
    word("mode", say.MODES),
    day("closed_on", null=True),
    word("outcome", say.SUSPICION_OUTCOMES, null=True),
    text("note", null=True),
    check("closed_with_an_outcome", "(closed_on IS NULL) = (outcome IS NULL)"),
    check("closed_after_raised", "closed_on IS NULL OR raised_on <= closed_on"),
)

retest = table(
    "retest",
    ref("suspicion_id", "suspicion"),
    day("tested_on"),
    word("result", say.TEST_RESULTS),
    text("note", null=True),
)
