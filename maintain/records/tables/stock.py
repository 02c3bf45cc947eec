"""Counted stock as a ledger of movements, and who owes what to whom.

Tagged parts are followed one by one in `placement`; only counted families have movements.
"""

from __future__ import annotations

import sqlalchemy as sa

from maintain import vocabulary as say
from maintain.records.tables.base import check, day, number, ref, table, text, word

loan = table(
    "loan",
    ref("part_id", "part", null=True),
    ref("family_id", "family"),
    number("quantity", least=1),
    ref("lender_id", "member", null=True),  # nobody named: the pool
    ref("borrower_id", "member", null=True),
    ref("ship_id", "ship", null=True),
    day("lent_on"),
    day("due_on", null=True),
    word("terms", say.LOAN_TERMS),
    day("closed_on", null=True),
    word("came_back", say.RETURN_CONDITIONS, null=True),
    text("note", null=True),
    check("one_tagged_part", "part_id IS NULL OR quantity = 1"),
    check("between_two", "COALESCE(lender_id, 0) <> COALESCE(borrower_id, 0)"),
    check("due_after_lent", "due_on IS NULL OR lent_on <= due_on"),
    check("closed_complete", "(closed_on IS NULL) = (came_back IS NULL)"),
    check("closed_after_lent", "closed_on IS NULL OR lent_on <= closed_on"),
)

movement = table(
    "movement",
    ref("family_id", "family"),
    number("quantity", least=1),
    word("from_place", say.STOCK_PLACES),
    word("to_place", say.STOCK_PLACES),
    ref("from_member_id", "member", null=True),
    ref("to_member_id", "member", null=True),
    ref("ship_id", "ship", null=True),
    ref("loan_id", "loan", null=True),
    day("moved_on"),
    number("unit_cost_cents", null=True),
    text("reason", null=True),
    day("made_on", null=True),  # rubber ages from its cure, glue from its filling
    check("from_captain_named", "(from_place = 'captain') = (from_member_id IS NOT NULL)"),
    check("to_captain_named", "(to_place = 'captain') = (to_member_id IS NOT NULL)"),
    check("ship_named", "(from_place = 'ship' OR to_place = 'ship') = (ship_id IS NOT NULL)"),
    check("moves", "from_place <> to_place OR COALESCE(from_member_id, 0) <> COALESCE(to_member_id, 0)"),
)

debt = table(
    "debt",
    ref("debtor_id", "member", null=True),  # nobody named: the pool
    ref("creditor_id", "member", null=True),
    ref("family_id", "family"),
    number("quantity", least=1),
    ref("loan_id", "loan", null=True),
    day("since_on"),
    day("due_on", null=True),
    day("settled_on", null=True),
    text("note", null=True),
    check("between_two", "COALESCE(debtor_id, 0) <> COALESCE(creditor_id, 0)"),
    check("due_after_since", "due_on IS NULL OR since_on <= due_on"),
    check("settled_after_since", "settled_on IS NULL OR since_on <= settled_on"),
)

purchase = table(
    "purchase",
    ref("family_id", "family"),
    number("quantity", least=1),
    number("unit_cost_cents", null=True),
    text("supplier", null=True),
    day("ordered_on"),
    day("expected_on", null=True),
    day("received_on", null=True),
    text("note", null=True),
    check("expected_after_ordered", "expected_on IS NULL OR ordered_on <= expected_on"),
    check("received_after_ordered", "received_on IS NULL OR ordered_on <= received_on"),
)

# What was really there. A count that differs from the records is followed by movements from or to "count".
stocktake = table(
    "stocktake",
    ref("family_id", "family"),
    day("counted_on"),
    number("counted"),
    text("note", null=True),
)

# Issued though the records held none: open until somebody counts.
discrepancy = table(
    "discrepancy",
    ref("family_id", "family"),
    ref("part_id", "part", null=True),
    number("quantity", least=1),
    day("found_on"),
    ref("stocktake_id", "stocktake", null=True),
    text("note", null=True),
    check("one_tagged_part", "part_id IS NULL OR quantity = 1"),
)

# How long something may lie in store, and who says so. No days: its source sets no limit.
shelf_limit = table(
    "shelf_limit",
    ref("family_id", "family", null=True),
    word("category", say.CATEGORIES, null=True),
    number("days", null=True, least=1),
    number("extension_days", null=True, least=1),  # more, once inspected at the end of the first time
    text("source"),
    text("note", null=True),
    sa.UniqueConstraint("family_id"),
    sa.UniqueConstraint("category"),
    check("of_family_or_category", "(family_id IS NULL) <> (category IS NULL)"),
    check("extends_a_limit", "extension_days IS NULL OR days IS NOT NULL"),
)
