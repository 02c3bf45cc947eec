"""A cell can be written in more ways than one; where two readings are possible, none is chosen."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest

from maintain.errors import InvalidRecord
from maintain.exchange.cells import read_cell, write_cell
from maintain.exchange.field import Field
from maintain.exchange.layout import BY_TABLE


def _field(table: str, heading: str) -> Field:
    return next(field for field in BY_TABLE[table].fields if field.heading == heading)


COST = _field("family", "Unit cost")
WEIGHT = _field("family", "Weight g")
HIDDEN = _field("family", "Hidden")
SHOTS = _field("sortie", "Shots")
WETNESS = _field("sortie", "Wetness")
SAILED = _field("sortie", "Sailed on")
SINCE = _field("placement", "From")
VALUE = _field("reading", "Value")


@pytest.mark.parametrize(
    ("field", "text", "value"),
    [
        (COST, "12.5", 1250),
        (COST, "12,05", 1205),
        (COST, "0", 0),
        (WEIGHT, "12,5", 12.5),
        (WEIGHT, "1e-3", 0.001),
        (WEIGHT, "1.234", 1.234),
        (VALUE, "-0.5", -0.5),
        (SHOTS, "12", 12),
        (SHOTS, "12.0", 12),
        (HIDDEN, "Yes", True),
        (HIDDEN, "0", False),
        (WETNESS, "w3", "W3"),
        (SAILED, "2026-05-03", date(2026, 5, 3)),
    ],
)
def test_what_people_write_is_read(field: Field, text: str, value: Any) -> None:
    assert read_cell(field, text) == (value,)


@pytest.mark.parametrize(
    ("field", "text"),
    [
        (COST, "1,234"),
        (COST, "12.505"),
        (COST, "€12"),
        (COST, "-1"),
        (WEIGHT, "1,234"),
        (WEIGHT, "1,234.5"),
        (WEIGHT, "12 g"),
        (WEIGHT, "-1"),
        (WEIGHT, "nan"),
        (WEIGHT, "1e999"),
        (VALUE, "inf"),
        (SHOTS, "1.5"),
        (SHOTS, "-1"),
        (SHOTS, "٣"),
        (SHOTS, str(2**63)),
        (HIDDEN, "maybe"),
        (WETNESS, "wet"),
        (SAILED, "03/05/2026"),
        (SAILED, "2026-02-30"),
        (SAILED, "today"),
        (SAILED, "2026-05"),
        (SINCE, "before yesterday"),
        (SINCE, "2026-05 (2026-06-01)"),
        (SINCE, "2026-05-03 (2026-05-03)"),
    ],
)
def test_what_can_be_read_in_no_way_or_in_two_is_refused_with_the_mend(field: Field, text: str) -> None:
    with pytest.raises(InvalidRecord) as refused:
        read_cell(field, text)
    assert refused.value.hint


@pytest.mark.parametrize(
    "text",
    ["2026-05-03", "2026-05", "2026", "before 2024-03-01", "2026-05 (2026-05-03)", "2026 (2026-12-31)"],
)
def test_a_fuzzy_day_keeps_its_precision_and_its_best_day(text: str) -> None:
    on, precision = read_cell(SINCE, text)
    assert write_cell(SINCE, {"from_on": on, "from_precision": precision}) == text


def test_money_is_written_with_two_decimals_and_unknown_is_empty() -> None:
    assert write_cell(COST, {"unit_cost_cents": 1205}) == "12.05"
    assert write_cell(COST, {"unit_cost_cents": 0}) == "0.00"
    assert write_cell(COST, {"unit_cost_cents": None}) == ""
