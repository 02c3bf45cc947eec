"""maintain retest: a suspect part is cleared or condemned."""

from __future__ import annotations

from typing import Any

import pytest

from maintain.services.unit import Desk
from tests.conftest import Run
from tests.pond import SERVO


@pytest.fixture(autouse=True)
def fitted(run: Run, pond: Desk) -> None:
    """Ana's kobu is in Halberd since May; dilo lies in the pool."""
    own = ("--owner", "Ana", "--into", SERVO, "--from", "2026-05-01")
    run("part", "add", "--family", "standard", "--tag", "kobu", *own)
    run("part", "add", "--family", "standard", "--tag", "dilo", "--acquired", "2026-01-01")


def _failures(run: Run) -> list[Any]:
    return run("failure", "list", "--json").json["rows"]


def _sheet(run: Run) -> Any:
    return run("part", "show", "kobu", "--json").json


def test_a_pass_means_no_failure_found_and_the_part_goes_home(run: Run) -> None:
    run("part", "pull", "kobu", "--reason", "suspect", "--mode", "erratic", "--until", "2026-05-20")
    answer = run("retest", "kobu", "pass")
    assert answer.stdout.startswith("kobu retested on 2026-06-01: no failure found; it is now with Ana\n")
    assert _sheet(run)["suspicions"][0]["outcome"] == "no failure found"
    assert _failures(run) == []


def test_a_fail_condemns_the_part_as_of_its_withdrawal(run: Run) -> None:
    run("part", "pull", "kobu", "--reason", "suspect", "--mode", "erratic", "--until", "2026-05-20")
    assert run("retest", "kobu", "fail", "--cause", "wear").exit_code == 0
    assert _sheet(run)["where"] == "scrapped"
    (failure,) = _failures(run)
    told = (failure["found_on"], failure["mode"], failure["cause"], failure["position"], failure["found_by"])
    assert told == ("2026-05-20", "erratic", "wear", "rudder-servo", "bench")


def test_a_pass_takes_back_the_failure_logged_with_the_swap_and_undo_restores_it(run: Run) -> None:
    run("swap", SERVO, "--mode", "dead", "--cause", "water", "--to", "suspect")
    assert len(_failures(run)) == 1
    assert "no longer counts" in run("retest", "kobu", "pass").stdout
    assert _failures(run) == []
    assert run("undo").exit_code == 0
    assert len(_failures(run)) == 1 and _sheet(run)["where"] == "suspect"


def test_a_fail_does_not_count_the_failure_of_the_swap_twice(run: Run) -> None:
    run("swap", SERVO, "--mode", "dead", "--cause", "water", "--to", "suspect")
    assert run("retest", "kobu", "fail").exit_code == 0
    (failure,) = _failures(run)
    assert failure["cause"] == "water"


def test_a_failure_caused_by_one_that_never_was_stays_secondary(run: Run) -> None:
    run("swap", SERVO, "--mode", "dead", "--cause", "water", "--to", "suspect")
    run("part", "add", "--family", "pump", "--tag", "pomp", "--into", "halberd/pump")
    run("failure", "log", "pomp", "--mode", "dead", "--cause", "overload", "--secondary-to", "kobu")
    assert run("retest", "kobu", "pass").exit_code == 0
    (failure,) = run("part", "show", "pomp", "--json").json["failures"]
    assert failure["secondary"] is True
    assert _failures(run)[0]["secondary_to"] is None


def test_only_a_suspect_part_can_be_retested(run: Run) -> None:
    answer = run("retest", "kobu", "pass")
    assert answer.exit_code == 4 and "kobu is not suspect" in answer.stderr


def test_a_retest_before_the_suspicion_is_refused(run: Run) -> None:
    run("part", "pull", "kobu", "--reason", "suspect", "--mode", "erratic")
    answer = run("retest", "kobu", "pass", "--on", "2026-05-20")
    assert answer.exit_code == 4 and "only since 2026-06-01" in answer.stderr
