"""Limits of storage: what the standards' tables say, and from when something is stale."""

from __future__ import annotations

from datetime import date

import pytest

from maintain.core.shelf_life import RULES, rule, stale_on
from maintain.errors import NotFound

# First and further years of storage by group. ISO 2230:2002, Table 1; the first years of nitrile, FKM and polyurethane
# agree with public tables of seal suppliers, the further ones are from memory.
ISO_2230 = {"ISO 2230 A": (5, 2), "ISO 2230 B": (7, 3), "ISO 2230 C": (10, 5)}
# SAE AS5316 as tabulated by seal suppliers; they disagree on SBR (3 or 15 years): the shorter is kept.
AS5316 = {
    "AS5316 SBR": 3,
    "AS5316 polyurethane": 5,
    "AS5316 nitrile": 15,
    "AS5316 fluorocarbon": None,
}


@pytest.mark.parametrize("name", ISO_2230)
def test_groups_of_rubber_lie_as_long_as_the_standard_says(name: str) -> None:
    assert (rule(name).years, rule(name).extension_years) == ISO_2230[name]


@pytest.mark.parametrize("name", AS5316)
def test_seals_lie_as_long_as_the_aerospace_standard_says(name: str) -> None:
    assert rule(name).years == AS5316[name]


def test_every_rule_says_who_says_so() -> None:
    assert all(("ISO" in each.source) or ("SAE" in each.source) or ("practice" in each.source) for each in RULES)


@pytest.mark.parametrize("text", ["", "iso", "nonsense"])
def test_a_name_that_fits_none_or_several_is_refused_with_the_choices(text: str) -> None:
    with pytest.raises(NotFound) as error:
        rule(text)
    assert "ISO 2230 B" in error.value.hint


def test_years_count_leap_days() -> None:
    made = date(2016, 3, 1)
    assert abs((stale_on(made, rule("AS5316 nitrile").days or 0) - date(2031, 3, 1)).days) <= 1


def test_an_inspection_extends_only_if_it_came_at_the_end() -> None:
    made = date(2019, 1, 1)
    assert stale_on(made, 1000, 500, inspected_on=date(2020, 1, 1)) == stale_on(made, 1000)
    assert (stale_on(made, 1000, 500, inspected_on=date(2021, 10, 1)) - made).days == 1500
