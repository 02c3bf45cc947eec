"""Numbers as people write them."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from maintain.errors import InvalidRecord
from maintain.exchange.own_sheets import numbers
from maintain.exchange.own_sheets.headings import factor_of


@pytest.mark.parametrize(
    ("cells", "mark"),
    [
        (["25,5", "20"], "comma"),
        (["25.5", "20"], "point"),
        (["1.234,5"], "comma"),
        (["1,234.5"], "point"),
        (["1,234"], None),
        (["1,234", "2.5"], "point"),
        (["1 234", "12"], "point"),  # the same either way
        (["1.5", "2,5"], None),
        (["25,5 min"], "comma"),
        ([25.5, "20"], "point"),
    ],
)
def test_a_column_decides_what_stands_before_its_decimals_or_leaves_it_open(cells: list[str], mark: str | None) -> None:
    assert numbers.marks_of(cells, "minutes", whole=False).way == mark


def test_a_whole_number_has_no_decimals_to_ask_about() -> None:
    assert numbers.marks_of(["1,234", "17"], "", whole=True).way == "point"
    assert numbers.marks_of(["1,000"], "", whole=True).way is None  # a thousand, or one


@pytest.mark.parametrize(
    ("cell", "told"),
    [("25 min", "25"), ("1.5 h", "90"), ("1,234.5", "1234.5"), (" 7 ", "7"), (7, "7"), (0.25, "0.25"), ("-3", "-3")],
)
def test_a_number_is_told_in_our_unit(cell: str | float, told: str) -> None:
    assert numbers.read(cell, "point", "minutes", whole=False) == told


def test_the_unit_of_a_heading_holds_for_cells_without_one() -> None:
    hours = factor_of("Afloat (hrs)", "minutes")
    assert hours == 60
    assert numbers.read("1.5", "point", "minutes", whole=False, factor=hours) == "90"
    assert numbers.read("25 min", "point", "minutes", whole=False, factor=hours) == "25"
    assert factor_of("time afloat mins", "minutes") == factor_of("Afloat", "minutes") == 1
    assert factor_of("Weight [kg]", "grams") == 1000


@pytest.mark.parametrize("cell", ["1:20", "many", "1e999", "12 x", "--", "1.2.3", "٣", True])
def test_what_is_no_number_is_refused(cell: str | bool) -> None:
    with pytest.raises(InvalidRecord):
        numbers.read(cell, "point", "minutes", whole=False)


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("2x servo", (2, "servo", True)),
        ("2 x micro servo", (2, "micro servo", True)),
        ("servo x2", (2, "servo", True)),
        ("servo × 2", (2, "servo", True)),
        ("servo (2)", (2, "servo", True)),
        ("2 off servo", (2, "servo", True)),
        ("3 servos", (3, "servos", False)),
        ("6 volt batteries", None),
        ("25-tooth servo", None),
        ("servo", None),
        ("O-rings 3mm", None),
    ],
)
def test_how_many_of_what_is_told_in_one_text(text: str, told: tuple[int, str, bool] | None) -> None:
    assert numbers.how_many(text) == told


@given(st.lists(st.decimals(0, 99_999, places=2), min_size=1, max_size=12), st.sampled_from(["point", "comma"]))
def test_numbers_with_marks_are_read_back_or_asked_about(values: list[Decimal], mark: str) -> None:
    cells = [f"{value:,.2f}" for value in values]
    if mark == "comma":
        cells = [cell.translate(str.maketrans(",.", ".,")) for cell in cells]
    settled = numbers.marks_of(cells, "", whole=False)
    if settled.way is None:
        assert mark in settled.ways
    else:
        assert [Decimal(numbers.read(cell, settled.way, "", whole=False)) for cell in cells] == values
