"""`maintain db check` finds records that can't all be true; each is planted by plain SQL, past the program's rules."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable

import pytest

from maintain.services.unit import Desk
from tests.conftest import Run

Plant = Callable[[str], None]


@pytest.fixture
def plant(pond: Desk) -> Plant:
    def execute(statement: str) -> None:
        connection = sqlite3.connect(pond.db)
        with connection:
            connection.execute(statement)
        connection.close()

    return execute


@pytest.fixture
def fitted(pond: Desk, run: Run) -> Run:
    """A pump P1 fitted in Halberd since May."""
    answer = run("part", "add", "--family", "pump", "--tag", "P1", "--into", "halberd/pump", "--from", "2026-05-01")
    assert answer.exit_code == 0, answer.stderr
    return run


def failure(found_on: str) -> str:
    return (
        "INSERT INTO failure "
        "(uid, part_id, position_id, found_on, found_sortie, mode, cause, effect, found_by, secondary) "
        f"SELECT 'f1', part_id, position_id, '{found_on}', 0, 'dead', 'water', 'none', 'bench', 0 FROM placement "
        "WHERE position_id IS NOT NULL"
    )


def test_records_without_contradiction_pass(fitted: Run) -> None:
    answer = fitted("db", "check")
    assert answer.exit_code == 0
    assert "found nothing that can't be true" in answer.stdout


@pytest.mark.parametrize(
    ("statement", "told"),
    [
        (
            "UPDATE placement SET until_on = '2026-05-09', until_sortie = 0, until_precision = 'day'",
            "P1: has no place now",
        ),
        (failure("2026-04-01"), "P1: failed on 2026-04-01, before it is recorded anywhere (2026-05-01)"),
        (failure("2026-05-20"), "Halberd/pump: P1 failed on 2026-05-20 and is still fitted"),
        (
            "UPDATE placement SET position_id = (SELECT p.id FROM position p JOIN ship s ON s.id = p.ship_id "
            "WHERE s.name = 'Halberd' AND p.name = 'rudder-servo') WHERE position_id IS NOT NULL",
            "Halberd/rudder-servo: holds P1, a pump, which does not fit it",
        ),
        ("UPDATE ship SET state = 'lost' WHERE name = 'Halberd'", "Halberd: is lost, but 1 part is still fitted"),
        (
            "INSERT INTO movement (uid, family_id, quantity, from_place, to_place, ship_id, moved_on) "
            "SELECT 'm1', f.id, 3, 'pool', 'ship', s.id, '2026-05-01' FROM family f, ship s "
            "WHERE f.name = 'fuse' AND s.name = 'Halberd'",
            "fuse: the pool holds -3",
        ),
        (
            "INSERT INTO sortie (uid, ship_id, sailed_on, number) SELECT 's1', id, '2027-01-01', 1 FROM ship LIMIT 1",
            "sortie: 1 sortie lies in the future, up to 2027-01-01",
        ),
    ],
)
def test_each_contradiction_is_found_and_named(fitted: Run, plant: Plant, statement: str, told: str) -> None:
    plant(statement)
    answer = fitted("db", "check")
    assert answer.exit_code == 9
    assert told in answer.stderr
    [finding] = fitted("db", "check", "--json").json["error"]["findings"]
    assert finding["where"] == told.partition(":")[0]


def test_a_sortie_outside_its_battle_is_found(fitted: Run, plant: Plant) -> None:
    fitted("battle", "add", "May", "--from", "2026-05-03")
    fitted("sortie", "log", "--battle", "may", "halberd=W0")
    plant("UPDATE sortie SET sailed_on = '2026-05-04'")
    answer = fitted("db", "check")
    assert answer.exit_code == 9
    assert "Halberd: sailed on 2026-05-04, no day of May" in answer.stderr


def test_a_row_that_refers_to_nothing_is_found(fitted: Run, plant: Plant) -> None:
    plant("UPDATE ship SET captain_id = 999 WHERE name = 'Halberd'")  # plain SQLite does not enforce references
    answer = fitted("db", "check")
    assert answer.exit_code == 9
    assert "ship: a row refers to a row that is gone" in answer.stderr
