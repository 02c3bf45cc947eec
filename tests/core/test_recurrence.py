"""How often work comes round: read from words, told in words, and the parts of a season."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from maintain.core.recurrence import Interval, days_later, parse_interval, parse_intervals, season_part, told
from maintain.errors import InvalidRecord
from maintain.vocabulary import A_SEASON, TASK_CLOCKS


@pytest.mark.parametrize(
    ("written", "every", "clock"),
    [
        ("2 battle days", 2, "battle days"),
        ("1 immersion", 1, "immersions"),
        ("Sinking", 1, "immersions"),
        ("every 3 wet sorties", 3, "wet sorties"),
        ("90 minutes afloat", 90, "minutes afloat"),
        ("minute under", 1, "minutes under"),
        ("1000 shots", 1000, "shots"),
        ("  10   days ", 10, "days"),
        ("6 weeks", 42, "days"),
        ("6 months", 183, "days"),
        ("1 year", 365, "days"),
        ("4 years", 1461, "days"),
        ("once a season", 1, A_SEASON),
        ("TWICE a season", 2, A_SEASON),
        ("3 times per season", 3, A_SEASON),
    ],
)
def test_an_interval_is_read_as_people_write_it(written: str, every: int, clock: str) -> None:
    assert parse_interval(written) == Interval(every, clock)


@pytest.mark.parametrize(
    "written",
    ["", "often", "0 days", "-1 days", "2", "2 battles", "1.5 days", "two days", "9" * 30 + " days", "a season"],
)
def test_what_is_no_interval_is_refused_with_an_example(written: str) -> None:
    with pytest.raises(InvalidRecord) as refused:
        parse_interval(written)
    assert "'2 battle days'" in str(refused.value.hint)


def test_two_intervals_on_one_clock_are_refused() -> None:
    with pytest.raises(InvalidRecord, match="two intervals count days"):
        parse_intervals(["1 year", "30 days"])


@given(st.integers(1, 1_000_000), st.sampled_from(TASK_CLOCKS))
def test_what_is_told_is_read_again(every: int, clock: str) -> None:
    assert parse_intervals([told([Interval(every, clock)])]) == (Interval(every, clock),)


@given(st.dates(), st.integers(1, 2**40))
def test_the_parts_of_a_season_cover_it_without_gap_or_overlap(day: date, times: int) -> None:
    first, last = season_part(day, times)
    assert first <= day <= last
    assert first.year == last.year == day.year
    if first > date(day.year, 1, 1):
        assert season_part(first - timedelta(days=1), times)[1] == first - timedelta(days=1)
    else:
        assert (first.month, first.day) == (1, 1)
    if (last.month, last.day) != (12, 31):
        assert season_part(last + timedelta(days=1), times)[0] == last + timedelta(days=1)


@given(st.dates(), st.integers(1, 12))
def test_the_parts_of_a_season_are_even(day: date, times: int) -> None:
    first, last = season_part(day, times)
    assert abs((last - first).days + 1 - 365 / times) <= 4


def test_a_day_beyond_the_calendar_is_its_last() -> None:
    assert days_later(date(2026, 6, 1), 10**9) == date.max
    assert days_later(date(2026, 6, 1), 30) == date(2026, 7, 1)
