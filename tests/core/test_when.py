"""Dates as people remember them."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from maintain.core.when import When, parse_day, parse_when
from maintain.errors import InvalidRecord
from maintain.vocabulary import PRECISIONS

TODAY = date(2026, 6, 1)
DAYS = st.dates(date(1950, 1, 1), date(2150, 12, 31))


@given(DAYS)
def test_a_day_reads_back_as_it_was_written(day: date) -> None:
    assert parse_day(day.isoformat(), TODAY) == day
    assert parse_when(day.isoformat(), TODAY) == When(day, "day")


@given(DAYS, st.sampled_from(["{:%Y-%m-%d}", "{:%Y-%m}", "{:%Y}", "before {:%Y-%m-%d}"]))
def test_what_is_shown_is_what_was_written(day: date, written: str) -> None:
    text = written.format(day)
    assert str(parse_when(text, TODAY)) == text


@given(DAYS, st.sampled_from(["{:%Y-%m-%d}", "{:%Y-%m}", "{:%Y}", "before {:%Y-%m-%d}"]))
def test_the_best_day_and_the_true_day_lie_between_the_bounds(day: date, written: str) -> None:
    when = parse_when(written.format(day), TODAY)
    for each in (when.on, day):
        assert (when.earliest or each) <= each <= when.latest


@given(DAYS)
def test_the_bounds_are_the_first_and_last_day_of_month_and_season(day: date) -> None:
    month, season = parse_when(f"{day:%Y-%m}", TODAY), parse_when(f"{day:%Y}", TODAY)
    assert month.earliest == day.replace(day=1)
    assert (month.latest + timedelta(days=1)).day == 1
    assert (month.latest.year, month.latest.month) == (day.year, day.month)
    assert (season.earliest, season.latest) == (date(day.year, 1, 1), date(day.year, 12, 31))


@given(DAYS, DAYS)
def test_no_earlier_than_mirrors_it(on: date, limit: date) -> None:
    for written in (f"{on:%Y-%m-%d}", f"{on:%Y-%m}", f"{on:%Y}"):
        when = parse_when(written, TODAY)
        moved = when.no_earlier_than(limit)
        assert (moved.precision, moved.earliest, moved.latest) == (when.precision, when.earliest, when.latest)
        assert moved.on == (limit if when.on < limit <= when.latest and when.precision != "day" else when.on)


@given(DAYS, DAYS)
def test_no_later_than_moves_a_fuzzy_date_only_and_only_as_far_as_its_precision_allows(on: date, limit: date) -> None:
    for written in (f"{on:%Y-%m-%d}", f"{on:%Y-%m}", f"{on:%Y}"):
        when = parse_when(written, TODAY)
        moved = when.no_later_than(limit)
        assert moved.precision == when.precision
        assert (moved.earliest, moved.latest) == (when.earliest, when.latest)
        assert moved.on == (limit if when.earliest <= limit < when.on and when.precision != "day" else when.on)


def test_today_and_yesterday_are_counted_from_the_day_given() -> None:
    assert parse_day("Today", TODAY) == TODAY
    assert parse_day(" yesterday", TODAY) == date(2026, 5, 31)


def test_every_precision_of_the_records_can_be_written() -> None:
    written = ["2026-05-03", "2026-05", "2026", "before 2024-03-01"]
    assert tuple(parse_when(text, TODAY).precision for text in written) == PRECISIONS


@pytest.mark.parametrize(
    "text",
    [
        *["", "soon", "2026-13", "2026-00", "2026-02-30", "2025-02-29", "2026-5-3", "03.05.2026", "05/03/2026"],
        *["20260503", "2026-05-03T10:00", "before", "before 2024", "before long", "26", "0026", "0000-05", "9999999"],
    ],
)
def test_what_is_no_date_is_refused_with_the_way_to_write_one(text: str) -> None:
    with pytest.raises(InvalidRecord) as caught:
        parse_when(text, TODAY, what="--since")
    assert "--since" in caught.value.message
    assert "2026-05-03" in caught.value.hint


@given(st.text(max_size=12))
def test_any_text_is_either_a_date_or_refused(text: str) -> None:
    try:
        when = parse_when(text, TODAY)
    except InvalidRecord:
        return
    assert (when.earliest or when.on) <= when.on <= when.latest
