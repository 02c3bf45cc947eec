"""Dates as people write them: a column decides the order, or nobody does."""

from __future__ import annotations

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from maintain.errors import InvalidRecord
from maintain.exchange.own_sheets import dates

_WAYS = {"day-first": "{d:02d}/{m:02d}/{y}", "month-first": "{m:02d}/{d:02d}/{y}", "year-first": "{y}/{m:02d}/{d:02d}"}


@pytest.mark.parametrize(
    ("cells", "way"),
    [
        (["03/05/2026", "17/05/2026"], "day-first"),
        (["03/05/2026", "05/17/2026"], "month-first"),
        (["03.05.26", "27.05.26"], None),  # 2026-05-27, or 2027-05-26 if the year comes first
        (["05/05/2026"], "day-first"),  # the same either way: nothing to ask
        (["03/05/2026"], None),
        (["17/05/2026", "05/17/2026"], None),  # two hands wrote it
        (["03/05/2026", "not noted", "17/05/2026"], "day-first"),
        (["2026-05-03", "3 May 2026"], "day-first"),
    ],
)
def test_a_column_decides_the_order_of_its_dates_or_leaves_it_open(cells: list[str], way: str | None) -> None:
    assert dates.order_of(cells).way == way


@pytest.mark.parametrize(
    "cells",
    [
        ["01.02.26", "08.03.26", "17.12.26"],  # not the 26th of a December of 2017
        ["1.6.26", "8.6.26", "12.13.26"],  # a slip
        ["26.06.30", "26.06.28"],
        ["3/11/2026", "4/5/2026"],  # a plan of November, or the eleventh of March
        ["31.02.25"],
    ],
)
def test_a_day_to_come_decides_nothing_where_only_the_past_can_be_meant(cells: list[str]) -> None:
    assert dates.order_of(cells, date(2026, 9, 20)).way is None


def test_a_year_to_come_is_no_year_that_comes_first() -> None:
    cells = ["13/06/26", "20/06/26", "27/06/26", "10/10/26"]
    assert dates.order_of(cells, date(2026, 9, 20)).way == "day-first"


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("3 May 2026", "2026-05-03"),
        ("Sun 3rd May 2026", "2026-05-03"),
        ("May 3, 2026", "2026-05-03"),
        ("3-May-26", "2026-05-03"),
        ("03.05.1999", "1999-05-03"),
        ("2026-05-03", "2026-05-03"),
        ("2026/5/3", "2026-05-03"),
        ("2026-05-03 00:00:00", "2026-05-03"),
        ("May 2026", "2026-05"),
        ("5/2026", "2026-05"),
        ("2024", "2024"),
        ("summer 2024", "2024"),
        ("before 2024", "before 2024-01-01"),
        ("before May 2024", "before 2024-05-01"),
    ],
)
def test_dates_are_read_as_our_own_files_write_them(text: str, told: str) -> None:
    assert dates.read(text, "day-first", exact=False) == told


def test_two_digits_are_the_years_that_posix_makes_of_them() -> None:
    # The Open Group Base Specifications, strptime %y: 69 to 99 are 1969 to 1999, 00 to 68 are 2000 to 2068.
    years = [dates.read(f"3 May {year}", "day-first", exact=True)[:4] for year in ("69", "99", "00", "68")]
    assert years == ["1969", "1999", "2000", "2068"]


def test_day_numbers_of_a_spreadsheet_are_days() -> None:
    # ECMA-376 part 1, 18.17.4.3: in the 1900 system day 43831 is 1 January 2020; openpyxl agrees.
    from openpyxl.utils.datetime import from_excel

    assert dates.read(43831, "day-first", exact=True) == "2020-01-01" == from_excel(43831).date().isoformat()
    assert dates.read("46145", "day-first", exact=True) == from_excel(46145).date().isoformat()


@pytest.mark.parametrize(
    "text", ["31/02/2026", "two summers ago", "3 May", "03/05", "2026-13-05", "May 35 2026", "12:30"]
)
def test_what_is_no_date_is_refused(text: str) -> None:
    with pytest.raises(InvalidRecord):
        dates.read(text, "day-first", exact=True)


def test_a_month_is_no_single_day() -> None:
    with pytest.raises(InvalidRecord, match="no single day"):
        dates.read("May 2026", "day-first", exact=True)


def test_days_a_spreadsheet_took_for_its_own_beside_texts_it_could_not_are_doubted() -> None:
    assert dates.swapped_by_the_spreadsheet([date(2026, 3, 5), "17/05/2026"])
    assert not dates.swapped_by_the_spreadsheet([date(2026, 3, 15), "17/05/2026"])
    assert not dates.swapped_by_the_spreadsheet(["03/05/2026", "17/05/2026"])


@given(
    st.lists(st.dates(date(1990, 1, 1), date(2035, 12, 31)), min_size=1, max_size=20),
    st.sampled_from(sorted(_WAYS)),
)
def test_a_column_in_one_order_is_read_back_or_asked_about(days: list[date], way: str) -> None:
    cells = [_WAYS[way].format(d=day.day, m=day.month, y=day.year) for day in days]
    settled = dates.order_of(cells)
    if settled.way is None:
        assert way in settled.ways
    else:
        assert [dates.read(cell, settled.way, exact=True) for cell in cells] == [day.isoformat() for day in days]
