"""maintain pool stale, limits, board, history, swap from the pool: what is looked at, and what hurts."""

from __future__ import annotations

from typing import Any

import pytest
import sqlalchemy as sa

from maintain.records import tables as t
from maintain.records.engine import make_engine
from maintain.services.unit import Desk
from tests.conftest import Run
from tests.pond import SERVO

DEAD = ("--mode", "dead", "--cause", "water")


@pytest.fixture(autouse=True)
def seals(run: Run, pond: Desk) -> None:
    """O-rings cured in 2018 and 2024 lie in the pool."""
    assert run("family", "add", "O-ring", "--category", "seal", "--kept", "counted").exit_code == 0
    for number, made in (("5", "2018-05-01"), ("10", "2024-05-01")):
        assert run("pool", "receive", "o-ring", number, "--made", made).exit_code == 0


def _rows(desk: Desk, table: sa.Table) -> list[Any]:
    with make_engine(desk.db, "read").connect() as connection, connection.begin():
        return list(connection.execute(sa.select(table)))


def _stale(run: Run, *words: str) -> list[tuple[str, int, str]]:
    rows = run("pool", "stale", "--json", *words).json["rows"]
    return [(row["part"] or row["family"], row["quantity"], row["stale_on"]) for row in rows]


def test_rubber_is_stale_after_the_years_of_its_group(run: Run) -> None:
    assert _stale(run) == []
    assert "O-ring" in run("pool", "stale").stdout, "nobody said how long it may lie"
    assert run("pool", "limit", "o-ring", "--rule", "iso 2230 b").exit_code == 0
    assert _stale(run) == [("O-ring", 5, "2025-05-01")]
    (row,) = run("pool", "stale", "--json").json["rows"]
    assert row["advice"].startswith("inspect it") and "ISO 2230" in row["source"]
    assert len(_stale(run, "--by", "2031-06-01")) == 2


def test_the_oldest_pieces_are_taken_to_have_gone_first(run: Run) -> None:
    run("pool", "limit", "o-ring", "--rule", "iso 2230 b")
    run("pool", "issue", "o-ring", "3", "--ship", "halberd")
    assert _stale(run) == [("O-ring", 2, "2025-05-01")]
    run("pool", "issue", "o-ring", "2", "--ship", "halberd")
    assert _stale(run) == []


def test_a_limit_of_a_family_comes_before_that_of_its_category(run: Run) -> None:
    run("pool", "limit", "--category", "seal", "--days", "10", "--source", "the club")
    assert len(_stale(run)) == 2
    run("pool", "limit", "o-ring", "--endless", "--source", "SAE AS5316, fluorocarbon")
    assert _stale(run) == []
    run("pool", "limit", "o-ring", "--remove")
    assert len(_stale(run)) == 2
    assert {row["source"] for row in run("pool", "limits", "--json").json["rows"]} == {"the club"}


def test_a_tagged_part_inspected_at_the_end_may_lie_on(run: Run) -> None:
    run("pool", "limit", "standard servo", "--days", "100", "--extension", "1000", "--source", "the maker")
    run("part", "add", "--family", "standard", "--tag", "old", "--acquired", "2026-01-01", "--made", "2026-01-01")
    assert [item for item, _, _ in _stale(run)] == ["old"]
    assert run("reading", "add", "old", "demand test", "1").exit_code == 0
    assert _stale(run) == []


def test_every_rule_is_listed_with_its_source(run: Run) -> None:
    rows = run("pool", "limits", "--rules", "--json").json["rows"]
    assert all(row["source"] for row in rows) and len(rows) > 10


def test_a_bottle_goes_out_with_its_date_and_who_decides(run: Run) -> None:
    run("family", "add", "bottle", "--category", "cylinder")
    run("part", "add", "--family", "bottle", "--tag", "B-1", "--acquired", "2025-01-01")
    run("part", "add", "--family", "bottle", "--tag", "B-2", "--acquired", "2025-01-01")
    run("certificate", "add", "B-1", "--expires", "2026-01-01", "--source", "stamp", "--decider", "licensed tester")
    kinds = [row["item"] for row in run("pool", "board", "--only", "legal", "--json").json["rows"]]
    assert kinds == ["B-1", "B-2"]
    told = run("pool", "lend", "B-1", "--to", "bea").stdout
    assert "ran out on 2026-01-01" in told and "the licensed tester decides" in told
    assert "no test date on record" in run("pool", "lend", "B-2", "--to", "bea").stdout


def test_cells_go_out_with_their_caution(run: Run) -> None:
    run("family", "add", "pack", "--category", "battery")
    run("part", "add", "--family", "pack", "--tag", "P-1", "--acquired", "2025-01-01")
    assert "safety officer decides" in run("pool", "lend", "P-1", "--to", "bea").stdout


def test_the_board_names_parts_of_unknown_past_and_positions_without_a_family(run: Run) -> None:
    run("part", "add", "--family", "standard", "--tag", "box", "--note", "from a bequest")
    found = [(row["kind"], row["item"]) for row in run("pool", "board", "--json").json["rows"]]
    assert ("unidentified", "box") in found and ("unidentified", "Halberd") in found
    run("reading", "add", "box", "demand test", "1")
    assert ("unidentified", "box") not in [
        (row["kind"], row["item"]) for row in run("pool", "board", "--json").json["rows"]
    ]


def test_the_board_names_what_is_below_its_line_and_orders_that_are_late(run: Run) -> None:
    run("family", "change", "o-ring", "--reorder-line", "16")
    run("pool", "order", "o-ring", "20", "--expected", "2026-05-20", "--on", "2026-05-01")
    rows = {row["kind"]: row for row in run("pool", "board", "--json").json["rows"]}
    assert rows["below its line"]["said"] == "15 on hand, line 16, 20 on order"
    assert rows["below its line"]["do"] == "wait for the order"
    assert rows["late order"]["item"] == "O-ring"


def test_a_history_adds_up_to_what_the_pool_holds(run: Run) -> None:
    run("pool", "issue", "o-ring", "3", "--ship", "halberd", "--on", "2026-06-02")
    run("pool", "count", "o-ring", "11", "--on", "2026-06-03")
    rows = run("pool", "history", "o-ring", "--json", "--on", "2026-06-04").json["rows"]
    assert rows[0]["held"] == 11
    assert sum(row["change"] or 0 for row in rows) == 11


def test_a_swap_from_an_empty_pool_uncounted_is_a_discrepancy(run: Run, pond: Desk) -> None:
    run("part", "add", "--family", "standard", "--tag", "kobu", "--into", SERVO, "--from", "2026-05")
    assert run("swap", SERVO, *DEAD, "--from-pool").exit_code == 3
    told = run("swap", SERVO, *DEAD, "--from-pool", "--uncounted")
    assert told.exit_code == 0 and "from the pool" in told.stdout
    (odd,) = _rows(pond, t.discrepancy)
    assert odd.part_id is not None and odd.stocktake_id is None


def test_a_swap_from_the_pool_against_payback_is_a_loan_and_a_debt(run: Run, pond: Desk) -> None:
    run("part", "add", "--family", "standard", "--tag", "kobu", "--into", SERVO, "--from", "2026-05")
    run("part", "add", "--family", "standard", "--tag", "dilo", "--acquired", "2026-02-01")
    assert run("swap", SERVO, *DEAD, "--terms", "payback").exit_code == 0
    (row,) = run("pool", "owed", "--ship", "halberd", "--json").json["rows"]
    assert (row["debtor"], row["part"], row["where"]) == ("Ana", "dilo", SERVO)


def test_what_was_borrowed_for_a_ship_goes_back_to_its_lender(run: Run) -> None:
    run("part", "add", "--family", "standard", "--tag", "kobu", "--into", SERVO, "--from", "2026-05")
    tag = run("swap", SERVO, *DEAD, "--borrowed-from", "bea", "--json").json["record"]["fitted"]
    (row,) = run("pool", "owed", "--ship", "halberd", "--json").json["rows"]
    assert (row["debtor"], row["creditor"], row["where"]) == ("Ana", "Bea", SERVO)
    assert run("pool", "return", tag, "good", "--on", "2026-06-02").exit_code == 0
    where = {each["tag"]: each["where"] for each in run("part", "list", "--json", "--on", "2026-06-02").json["rows"]}
    assert where[tag] == "with Bea"


def test_tables_of_the_pool_come_as_csv(run: Run) -> None:
    for command in (("status",), ("board",), ("owed",), ("stale",), ("limits",), ("history", "o-ring")):
        answer = run("pool", *command, "--csv")
        assert answer.exit_code == 0 and "," in answer.stdout.splitlines()[0]
