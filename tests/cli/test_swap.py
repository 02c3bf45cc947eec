"""maintain swap: one command logs the failure, puts the dead part away and fits a spare."""

from __future__ import annotations

from typing import Any

import pytest
import sqlalchemy as sa

from maintain.cli import _missing
from maintain.records import tables as t
from maintain.records.engine import make_engine
from maintain.services.unit import Desk
from tests.conftest import Run
from tests.pond import SERVO, sail

DEAD = ("--mode", "dead", "--cause", "water")


@pytest.fixture(autouse=True)
def fitted(run: Run, pond: Desk) -> None:
    """Kobu is in Halberd since May; two spares lie in the pool, the older one is vepo."""
    assert run("part", "add", "--family", "standard", "--tag", "kobu", "--into", SERVO, "--from", "2026-05").stdout
    for tag, bought in (("dilo", "2026-02-01"), ("vepo", "2025-02-01")):
        assert run("part", "add", "--family", "standard", "--tag", tag, "--acquired", bought).exit_code == 0


def _where(run: Run) -> dict[str, str]:
    return {row["tag"]: row["where"] for row in run("part", "list", "--json").json["rows"]}


def _rows(desk: Desk, table: sa.Table) -> list[Any]:
    with make_engine(desk.db, "read").connect() as connection, connection.begin():
        return list(connection.execute(sa.select(table)))


def test_a_swap_takes_the_oldest_spare_of_the_pool_and_tells_it_in_a_line(run: Run, pond: Desk) -> None:
    sail(pond, "halberd=W1")
    sail(pond, "halberd=W3:damage:5min")
    answer = run("swap", SERVO, *DEAD, "--effect", "lost function", "--found-by", "in battle")
    assert answer.stdout.splitlines() == [
        "Halberd/rudder-servo: kobu failed (dead, water) after sortie 2; fitted vepo from the pool",
        "  kobu was in Halberd/rudder-servo from 2026-05 to 2026-06-01 after sortie 2",
        "  vepo was in the pool from 2025-02-01 to 2026-06-01 after sortie 2",
        "  kobu is now scrapped",
    ]
    assert _where(run) == {"kobu": "scrapped", "vepo": SERVO, "dilo": "in the pool"}
    (failure,) = run("failure", "list", "--json").json["rows"]
    assert (failure["part"], failure["found_sortie"], failure["effect"]) == ("kobu", 2, "lost function")
    (row,) = _rows(pond, t.failure)
    assert row.sortie_id == max(each.id for each in _rows(pond, t.sortie))


def test_undo_takes_the_whole_swap_back(run: Run) -> None:
    before = _where(run)
    assert run("swap", SERVO, *DEAD).exit_code == 0
    assert run("undo").exit_code == 0
    assert _where(run) == before
    assert run("failure", "list", "--json").json["rows"] == []


def test_a_named_spare_is_taken_out_of_where_it_is(run: Run) -> None:
    run("part", "install", "dilo", "gannet/rudder-servo", "--from", "2026-05-02")
    told = run("swap", SERVO, *DEAD, "--with", "dilo").stdout
    assert "fitted dilo out of Gannet/rudder-servo" in told
    assert _where(run)["dilo"] == SERVO


def test_a_spare_pulled_later_that_day_from_another_ship_still_goes_in(run: Run, pond: Desk) -> None:
    sail(pond, "gannet=W1")
    run("part", "install", "dilo", "gannet/rudder-servo", "--from", "2026-05-02")
    assert run("part", "pull", "dilo").exit_code == 0
    assert run("swap", SERVO, *DEAD, "--with", "dilo").exit_code == 0


def test_with_nothing_that_fits_the_holders_are_named_and_nothing_is_written(run: Run) -> None:
    for tag in ("dilo", "vepo"):
        run("part", "pull", tag, "--to", "scrapped")
    run("part", "add", "--family", "standard", "--tag", "muri", "--owner", "Bea")
    answer = run("swap", SERVO, *DEAD)
    assert answer.exit_code == 3
    assert "held nothing that fits Halberd/rudder-servo (standard servo); Bea has muri" in answer.stderr
    assert _where(run)["kobu"] == SERVO
    assert run("failure", "list", "--json").json["rows"] == []


def test_a_spare_bought_after_the_failure_was_not_in_the_pool_then(run: Run) -> None:
    run("part", "pull", "vepo", "--to", "scrapped", "--until", "2026-01-01")
    answer = run("swap", SERVO, *DEAD, "--found", "2026-05-20", "--with", "vepo")
    assert answer.exit_code == 4 and "scrapped" in answer.stderr
    told = run("swap", SERVO, *DEAD, "--found", "2026-05-20").stdout
    assert "fitted dilo" in told and "on 2026-05-20" in told


def test_a_borrowed_spare_is_a_part_a_loan_and_a_debt_in_kind(run: Run, pond: Desk) -> None:
    answer = run("swap", SERVO, *DEAD, "--borrowed-from", "bea", "--terms", "payback", "--json")
    tag = answer.json["record"]["fitted"]
    sheet = run("part", "show", tag, "--json").json
    assert (sheet["facts"]["owner"], sheet["facts"]["prior_use"]) == ("Bea", "unknown")
    assert [each["where"] for each in sheet["places"]] == [SERVO]
    (loan,), (debt,) = _rows(pond, t.loan), _rows(pond, t.debt)
    members = {row.id: row.name for row in _rows(pond, t.member)}
    assert (members[loan.lender_id], members[loan.borrower_id], loan.terms) == ("Bea", "Ana", "payback in kind")
    assert (members[debt.debtor_id], members[debt.creditor_id], debt.quantity) == ("Ana", "Bea", 1)
    assert debt.loan_id == loan.id


def test_a_borrowed_spare_keeps_the_tag_it_has(run: Run, pond: Desk) -> None:
    answer = run("swap", SERVO, *DEAD, "--borrowed-from", "bea", "--with", "FB1", "--json")
    assert answer.json["record"]["fitted"] == "FB1"
    (loan,) = _rows(pond, t.loan)
    assert run("part", "show", "FB1", "--json").json["facts"]["owner"] == "Bea"
    assert loan.terms == "return"


def test_a_part_of_the_lender_s_own_in_the_records_is_lent_as_it_is(run: Run, pond: Desk) -> None:
    mine = ("--owner", "bea", "--tag", "B7", "--acquired", "2026-01-01")
    assert run("part", "add", "--family", "standard", *mine).exit_code == 0
    assert run("swap", SERVO, *DEAD, "--borrowed-from", "bea", "--with", "b7").exit_code == 0
    (loan,) = _rows(pond, t.loan)
    assert [each["where"] for each in run("part", "show", "B7", "--json").json["places"]][-1] == SERVO
    assert loan.part_id == next(row.id for row in _rows(pond, t.part) if row.tag == "B7")


def test_nobody_lends_what_is_not_theirs(run: Run, pond: Desk) -> None:
    answer = run("swap", SERVO, *DEAD, "--borrowed-from", "bea", "--with", "dilo")
    assert answer.exit_code == 4 and "dilo is not Bea's to lend" in answer.stderr
    assert _rows(pond, t.loan) == []


def test_a_spare_to_be_returned_is_a_loan_without_a_debt(run: Run, pond: Desk) -> None:
    assert run("swap", SERVO, *DEAD, "--borrowed-from", "bea").exit_code == 0
    assert len(_rows(pond, t.loan)) == 1
    assert _rows(pond, t.debt) == []


def test_nobody_lends_to_the_own_ship(run: Run) -> None:
    answer = run("swap", SERVO, *DEAD, "--borrowed-from", "ana")
    assert answer.exit_code == 4 and "Halberd's captain" in answer.stderr


def test_a_suspect_part_awaits_a_retest(run: Run, pond: Desk) -> None:
    assert run("swap", SERVO, "--mode", "erratic", "--cause", "unknown", "--to", "suspect").exit_code == 0
    (doubt,) = _rows(pond, t.suspicion)
    assert (doubt.mode, doubt.closed_on) == ("erratic", None)
    assert _where(run)["kobu"] == "suspect"


def test_a_failure_names_the_one_that_brought_it_about(run: Run) -> None:
    run("part", "add", "--family", "pump", "--tag", "pomp", "--into", "halberd/pump", "--from", "2026-05-01")
    run("failure", "log", "halberd/pump", "--mode", "won't prime", "--cause", "wear")
    assert run("swap", SERVO, *DEAD, "--secondary-to", "pomp").exit_code == 0
    rows = {row["part"]: row for row in run("failure", "list", "--json").json["rows"]}
    assert rows["kobu"]["secondary_to"] == "pomp"
    assert rows["pomp"]["secondary_to"] is None


def test_a_cause_that_never_failed_is_refused(run: Run) -> None:
    answer = run("swap", SERVO, *DEAD, "--secondary-to", "dilo")
    assert answer.exit_code == 3 and "no failure of dilo" in answer.stderr
    assert _where(run)["kobu"] == SERVO


def test_an_empty_position_has_nothing_to_swap(run: Run) -> None:
    run("part", "pull", SERVO)
    answer = run("swap", SERVO, *DEAD)
    assert answer.exit_code == 3 and "no part is installed" in answer.stderr


def test_a_spare_comes_from_one_place_only(run: Run) -> None:
    assert run("swap", SERVO, *DEAD, "--with", "dilo", "--from-pool").exit_code == 2


def test_what_is_missing_is_an_error_without_a_terminal(run: Run) -> None:
    answer = run("swap", SERVO, "--cause", "water")
    assert answer.exit_code == 2 and "--mode" in answer.stderr


def test_what_is_missing_is_asked_for_at_a_terminal(run: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(_missing, "at_terminal", lambda: True)
    answer = run("swap", SERVO, input="nonsense\n1\nwat\n")
    assert answer.exit_code == 0
    assert "choose one of the list" in answer.stderr
    (failure,) = run("failure", "list", "--json").json["rows"]
    assert (failure["mode"], failure["cause"]) == ("dead", "water")


def test_battle_damage_is_said_to_be_no_failure_of_the_part(run: Run) -> None:
    assert "battle damage" in run("swap", SERVO, "--mode", "broken", "--cause", "ball hit").stdout
