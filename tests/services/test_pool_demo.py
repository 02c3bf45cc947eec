"""What a captain and a quartermaster ask of the pool, answered by the demo club in a line each."""

from __future__ import annotations

from typing import Any

import pytest

from maintain.services import demo
from maintain.services.pool import board, owed, stale, status
from maintain.services.unit import Desk


@pytest.fixture(scope="module")
def desk(tmp_path_factory: pytest.TempPathFactory) -> Desk:
    return demo.build(tmp_path_factory.mktemp("demo") / "club.db", "tester")


def _noticed(desk: Desk, kind: str) -> list[Any]:
    return [row["item"] for row in board.board(desk, kind=kind).rows]


def test_what_was_borrowed_for_my_ship_and_is_still_aboard(desk: Desk) -> None:
    (row,) = owed.owed(desk, by=None, ship="nettlebrand").rows
    assert (row["debtor"], row["part"], row["where"]) == ("Wick", "MC46", "Nettlebrand/gun-1-servo")


def test_what_have_we_got_where_is_it_and_does_it_work(desk: Desk) -> None:
    line = status.status(desk, item_text=None).footer[0]
    assert line.startswith("62 parts on hand (57 new, 3 tested, 2 untested) and 106 counted pieces; 1 suspect, 5 lent")


def test_who_owes_us_what(desk: Desk) -> None:
    (line,) = owed.owed(desk, by=None, ship=None).footer
    assert line == "8 things owed, 5 overdue; to the pool: Corrie 5, Bramble 2, Ness 1, Tansy 1, Wick 1"


def test_what_has_gone_stale_on_the_shelf(desk: Desk) -> None:
    (row,) = stale.stale(desk, by=None).rows
    assert (row["family"], row["quantity"], row["over_days"]) == ("thin cyanoacrylate 20 g", 2, 229)
    assert "common practice" in row["source"]


def test_is_this_returned_part_good_suspect_or_dead(desk: Desk) -> None:
    (row,) = status.status(desk, item_text="FV55").rows
    assert (row["where"], row["condition"]) == ("in quarantine", "suspect")


def test_the_board_has_something_of_most_kinds(desk: Desk) -> None:
    assert _noticed(desk, "to settle") == ["silicone hose 4 mm, 1 m"]
    assert _noticed(desk, "late order") == ["regulator 8 bar"]
    assert _noticed(desk, "below its line") == ["blade fuse 10 A", "silicone hose 4 mm, 1 m"]
    assert _noticed(desk, "suspect") == ["FV55"]
    assert len(_noticed(desk, "overdue")) == 5
