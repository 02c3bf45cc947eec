"""Rows are found by what people call them."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from pathlib import Path

import pytest
import sqlalchemy as sa
from hypothesis import given
from hypothesis import strategies as st

from maintain.errors import NotFound
from maintain.records import find
from maintain.records.engine import make_engine
from tests.records.samples import insert, insert_before


@pytest.fixture
def connection(club: Path) -> Iterator[sa.Connection]:
    """A ship with one position filled and one empty, and two ships whose names begin alike."""
    with make_engine(str(club)).connect() as opened, opened.begin():
        opened.execute(sa.text("DELETE FROM club"))
        insert_before(opened, "placement")
        insert(opened, "ship", id=2, uid="ship-2", name="Gannet", club_number=None)
        insert(opened, "ship", id=3, uid="ship-3", name="Gantry", club_number=None)
        insert(opened, "position", id=2, uid="position-2", name="bilge-pump")
        open_end = {"until_on": None, "until_sortie": None, "until_precision": None, "reason": None}
        insert(opened, "placement", from_on=date(2026, 1, 1).isoformat(), **open_end)
        yield opened


@pytest.mark.parametrize("text", ["Halberd", "halberd", "HALBERD", " halberd ", "hal", "H"])
def test_case_spaces_and_a_unique_beginning_are_enough(connection: sa.Connection, text: str) -> None:
    assert find.ship(connection, text).name == "Halberd"


def test_a_beginning_that_fits_two_names_them(connection: sa.Connection) -> None:
    with pytest.raises(NotFound, match="'gan' could be Gannet or Gantry"):
        find.ship(connection, "gan")


def test_a_whole_name_wins_over_a_longer_one_that_begins_with_it() -> None:
    assert find.match(["Gannet II", "Gannet"], "gannet", "ship", "maintain ship list") == "Gannet"


def test_a_miss_suggests_the_nearest_name(connection: sa.Connection) -> None:
    with pytest.raises(NotFound) as caught:
        find.ship(connection, "Halbard")
    assert caught.value.hint == "did you mean Halberd?"


def test_a_miss_far_from_all_names_says_where_to_look(connection: sa.Connection) -> None:
    with pytest.raises(NotFound) as caught:
        find.ship(connection, "zzz")
    assert caught.value.hint == "see: maintain ship list"


@pytest.mark.parametrize("text", ["", "   "])
def test_empty_text_means_nobody(connection: sa.Connection, text: str) -> None:
    with pytest.raises(NotFound):
        find.ship(connection, text)


def test_a_position_is_named_by_ship_and_position(connection: sa.Connection) -> None:
    found = find.position(connection, "hal/bilge")
    assert (found.ship, found.name) == ("Halberd", "bilge-pump")


def test_a_position_without_a_ship_says_how_to_write_it(connection: sa.Connection) -> None:
    with pytest.raises(NotFound, match="names no position"):
        find.position(connection, "rudder-servo")


def test_a_part_is_found_by_tag_and_by_where_it_is(connection: sa.Connection) -> None:
    assert find.part(connection, "s-01").id == 1
    assert find.part(connection, "halberd/rudder").id == 1


def test_an_empty_position_holds_no_part(connection: sa.Connection) -> None:
    with pytest.raises(NotFound, match="no part is installed in Halberd/bilge-pump"):
        find.part(connection, "halberd/bilge-pump")


def test_a_part_that_was_pulled_is_not_found_in_its_old_position(connection: sa.Connection) -> None:
    connection.execute(
        sa.text("UPDATE placement SET until_on = '2026-02-01', until_sortie = 0, until_precision = 'day'")
    )
    assert find.installed_in(connection, 1) is None


@given(names=st.lists(st.text("abAB-é1", min_size=1, max_size=6), min_size=1, max_size=6, unique_by=str.lower))
def test_every_name_finds_itself(names: list[str]) -> None:
    for name in names:
        assert find.match(names, name, "thing", "list") == name
