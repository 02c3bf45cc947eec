"""Bottles in a check: what is passed as in date is held against the dates on record, and they lead the board."""

from __future__ import annotations

import pytest

from maintain.services.unit import Desk
from tests.conftest import Run


@pytest.fixture
def dated(pond: Desk, run: Run) -> Run:
    """The small fleet before a battle, with a bottle aboard Halberd whose date is over."""
    bottle = ("--family", "bottle 100 g", "--tag", "C-01", "--into", "halberd/bottle", "--from", "2026-01-02")
    for line in (
        ("battle", "add", "June Balls", "--from", "2026-06-01", "--planned-sorties", "2"),
        ("family", "add", "bottle 100 g", "--category", "cylinder"),
        ("part", "add", *bottle),
        ("certificate", "add", "C-01", "--expires", "2026-05-01", "--source", "49 CFR 180.209"),
    ):
        assert run(*line).exit_code == 0
    return run


def _step(run: Run) -> str:
    steps = run("check", "show", "halberd", "--json").json["steps"]
    return str(next(each["step"] for each in steps if each["topic"] == "bottle"))


def test_a_bottle_out_of_date_does_not_pass_for_in_date(dated: Run) -> None:
    step = _step(dated)
    refused = dated("check", "answer", "halberd", step, "pass", "--figure", "370")
    assert refused.exit_code == 4
    for said in ("C-01 is out of date", "2026-05-01", "49 CFR 180.209", "licensed cylinder inspector decides"):
        assert said in refused.stderr
    assert dated("check", "show", "halberd", "--json").json["begun_on"] is None
    assert dated("check", "answer", "halberd", step, "fail").exit_code == 0
    dated("certificate", "add", "C-01", "--expires", "2030-05-01", "--source", "49 CFR 180.209")
    passed = dated("check", "answer", "halberd", step, "pass")
    assert (passed.exit_code, "C-01" in passed.stdout) == (0, False)


def test_a_date_that_ends_within_the_battle_or_is_not_on_record_is_said_with_the_pass(dated: Run) -> None:
    step = _step(dated)
    dated("battle", "add", "Long", "--from", "2026-06-01", "--until", "2026-06-05", "--planned-sorties", "9")
    dated("certificate", "add", "C-01", "--expires", "2026-06-03", "--source", "49 CFR 180.209")
    told = dated("check", "answer", "halberd", step, "pass", "--battle", "long").stdout
    assert "runs out on 2026-06-03, before Long ends" in told
    dated("part", "pull", "C-01", "--to", "scrapped")
    dated("part", "add", "--family", "bottle 100 g", "--tag", "C-02", "--into", "halberd/bottle")
    told = dated("check", "answer", "halberd", step, "pass", "--battle", "long").stdout
    assert "no date of C-02 is on record" in told


def test_a_ship_with_a_bottle_out_of_date_stands_first_on_the_board(dated: Run) -> None:
    dated("ship", "add", "Avocet", "--like", "convoy ship")
    board = dated("check", "fleet", "--json").json["rows"]
    assert [row["ship"] for row in board] == ["Halberd", "Avocet", "Gannet"]
    first = {key: board[0][key] for key in ("first_date", "first_dated", "first_over")}
    assert "C-01 (bottle): cylinder re-test ran out on 2026-05-01" in board[0]["what"]
    assert first == {"first_date": "2026-05-01", "first_dated": "C-01", "first_over": True}
    dated("certificate", "add", "C-01", "--expires", "2030-05-01", "--source", "49 CFR 180.209")
    board = dated("check", "fleet", "--json").json["rows"]
    assert [(row["ship"], row["first_over"]) for row in board] == [
        ("Avocet", None),
        ("Gannet", None),
        ("Halberd", False),
    ]
