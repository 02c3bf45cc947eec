"""Exposure against a plain loop over parts and sorties, the way a captain would count on his fingers."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from maintain.core.exposure import (
    LAST_SLOT,
    NONE,
    UNKNOWN,
    Openings,
    Sorties,
    Stays,
    exposure,
    logbook,
    moment,
)
from maintain.core.exposure_rows import Watch, exposure_rows
from maintain.errors import InvalidRecord
from maintain.vocabulary import CLOCKS, ZONES

SEALED, DECK, BILGE, OUTSIDE, ASHORE = range(5)


def sorties(*rows: tuple) -> Sorties:
    """Rows of (ship, day, number, wetness, minutes, minutes under, shots); None is unknown."""
    columns = list(zip(*rows, strict=True)) if rows else [()] * 7
    whole = [np.array([UNKNOWN if cell is None else cell for cell in each], dtype=np.int64) for each in columns[:4]]
    measured = [np.array([np.nan if cell is None else cell for cell in each], dtype=float) for each in columns[4:]]
    return Sorties(*whole, *measured)


def openings(*rows: tuple[int, int, int, int, int, int]) -> Openings:
    """Rows of (ship, day, sortie, zone, position, found)."""
    columns = zip(*rows, strict=True) if rows else [()] * 6
    return Openings(*(np.array(each, dtype=np.int64) for each in columns))


def stays(*rows: tuple[int, int, int, int, int, int]) -> Stays:
    """Rows of (part, ship, position, zone, start, end), the last two moments."""
    return Stays(*(np.array(each, dtype=np.int64) for each in zip(*rows, strict=True)))


def for_ever(zone: int, position: int = 0, ship: int = 0) -> Stays:
    return stays((0, ship, position, zone, int(moment(0, 0)), int(moment(1000, LAST_SLOT))))


@pytest.mark.parametrize(
    ("zone", "wet", "under"), [(SEALED, 2, 2), (DECK, 4, 3), (BILGE, 5, 3), (OUTSIDE, 5, 3), (ASHORE, 0, 0)]
)
def test_each_zone_is_reached_from_its_own_wetness(zone, wet, under):
    log = logbook(sorties(*((0, 1, w + 1, w, 20, None if w < 3 else 5 * w, 10) for w in range(6))), openings())
    assert exposure(log, "wet sorties").of(for_ever(zone))[0] == wet
    assert exposure(log, "immersions").of(for_ever(zone))[0] == under
    assert exposure(log, "sorties").of(for_ever(zone))[0] == 6
    assert exposure(log, "minutes afloat").of(for_ever(zone))[0] == 120
    assert exposure(log, "shots").of(for_ever(zone))[0] == 60


def test_minutes_under_count_only_where_the_part_was_under():
    log = logbook(sorties((0, 1, 1, 3, 20, 6, 0), (0, 1, 2, 4, 20, 40, 0)), openings())
    under = exposure(log, "minutes under")
    assert under.of(for_ever(BILGE))[0] == 46
    assert under.of(for_ever(SEALED))[0] == 40


def test_a_box_found_dry_held_and_one_found_with_water_did_not():
    trips = sorties((0, 1, 1, 4, 20, 40, 0), (0, 2, 1, 3, 20, 5, 0))
    log = logbook(trips, openings((0, 1, 0, SEALED, NONE, 0), (0, 2, NONE, SEALED, NONE, 2)))
    assert exposure(log, "immersions").of(for_ever(SEALED))[0] == 1
    assert exposure(log, "minutes under").of(for_ever(SEALED))[0] == 5
    assert exposure(log, "immersions").of(for_ever(BILGE))[0] == 2


def test_an_opening_without_a_sortie_speaks_of_the_last_one_before():
    trips = sorties((0, 1, 1, 4, 20, 40, 0), (0, 5, 1, 4, 20, 40, 0), (0, 9, 1, 4, 20, 40, 0), (1, 6, 1, 4, 20, 40, 0))
    log = logbook(trips, openings((0, 7, NONE, SEALED, NONE, 0), (1, 2, NONE, SEALED, NONE, 0)))
    assert exposure(log, "immersions").gain[SEALED].tolist() == [1, 0, 1, 1]
    assert log.untied == 1


def test_an_opening_of_one_position_speaks_of_no_other():
    log = logbook(sorties((0, 1, 1, 4, 20, 40, 0)), openings((0, 1, 0, SEALED, 7, 0)))
    wet = exposure(log, "wet sorties")
    assert [wet.of(for_ever(SEALED, position))[0] for position in (7, 8)] == [0, 1]
    rows = np.array([0, 0])
    assert wet.of_sorties(np.array([SEALED, SEALED]), np.array([7, 8]), rows).tolist() == [0, 1]


def test_the_wettest_of_several_findings_counts():
    trips = sorties((0, 1, 1, 3, 20, 5, 0))
    log = logbook(trips, openings((0, 1, 0, SEALED, NONE, 1), (0, 1, 0, SEALED, NONE, 0)))
    assert exposure(log, "immersions").of(for_ever(SEALED))[0] == 1


def test_unknown_is_the_mean_of_the_known_and_never_zero():
    log = logbook(
        sorties((0, 1, 1, 3, 20, 6, 50), (0, 2, 1, 0, 40, None, 70), (0, 3, 1, None, None, None, None)), openings()
    )
    expected = {"minutes afloat": 90, "shots": 180, "wet sorties": 1.5, "immersions": 1.5, "minutes under": 9}
    for clock, total in expected.items():
        found = exposure(log, clock)
        assert found.of(for_ever(BILGE))[0] == pytest.approx(total)
        assert (found.unknown, found.knowable) == (1, True)


def test_a_sinking_nobody_timed_lasted_as_long_as_the_others():
    log = logbook(sorties((0, 1, 1, 3, 20, 6, 0), (0, 2, 1, 3, 20, None, 0), (0, 3, 1, 0, 20, None, 0)), openings())
    assert exposure(log, "minutes under").of(for_ever(BILGE))[0] == 12


def test_a_clock_nobody_recorded_is_not_knowable():
    log = logbook(sorties((0, 1, 1, 3, None, None, None)), openings())
    assert not exposure(log, "shots").knowable
    assert not exposure(log, "minutes under").knowable
    assert exposure(log, "immersions").knowable


def test_days_are_no_clock_of_use():
    with pytest.raises(InvalidRecord):
        exposure(logbook(sorties(), openings()), "days")


def test_a_swap_between_two_sorties_gives_each_part_its_own():
    log = logbook(sorties(*((0, 4, k, 1, 10 * k, None, 0) for k in (3, 1, 2))), openings())
    both = stays((0, 0, 0, BILGE, moment(0, 0), moment(4, 1)), (1, 0, 0, BILGE, moment(4, 1), moment(9, 0)))
    assert exposure(log, "minutes afloat").of(both).tolist() == [10, 50]


def test_no_sorties_are_no_use():
    log = logbook(sorties(), openings())
    assert [exposure(log, clock).of(for_ever(BILGE))[0] for clock in CLOCKS[1:]] == [0] * 6


WET = (4, 2, 1, 1, 9)
UNDER = (4, 3, 3, 3, 9)


@st.composite
def clubs(draw):
    """Sorties of 3 ships, openings with a sortie, stays of 4 parts; all at random."""
    day, few = st.integers(0, 12), st.integers(0, 2)
    trips = draw(st.lists(st.tuples(few, day, st.integers(1, 3)), unique=True, min_size=1, max_size=20))
    rows = [(*trip, draw(st.one_of(st.none(), st.integers(0, 5))), draw(st.integers(5, 40)), 7, 3) for trip in trips]
    told = draw(st.lists(st.tuples(st.integers(0, len(rows) - 1), st.integers(0, 4), st.booleans(), few), max_size=6))
    seen = [
        (rows[row][0], rows[row][1], row, zone, zone if one_position else NONE, found)
        for row, zone, one_position, found in told
    ]
    held = []
    for part in range(4):
        ends = sorted(draw(st.lists(st.tuples(day, st.integers(0, 3)), min_size=2, max_size=4)))
        for begin, end in pairwise(ends):
            position = draw(st.integers(0, 4))
            held.append((part, draw(few), position, position, int(moment(*begin)), int(moment(*end))))
    return rows, seen, held


def of_one_sortie(wetness, zone, told, clock):
    """Say what one sortie adds, findings (of the position, then of the zone) before the rule; None if nobody knows."""
    for finding in told:
        if finding == 0:
            return 0.0
        if finding and (clock == "wet sorties" or wetness is not None):
            return 1.0 if clock == "wet sorties" else float(wetness >= 3)
    if zone == ASHORE:
        return 0.0
    return None if wetness is None else float(wetness >= (WET if clock == "wet sorties" else UNDER)[zone])


def counted(rows, seen, stay, clock):
    """Count one stay's wet sorties or immersions by hand."""
    _, ship, position, zone, start, end = stay

    def value(row, spots):
        wettest = {}
        for _, _, of, where, spot, found in seen:
            if of == row and where == zone != ASHORE:
                wettest[spot] = max(wettest.get(spot, 0), found)
        return of_one_sortie(rows[row][3], zone, [wettest.get(spot) for spot in spots], clock)

    known = [each for row in range(len(rows)) if (each := value(row, [NONE])) is not None]
    mean = sum(known) / len(known) if known else 0.0
    lived = [k for k, trip in enumerate(rows) if trip[0] == ship and start < moment(trip[1], trip[2]) <= end]
    return sum(mean if (found := value(row, [position, NONE])) is None else found for row in lived)


@settings(max_examples=60, deadline=None)
@given(clubs())
def test_sums_over_arrays_are_what_a_loop_counts(club):
    rows, seen, held = club
    log = logbook(sorties(*rows), openings(*seen))
    for clock in ("wet sorties", "immersions"):
        expected = [counted(rows, seen, stay, clock) for stay in held]
        assert exposure(log, clock).of(stays(*held)) == pytest.approx(expected, abs=1e-5)


@settings(max_examples=40, deadline=None)
@given(clubs(), st.integers(0, 12))
def test_history_rows_add_up_to_the_whole_life(club, until):
    rows, seen, held = club
    log = logbook(sorties(*rows), openings(*seen))
    lived = stays(*held)
    end = np.full(4, moment(13, 0))
    alive = np.full(4, moment(until, 2))
    start = np.full(4, moment(0, 0))
    failed, heard = np.array([True, False, True, False]), np.array([True, True, False, False])
    exposures = {clock: exposure(log, clock) for clock in CLOCKS[1:]}
    found = exposure_rows(lived, exposures, Watch(start, alive, end, failed, heard))
    for column, clock in enumerate(CLOCKS[1:], start=1):
        total = np.bincount(found.part, found.gain[:, column], 4)
        assert total == pytest.approx(np.bincount(lived.part, exposures[clock].of(lived), 4), abs=1e-5)
    assert np.bincount(found.part[found.failed], minlength=4).tolist() == [1, 0, 1, 0]
    assert (found.gain[found.failed].sum(axis=1) > 0).all()
    hidden_alive = (found.part == 2) & ~found.failed
    assert hidden_alive.sum() <= 1


def test_zones_are_in_the_order_the_tests_take_them():
    assert ZONES == ("sealed box", "dry deck", "bilge", "external", "ashore")
