"""maintain pool: counted, bought, issued, lent, owed and scrapped; nothing moves that isn't there."""

from __future__ import annotations

from typing import Any

import pytest

from maintain.services.unit import Desk
from tests.conftest import Answer, Run
from tests.pond import SERVO


@pytest.fixture(autouse=True)
def stocked(run: Run, pond: Desk) -> None:
    """Twenty fuses and two servos, dilo and the older vepo, lie in the pool."""
    assert run("pool", "count", "fuse", "20").exit_code == 0
    for tag, bought in (("dilo", "2026-02-01"), ("vepo", "2025-02-01")):
        words = ("part", "add", "--family", "standard", "--tag", tag, "--origin", "new", "--acquired", bought)
        assert run(*words).exit_code == 0


def _ok(answer: Answer) -> str:
    assert answer.exit_code == 0, answer.stderr
    return answer.stdout


def _of(run: Run, family: str, *on: str) -> dict[str, Any]:
    rows = run("pool", "status", "--json", *on).json["rows"]
    return next(row for row in rows if row["family"] == family)


def _where(run: Run) -> dict[str, str]:
    return {row["tag"]: row["where"] for row in run("part", "list", "--json").json["rows"]}


def _board(run: Run, *on: str) -> list[tuple[str, str]]:
    return [(row["kind"], row["item"]) for row in run("pool", "board", "--json", *on).json["rows"]]


@pytest.mark.parametrize("number", ["0", "-2"])
def test_a_number_that_is_none_is_called_so(run: Run, pond: Desk, number: str) -> None:
    answer = run("pool", "owe", "bea", "fuse", "--", number)
    assert answer.exit_code == 4
    assert f"{number} is no number of pieces" in answer.stderr


def test_a_pits_loan_takes_one_short_line(run: Run) -> None:
    assert _ok(run("pool", "lend", "servo", "--to", "bea")) == (
        "lent vepo (standard servo) to Bea, to come back, nobody said when\n"
    )
    assert _where(run)["vepo"] == "on loan to Bea"
    assert _of(run, "standard servo")["lent"] == 1


def test_an_order_comes_in_two_deliveries(run: Run) -> None:
    _ok(run("pool", "order", "servo", "3", "--cost", "14.50", "--expected", "2026-06-20", "--on", "2026-05-01"))
    row = _of(run, "standard servo")
    assert (row["on_order"], row["expected_on"], row["on_hand"]) == (3, "2026-06-20", 2)
    assert "1 of 3 still to come" in _ok(run("pool", "receive", "servo", "2"))
    row = _of(run, "standard servo")
    assert (row["on_order"], row["on_hand"], row["new"]) == (1, 4, 4)
    assert "done" in _ok(run("pool", "receive", "servo"))
    assert _of(run, "standard servo")["on_order"] == 0


def test_without_a_date_the_lead_time_says_when_it_comes(run: Run) -> None:
    run("family", "change", "standard servo", "--lead-time-days", "10")
    assert "expected by 2026-06-11" in _ok(run("pool", "order", "standard", "1"))


def test_a_month_is_over_at_its_end(run: Run) -> None:
    assert "by 2026-06-30" in _ok(run("pool", "lend", "dilo", "--to", "bea", "--due", "2026-06"))
    assert ("overdue", "dilo") not in _board(run, "--on", "2026-06-30")
    assert ("overdue", "dilo") in _board(run, "--on", "2026-07-01")


def test_an_order_called_off_is_awaited_no_more(run: Run) -> None:
    _ok(run("pool", "order", "fuse", "30"))
    _ok(run("pool", "cancel", "fuse", "10"))
    assert _of(run, "fuse")["on_order"] == 20
    _ok(run("pool", "cancel", "fuse"))
    assert run("pool", "cancel", "fuse").exit_code == 4


def test_a_count_adjusts_the_ledger_and_says_by_how_much(run: Run) -> None:
    assert _ok(run("pool", "count", "fuse", "17", "--reason", "winter count")) == (
        "fuse: counted 17, 3 fewer than recorded\n"
    )
    assert (_of(run, "fuse")["on_hand"], _of(run, "fuse")["counted_on"]) == (17, "2026-06-01")


def test_a_count_of_tagged_parts_asks_which_are_gone(run: Run) -> None:
    answer = run("pool", "count", "standard", "1")
    assert answer.exit_code == 4 and "which are gone?" in answer.stderr
    _ok(run("pool", "count", "standard", "2", "--missing", "dilo"))
    assert _where(run)["dilo"] == "lost"
    row = _of(run, "standard servo")
    assert (row["on_hand"], row["new"], row["untested"]) == (2, 1, 1), "one that nobody had entered was found"


def test_nothing_is_issued_that_is_not_there(run: Run) -> None:
    for words in (
        ("issue", "fuse", "21", "--ship", "halberd"),
        ("lend", "fuse", "21", "--to", "bea"),
        ("lend", "standard", "3", "--to", "bea"),
        ("issue", "pump", "--into", "halberd/pump"),
        ("scrap", "fuse", "21"),
    ):
        answer = run("pool", *words)
        assert answer.exit_code == 4 and "holds" in answer.stderr, words
    assert _of(run, "fuse")["on_hand"] == 20


def test_nothing_is_issued_that_a_later_day_needs(run: Run) -> None:
    _ok(run("pool", "issue", "fuse", "15", "--ship", "halberd", "--on", "2026-06-10"))
    answer = run("pool", "issue", "fuse", "10", "--ship", "halberd", "--on", "2026-06-05")
    assert answer.exit_code == 4 and "holds 5" in answer.stderr


def test_what_was_issued_uncounted_stays_to_be_settled_until_a_count(run: Run) -> None:
    assert "settle it with" in _ok(run("pool", "issue", "fuse", "23", "--ship", "halberd", "--uncounted"))
    assert (_of(run, "fuse")["on_hand"], _of(run, "fuse")["uncounted"]) == (0, 3)
    _ok(run("pool", "receive", "fuse", "50"))
    assert ("to settle", "fuse") in _board(run)
    assert _of(run, "fuse")["on_hand"] == 50
    assert "settled 1 discrepancy" in _ok(run("pool", "count", "fuse", "50", "--on", "2026-06-02"))
    assert ("to settle", "fuse") not in _board(run, "--on", "2026-06-02")
    assert ("to settle", "fuse") in _board(run, "--on", "2026-06-01")


def test_a_tagged_part_issued_uncounted_is_entered_and_to_be_settled(run: Run) -> None:
    _ok(run("pool", "issue", "pump", "--into", "halberd/pump", "--uncounted"))
    assert [tag for tag, where in _where(run).items() if where == "Halberd/pump"]
    assert ("to settle", "pump") in _board(run)
    _ok(run("pool", "count", "pump", "0"))
    assert ("to settle", "pump") not in _board(run)


def test_an_issue_fits_the_part_or_gives_it_away(run: Run) -> None:
    _ok(run("pool", "issue", "servo", "--into", SERVO))
    assert _where(run)["vepo"] == SERVO
    _ok(run("pool", "issue", "dilo", "--to", "bea"))
    assert _where(run)["dilo"] == "with Bea"
    assert run("part", "show", "dilo", "--json").json["facts"]["owner"] == "Bea"
    assert run("pool", "issue", "fuse").exit_code == 4


@pytest.mark.parametrize(
    ("condition", "where", "more"),
    [("good", "in the pool", ()), ("suspect", "suspect", ("--mode", "erratic")), ("dead", "scrapped", ())],
)
def test_what_comes_back_goes_where_its_condition_sends_it(
    run: Run, condition: str, where: str, more: tuple[str, ...]
) -> None:
    _ok(run("pool", "lend", "vepo", "--to", "bea"))
    _ok(run("pool", "return", "servo", condition, "--from", "bea", *more))
    assert _where(run)["vepo"] == where
    assert run("pool", "owed", "--json").json["rows"] == []
    failed = [row["part"] for row in run("failure", "list", "--json").json["rows"]]
    assert failed == (["vepo"] if condition == "dead" else [])


def test_a_return_is_untested_unless_it_passed_a_test(run: Run) -> None:
    run("part", "install", "vepo", SERVO, "--from", "2026-05-01")
    run("part", "pull", "vepo", "--until", "2026-05-10")
    assert (_of(run, "standard servo")["untested"], _of(run, "standard servo")["tested"]) == (1, 0)
    _ok(run("pool", "lend", "vepo", "--to", "bea"))
    _ok(run("pool", "return", "vepo", "good", "--tested", "--on", "2026-06-03"))
    row = _of(run, "standard servo", "--on", "2026-06-03")
    assert (row["untested"], row["tested"], row["new"]) == (0, 1, 1)


def test_suspect_pieces_wait_in_quarantine_for_their_test(run: Run) -> None:
    _ok(run("pool", "lend", "fuse", "6", "--to", "bea"))
    _ok(run("pool", "return", "fuse", "suspect", "4", "--mode", "hot"))
    row = _of(run, "fuse")
    assert (row["on_hand"], row["suspect"], row["lent"]) == (14, 4, 2)
    _ok(run("pool", "clear", "fuse", "3"))
    _ok(run("pool", "scrap", "fuse", "1", "--suspect"))
    row = _of(run, "fuse")
    assert (row["on_hand"], row["suspect"]) == (17, 0)


def test_what_was_never_lent_does_not_come_back(run: Run) -> None:
    for words in (("vepo", "good"), ("fuse", "good"), ("servo", "dead")):
        answer = run("pool", "return", *words)
        assert answer.exit_code == 4 and "on loan" in answer.stderr
    _ok(run("pool", "lend", "fuse", "2", "--to", "bea"))
    assert run("pool", "return", "fuse", "good", "3").exit_code == 4
    assert run("pool", "return", "fuse", "good", "--from", "ana").exit_code == 4


def test_a_dead_part_is_owed_if_that_is_agreed(run: Run) -> None:
    _ok(run("pool", "lend", "vepo", "--to", "bea"))
    _ok(run("pool", "return", "vepo", "dead", "--owed"))
    (row,) = run("pool", "owed", "--json").json["rows"]
    assert (row["debtor"], row["creditor"], row["how"]) == ("Bea", "the pool", "in kind")


def test_payback_in_kind_is_a_loan_and_a_debt_until_it_is_settled(run: Run) -> None:
    _ok(run("pool", "lend", "vepo", "--to", "bea", "--terms", "payback", "--due", "2026-08"))
    (row,) = run("pool", "owed", "--json").json["rows"]
    assert (row["debtor"], row["creditor"], row["how"], row["due_on"]) == ("Bea", "the pool", "in kind", "2026-08-31")
    assert "entered" in _ok(run("pool", "settle", "bea", "servo"))
    assert _of(run, "standard servo")["on_hand"] == 2
    assert run("pool", "owed", "--json").json["rows"] == []
    assert run("pool", "return", "vepo", "good").exit_code == 4, "it is Bea's to keep"


def test_counted_payback_comes_back_in_parts(run: Run) -> None:
    _ok(run("pool", "lend", "fuse", "5", "--to", "bea", "--terms", "payback"))
    assert "3 x fuse still owed" in _ok(run("pool", "settle", "bea", "fuse", "2"))
    assert _of(run, "fuse")["on_hand"] == 17
    answer = run("pool", "settle", "bea", "fuse", "4")
    assert answer.exit_code == 4 and "owes the pool 3 x fuse, not 4" in answer.stderr
    _ok(run("pool", "settle", "bea", "fuse", "--forgiven"))
    assert _of(run, "fuse")["on_hand"] == 17


def test_the_pool_pays_what_it_owes_from_its_shelf(run: Run) -> None:
    _ok(run("pool", "owe", "pool", "servo", "--to", "ana", "--since", "2026-04", "--due", "2026-07"))
    assert _of(run, "standard servo")["reserved"] == 1
    _ok(run("pool", "settle", "pool", "servo", "--to", "ana"))
    assert _where(run)["vepo"] == "with Ana"


def test_members_lend_each_other_what_no_record_knew(run: Run) -> None:
    _ok(run("pool", "lend", "pump", "--from", "ana", "--to", "bea"))
    (tag,) = [tag for tag, where in _where(run).items() if where == "on loan to Bea"]
    _ok(run("pool", "return", tag, "good"))
    assert _where(run)[tag] == "with Ana"


def test_a_debt_is_settled_with_a_part_of_the_debtor(run: Run) -> None:
    run("part", "add", "--family", "pump", "--tag", "own", "--owner", "Bea")
    _ok(run("pool", "owe", "bea", "pump", "--to", "ana"))
    assert run("pool", "settle", "bea", "pump", "--to", "ana", "--with", "vepo").exit_code == 4
    _ok(run("pool", "settle", "bea", "pump", "--to", "ana", "--with", "own"))
    assert _where(run)["own"] == "with Ana"


def test_undo_takes_a_whole_loan_back(run: Run) -> None:
    before = run("pool", "status", "--json").json
    _ok(run("pool", "lend", "fuse", "5", "--to", "bea", "--terms", "payback"))
    _ok(run("undo"))
    assert run("pool", "status", "--json").json == before
    assert run("pool", "owed", "--json").json["rows"] == []


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("count", "fuse", "-3"), "-3 can't have been counted"),
        (("order", "fuse", "-3"), "at least 1"),
        (("lend", "fuse", "0", "--to", "bea"), "at least 1"),
        (("order", "fuse", "3", "--cost", "USD 4"), "names a currency"),
        (("receive", "fuse", "3", "--cost", "£4"), "names a currency"),
        (("order", "flux", "3"), "no family called"),
        (("lend", "fuse", "--to", "zoe"), "no member called"),
        (("lend", "fuse", "--to", "bea", "--from", "bea"), "can't lend to Bea"),
        (("lend", "fuse", "--to", "bea", "--due", "2025"), "is over"),
        (("owe", "bea", "fuse", "--to", "bea"), "can't owe Bea"),
        (("settle", "bea", "fuse"), "owes the pool no fuse"),
        (("receive", "fuse"), "no fuse is on order"),
        (("receive", "fuse", "1", "--made", "2027-01-01"), "in the future"),
        (("scrap", "servo"), "which one?"),
        (("clear", "servo"), "each has its own retest"),
        (("limit", "fuse", "--days", "90"), "who says so?"),
        (("limit", "fuse"), "how long may it lie?"),
        (("stale", "--by", "2026-05-01"), "is over"),
    ],
)
def test_bad_input_is_refused_in_a_sentence(run: Run, words: tuple[str, ...], says: str) -> None:
    before = run("journal", "--json").json
    answer = run("pool", *words)
    assert answer.exit_code in (3, 4)
    first, *_ = answer.stderr.splitlines()
    assert first.startswith("error: ") and says in answer.stderr
    assert run("journal", "--json").json == before
