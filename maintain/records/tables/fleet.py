"""The club and its ships, and the places on them that take a part."""

from __future__ import annotations

import sqlalchemy as sa

from maintain import vocabulary as say
from maintain.records.tables.base import amount, check, day, flag, number, ref, table, text, unique_folded, word

club = table(
    "club",
    text("name"),
    sa.Column("currency", sa.String, nullable=False),
    check("currency_is_a_code", "length(currency) = 3"),
    day("records_from", null=True),
    check("one_row", "id = 1"),
)

member = table("member", text("name"), day("left_on", null=True), text("note", null=True))
unique_folded(member, "name")

ship = table(
    "ship",
    text("name"),
    text("club_number", null=True),
    ref("captain_id", "member", null=True),
    text("type", null=True),
    word("state", say.SHIP_STATES),
    day("state_since", null=True),
    day("records_from", null=True),
    text("note", null=True),
    sa.UniqueConstraint("club_number"),
)
unique_folded(ship, "name")

family = table(
    "family",
    text("name"),
    word("category", say.CATEGORIES),
    word("tracking", say.TRACKING),
    # A hidden function makes no noise when it fails: only a demand test finds out.
    flag("hidden"),
    flag("ages_on_shelf"),
    number("unit_cost_cents", null=True),
    number("lead_time_days", null=True),
    number("shelf_life_days", null=True, least=1),
    number("fitting_minutes", null=True),
    number("reorder_line", null=True),
    amount("weight_grams", null=True),
    text("note", null=True),
)
unique_folded(family, "name")

position = table(
    "position",
    ref("ship_id", "ship"),
    text("name"),
    word("system", say.SYSTEMS),
    word("zone", say.ZONES),
    word("dependence", say.DEPENDENCE),
    # Twin screws or three guns: positions of one bank, of which `bank_needs` must work.
    text("bank", null=True),
    number("bank_needs", null=True, least=1),
    ref("powered_by_id", "position", null=True),
    text("note", null=True),
    sa.UniqueConstraint("ship_id", "name"),
    check("bank_complete", "(bank IS NULL) = (bank_needs IS NULL)"),
    check("not_powered_by_itself", "powered_by_id <> id"),
)

position_family = table(
    "position_family",
    ref("position_id", "position"),
    ref("family_id", "family"),
    sa.UniqueConstraint("position_id", "family_id"),
)
