"""maintain failure: failures logged without a spare, and listed."""

from __future__ import annotations

from typing import Any

import pytest

from maintain.services.unit import Desk
from tests.conftest import Run
from tests.pond import SERVO, sail

DEAD = ("--mode", "dead", "--cause", "unknown")


@pytest.fixture(autouse=True)
def fitted(run: Run, pond: Desk) -> None:
    """Kobu is in Halberd since May, pomp in Gannet since the 10th."""
    run("part", "add", "--family", "standard", "--tag", "kobu", "--into", SERVO, "--from", "2026-05")
    run("part", "add", "--family", "pump", "--tag", "pomp", "--into", "gannet/pump", "--from", "2026-05-10")


def _failures(run: Run, *options: str) -> list[Any]:
    return run("failure", "list", *options, "--json").json["rows"]


def _where(run: Run, tag: str) -> str:
    return run("part", "show", tag, "--json").json["where"]


@pytest.mark.parametrize(("to", "where"), [("scrapped", "scrapped"), ("suspect", "suspect"), ("stays", SERVO)])
def test_a_failed_part_goes_where_it_is_sent(run: Run, to: str, where: str) -> None:
    assert run("failure", "log", "kobu", *DEAD, "--to", to).exit_code == 0
    assert _where(run, "kobu") == where
    assert len(_failures(run)) == 1


def test_a_failure_before_a_rough_day_of_fitting_moves_that_day_back(run: Run) -> None:
    assert run("failure", "log", "kobu", *DEAD, "--found", "2026-05-04").exit_code == 0
    assert _failures(run)[0]["position"] == "rudder-servo"
    assert run("part", "show", "kobu", "--json").json["places"][0]["from"] == "2026-05"


def test_a_failure_before_the_part_was_there_is_refused(run: Run) -> None:
    answer = run("failure", "log", "pomp", *DEAD, "--found", "2026-05-09")
    assert answer.exit_code == 4
    assert "pomp can't have failed at 2026-05-09: it was in Gannet/pump only from 2026-05-10" in answer.stderr
    assert _failures(run) == []


@pytest.mark.parametrize(
    ("options", "told"),
    [
        (("--found", "2026-05-20", "--last-good", "2026-05-21"), "known to be good on 2026-05-21"),
        (("--found", "2026-06-02"), "in the future"),
        (("--found", "2026-05"), "not a day"),
        (("--secondary-to", "99"), "no failure of 99"),
    ],
)
def test_bad_input_is_refused_and_nothing_is_written(run: Run, options: tuple[str, ...], told: str) -> None:
    answer = run("failure", "log", "kobu", *DEAD, *options)
    assert answer.exit_code in (3, 4) and told in answer.stderr
    assert _failures(run) == []
    assert _where(run, "kobu") == SERVO


def test_a_word_nobody_uses_is_a_usage_error(run: Run) -> None:
    assert run("failure", "log", "kobu", "--mode", "grumpy", "--cause", "water").exit_code == 2
    assert run("failure", "log", "kobu", "--mode", "dead").exit_code == 2


def test_a_failure_is_found_after_the_sorties_of_the_day_unless_said(run: Run, pond: Desk) -> None:
    sail(pond, "halberd=W1")
    sail(pond, "halberd=W1")
    run("failure", "log", "kobu", "--mode", "slow", "--cause", "wear", "--to", "stays")
    run("failure", "log", "kobu", *DEAD, "--after-sortie", "1", "--to", "stays", "--another")
    assert [row["found_sortie"] for row in _failures(run)] == [2, 1]


def test_a_failure_told_late_leaves_the_part_where_it_is_by_now(run: Run) -> None:
    run("part", "pull", "pomp", "--until", "2026-05-20")
    answer = run("failure", "log", "pomp", *DEAD, "--found", "2026-05-18")
    assert "it is in the pool since 2026-05-20 and stays there" in answer.stdout
    assert _failures(run)[0]["ship"] == "Gannet"


def test_failures_are_listed_newest_first_and_can_be_narrowed(run: Run) -> None:
    run("failure", "log", "kobu", *DEAD, "--found", "2026-05-20")
    run("failure", "log", "pomp", *DEAD)
    assert [row["part"] for row in _failures(run)] == ["pomp", "kobu"]
    assert [row["part"] for row in _failures(run, "--ship", "halberd")] == ["kobu"]
    assert [row["part"] for row in _failures(run, "--family", "pump")] == ["pomp"]
    assert [row["part"] for row in _failures(run, "--since", "2026-05-21")] == ["pomp"]


def test_a_failure_is_caused_by_another_by_its_number(run: Run) -> None:
    number = run("failure", "log", "pomp", *DEAD, "--json").json["record"]["failure"]
    run("failure", "log", "kobu", *DEAD, "--secondary-to", str(number))
    assert _failures(run, "--ship", "halberd")[0]["secondary_to"] == "pomp"
