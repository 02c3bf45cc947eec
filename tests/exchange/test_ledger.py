"""The ledger conserves: whatever is moved, all places together hold what came from suppliers and counts."""

from __future__ import annotations

import csv
import shutil
import tempfile
from collections import Counter
from pathlib import Path

import pytest
import sqlalchemy as sa
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from maintain.records import holdings
from maintain.records import tables as t
from maintain.services.importing import import_folder
from maintain.services.unit import Desk, reading
from tests.conftest import TODAY, WHO

OUTSIDE = ("supplier", "count")  # what they give comes into the club, what they take leaves it
FAMILIES = ("fuse", "O-ring")
HEADINGS = ("Family", "Quantity", "From", "To", "From member", "To member", "Ship", "Moved on")
Spot = tuple[str, str]  # a kind of place, and whose it is or which ship
Move = tuple[str, int, Spot, Spot, str]  # family, quantity, from, to, day

_FEW = settings(max_examples=15, deadline=None, suppress_health_check=list(HealthCheck))
_SPOTS = st.sampled_from(
    [
        ("supplier", ""),
        ("count", ""),
        ("pool", ""),
        ("scrap", ""),
        ("captain", "Ana"),
        ("captain", "Bea"),
        ("ship", "Hal"),
    ]
)
_DAYS = st.sampled_from(["2026-05-01", "2026-05-02"])
# Few families, quantities and days, so that movements alike in everything are drawn often: they are two all the same.
_MOVES = st.lists(
    st.tuples(st.sampled_from(FAMILIES), st.integers(1, 3), _SPOTS, _SPOTS, _DAYS).filter(lambda it: it[2] != it[3]),
    max_size=25,
)


@pytest.fixture(scope="module")
def stores(template: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A club with two captains, a ship and two counted families."""
    folder = tmp_path_factory.mktemp("stores")
    path = Path(shutil.copyfile(template, folder / "club.db"))
    _write(folder / "in" / "members.csv", [["Member"], ["Ana"], ["Bea"]])
    _write(folder / "in" / "ships.csv", [["Ship"], ["Hal"]])
    counted = [[family, "other", "counted"] for family in FAMILIES]
    _write(folder / "in" / "families.csv", [["Family", "Category", "Tracking"], *counted])
    import_folder(Desk(str(path), WHO, TODAY), folder / "in")
    return path


def _write(path: Path, rows: list[list[str]]) -> None:
    path.parent.mkdir(exist_ok=True)
    with path.open("w", newline="", encoding="utf-8") as file:
        csv.writer(file).writerows(rows)


def _cells(move: Move) -> list[str]:
    family, quantity, (giver, by), (taker, to), day = move
    ship = next((name for place, name in (move[2], move[3]) if place == "ship"), "")
    members = (by if giver == "captain" else "", to if taker == "captain" else "")
    return [family, str(quantity), giver, taker, *members, ship, day]


@_FEW
@given(moves=_MOVES)
def test_all_places_together_hold_what_came_from_outside(stores: Path, moves: list[Move]) -> None:
    with tempfile.TemporaryDirectory() as name:
        desk = Desk(str(shutil.copyfile(stores, Path(name) / "club.db")), WHO, TODAY)
        _write(Path(name) / "movements.csv", [list(HEADINGS), *map(_cells, moves)])
        for _ in range(2):  # the same file twice changes nothing
            import_folder(desk, Path(name) / "movements.csv")
        with reading(desk) as connection:
            held = _held(connection)
            on_hand = {row.name: row.on_hand for row in holdings.by_family(connection, TODAY)}
    for family in FAMILIES:
        of_family = [move for move in moves if move[0] == family]
        came = sum(n for _, n, (giver, _by), _to, _day in of_family if giver in OUTSIDE)
        went = sum(n for _, n, _by, (taker, _to), _day in of_family if taker in OUTSIDE)
        inside = sum(n for (of, place), n in held.items() if of == family and place not in OUTSIDE)
        assert inside == came - went
        assert on_hand[family] == sum(n * (b == ("pool", "")) - n * (a == ("pool", "")) for _, n, a, b, _ in of_family)


def _held(connection: sa.Connection) -> Counter[tuple[str, str]]:
    """What each kind of place holds of each family, by the recorded movements alone."""
    moved = t.movement.c
    query = sa.select(t.family.c.name, moved.quantity, moved.from_place, moved.to_place).join(t.family)
    held: Counter[tuple[str, str]] = Counter()
    for family, quantity, giver, taker in connection.execute(query.select_from(t.movement)):
        held[family, giver] -= quantity
        held[family, taker] += quantity
    return held
