"""Physical parts, where each has been, and what was done against water."""

from __future__ import annotations

import sqlalchemy as sa

from maintain import vocabulary as say
from maintain.records.tables.base import check, day, number, ref, table, text, unique_folded, word

part = table(
    "part",
    text("tag"),
    ref("family_id", "family"),
    text("model", null=True),
    text("batch", null=True),
    word("origin", say.ORIGINS),
    word("prior_use", say.PRIOR_USE),
    ref("owner_id", "member", null=True),  # nobody named: the club's pool owns it
    day("acquired_on", null=True),
    word("acquired_precision", say.PRECISIONS, null=True),
    day("made_on", null=True),
    number("cost_cents", null=True),
    text("note", null=True),
    check("acquired_complete", "(acquired_on IS NULL) = (acquired_precision IS NULL)"),
    check("only_new_parts_are_unused", "prior_use = 'unknown' OR origin = 'new'"),
)
unique_folded(part, "tag")

# One part, one place: triggers in the migration refuse overlapping rows of one part or of one position.
# A moment is a day and the number of sorties already sailed that day, so that a swap between two sorties has its order.
placement = table(
    "placement",
    ref("part_id", "part"),
    word("place", say.PLACES),
    ref("position_id", "position", null=True),
    ref("member_id", "member", null=True),
    day("from_on"),
    number("from_sortie"),
    word("from_precision", say.PRECISIONS),
    day("until_on", null=True),
    number("until_sortie", null=True),
    word("until_precision", say.PRECISIONS, null=True),
    word("reason", say.PULL_REASONS, null=True),
    text("note", null=True),
    check("installed_in_a_position", "(place = 'installed') = (position_id IS NOT NULL)"),
    check("held_by_somebody", "(place IN ('captain', 'loan')) = (member_id IS NOT NULL)"),
    check(
        "end_complete",
        "(until_on IS NULL) = (until_sortie IS NULL) AND (until_on IS NULL) = (until_precision IS NULL)",
    ),
    check("ends_after_start", "until_on IS NULL OR (from_on, from_sortie) <= (until_on, until_sortie)"),
    check("end_is_dated", "until_precision IS NULL OR until_precision <> 'before records'"),
    check("reason_when_ended", "reason IS NULL OR until_on IS NOT NULL"),
)
sa.Index("ix_placement_part_id_from_on", placement.c.part_id, placement.c.from_on)

method = table("method", text("name"), text("note", null=True))
unique_folded(method, "name")

treatment = table(
    "treatment",
    ref("part_id", "part"),
    ref("method_id", "method"),
    word("kind", say.TREATMENT_KINDS),
    day("done_on"),
    word("done_precision", say.PRECISIONS),
    ref("by_id", "member", null=True),
    text("note", null=True),
)
