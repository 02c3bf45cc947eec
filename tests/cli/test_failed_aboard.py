"""A part that failed and was left aboard is not forecast as working: it is the first thing said, until it is out."""

from __future__ import annotations

from typing import Any

import pytest

from maintain.services.unit import Desk
from tests.conftest import Run, told
from tests.pond import sail, send_plover

WHERE = "Plover/rudder-servo"


@pytest.fixture
def ask(run: Run, pond: Desk) -> Run:
    """Asks of a ship with a battle ahead."""
    send_plover(run, pond)
    return run


def die(run: Run, mode: str = "dead", *more: str) -> None:
    told(run("failure", "log", WHERE, "--mode", mode, "--cause", "wear", "--to", "stays", *more))


def steering(run: Run, *more: str) -> Any:
    ready = told(run("ready", "Plover", "--json", *more)).json
    return next(line for line in ready["systems"] if line["system"] == "steering")["works"]["value"]


def test_its_system_does_not_work(ask: Run) -> None:
    assert steering(ask) > 0.5
    die(ask)
    assert steering(ask) == 0
    shown = told(ask("ready", "Plover")).stdout.splitlines()
    assert shown[1].startswith("rudder-servo: S-01 is dead and aboard")
    assert "maintain swap Plover/rudder-servo" in shown[1]
    assert "1 failed and aboard" in told(ask("ready", "--fleet")).stdout


def test_it_is_the_first_line_of_what_is_due_and_no_forecast(ask: Run) -> None:
    die(ask)
    shown = told(ask("due", "--ship", "Plover")).stdout.splitlines()
    assert shown[1].startswith("rudder-servo: S-01 is dead and aboard")
    due = told(ask("due", "--json", "--all")).json
    assert [(line["part"], line["first"], line["failing"]) for line in due["lines"] if line["part"] == "S-01"] == [
        ("S-01", True, None)
    ]
    why = told(ask("due", "--explain", "S-01")).stdout
    assert "having worked" not in why
    assert "S-01 is dead and aboard" in why


@pytest.mark.parametrize("mode", ["erratic", "jams", "just died"])
def test_a_failure_of_any_mode_is_not_relied_upon(ask: Run, mode: str) -> None:
    die(ask, mode)
    assert steering(ask) == 0
    assert mode in told(ask("ready", "Plover")).stdout.splitlines()[1]


def test_a_mistake_of_the_operator_is_no_fault_of_the_part(ask: Run) -> None:
    die(ask, "operator")
    assert steering(ask) > 0.5


def test_a_test_failed_by_demand_is_enough(ask: Run) -> None:
    told(ask("reading", "add", WHERE, "demand test", "0"))
    assert steering(ask) == 0
    assert "S-01 failed its demand test and is aboard" in told(ask("due")).stdout


def test_it_stands_open_in_the_check_and_on_the_board(ask: Run) -> None:
    die(ask)
    page = told(ask("check", "show", "Plover", "--json")).json
    assert "rudder-servo: S-01 is dead and aboard" in page["open_items"]
    assert "open: rudder-servo: S-01 is dead and aboard" in told(ask("check", "show", "Plover")).stdout
    [line] = [row for row in told(ask("check", "fleet", "--json")).json["rows"] if row["ship"] == "Plover"]
    assert line["failed_aboard"] == 1
    assert "S-01 is dead and aboard" in line["what"]


def test_a_test_passed_later_says_that_it_was_mended_be_it_on_the_same_day(ask: Run) -> None:
    told(ask("reading", "add", WHERE, "demand test", "1"))
    die(ask)
    assert steering(ask) == 0  # the test had come before
    told(ask("reading", "add", WHERE, "demand test", "1"))
    assert steering(ask) > 0.5


def test_a_part_taken_out_and_put_back_was_mended_and_one_swapped_is_gone(ask: Run) -> None:
    die(ask, "dead", "--on", "2026-05-30")
    told(ask("part", "pull", "S-01", "--to", "pool", "--on", "2026-05-31"))
    told(ask("part", "install", "S-01", WHERE, "--on", "2026-06-01"))
    assert steering(ask) > 0.5


def test_sailing_does_not_show_that_it_works_again(ask: Run, pond: Desk) -> None:
    die(ask, "dead", "--on", "2026-05-30")
    sail(pond, "plover=W1")
    assert steering(ask) == 0


def test_a_part_without_any_forecast_counts_as_failed_all_the_same(ask: Run) -> None:
    told(ask("family", "add", "receiver A", "--category", "receiver"))
    told(ask("part", "add", "--family", "receiver A", "--tag", "R-01", "--into", "Plover/receiver"))
    told(ask("reading", "add", "Plover/receiver", "demand test", "0"))
    ready = told(ask("ready", "Plover", "--json")).json
    assert ready["through"]["value"] == 0
    assert ready["silent"] == []
    explained = ask("due", "--explain", "R-01")
    assert explained.exit_code == 5
    assert "R-01 failed its demand test and is aboard" in explained.stderr
    assert "maintain swap Plover/receiver" in explained.stderr
