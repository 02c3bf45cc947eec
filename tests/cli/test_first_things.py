"""What is to be done before anything a forecast says: fit what is empty, test what nobody ever tested."""

from __future__ import annotations

import pytest

from maintain.services.unit import Desk
from tests.conftest import Run, told
from tests.pond import sail


@pytest.fixture
def ask(run: Run, pond: Desk) -> Run:
    """Ships in which only a servo and a float switch are fitted; they have sailed, no switch was ever tested."""
    told(run("battle", "add", "Midsummer", "--from", "2026-06-20", "--planned-sorties", "4"))
    told(run("family", "add", "float switch", "--category", "switch", "--hidden"))
    for name in ("Plover", "Knot"):
        told(run("ship", "add", name, "--like", "battleship", "--since", "2026-01-01"))
        for family, place in (("standard servo", "rudder-servo"), ("float switch", "float-switch")):
            of = ("--family", family, "--tag", f"{name}-{place}", "--origin", "new")
            told(run("part", "add", *of, "--into", f"{name}/{place}", "--from", "2026-03-01"))
    sail(pond, "plover=W1", "knot=W0")
    return run


def test_empty_vital_positions_are_said_first(ask: Run) -> None:
    for words in (("due", "--ship", "Plover"), ("ready", "Plover")):
        first = told(ask(*words)).stdout.splitlines()[1]
        assert first.startswith("First: fit what she can't do without: ")
        assert "main-battery" in first
    due = told(ask("due", "--ship", "Plover", "--json")).json
    assert {"main-battery", "pump", "receiver"} <= set(due["empty"])
    assert "bottle" not in due["empty"]  # it only weakens her
    assert "rudder-servo" not in due["empty"]
    assert told(ask("ready", "Plover", "--json")).json["missing"] == due["empty"]
    assert "Knot/pump" in told(ask("due", "--json")).json["empty"]
    assert told(ask("due", "--ship", "Plover", "--system", "steering", "--json")).json["empty"] == []


def test_of_a_bank_only_what_it_lacks_is_missing(ask: Run) -> None:
    screws = {"port-drive-motor", "starboard-drive-motor"}
    assert screws <= set(told(ask("due", "--ship", "Plover", "--json")).json["empty"])
    told(ask("family", "add", "drive motor", "--category", "motor"))
    told(ask("part", "add", "--family", "drive motor", "--tag", "M-01", "--into", "Plover/port-drive-motor"))
    assert not screws & set(told(ask("due", "--ship", "Plover", "--json")).json["empty"])  # one of two is enough


def test_what_nobody_ever_tested_is_listed_though_nothing_can_be_forecast(ask: Run) -> None:
    shown = told(ask("due")).stdout
    assert "fit what ships can't do without: 12 positions of Gannet, " in shown.splitlines()[1]
    assert "test what nobody ever tested: Plover/float-switch, Knot/float-switch" in shown.splitlines()[1]
    assert "(2 more have no forecast)" in shown
    assert "2 never on record" in shown
    due = told(ask("due", "--json")).json
    tests = [line for line in due["lines"] if line["advice"] == "test"]
    assert {line["part"]: line["failing"] for line in tests} == {
        "Knot-float-switch": None,
        "Plover-float-switch": None,
    }
    assert (due["considered"], due["fitted"]) == (2, 4)
    note = next(line for line in due["notes"] if line.startswith("none was ever tested"))
    assert "maintain reading add SHIP/POSITION 'demand test' 1" in note
    assert "never on record" in told(ask("due", "--ship", "Knot")).stdout
    ready = told(ask("ready", "Knot", "--json")).json
    assert ready["untested"] == ["float-switch (Knot-float-switch)"]
    assert ready["silent"] == []
    assert "none was ever tested: float-switch" in told(ask("ready", "Knot")).stdout


def test_what_nobody_ever_tested_is_explained_by_how_to_test_it(ask: Run) -> None:
    answer = ask("due", "--explain", "Knot/float-switch")
    assert answer.exit_code == 5
    assert "none of the switches was ever tested" in answer.stderr
    assert "'demand test' 1" in answer.stderr


def test_the_others_are_forecast_once_one_of_them_was_tested(ask: Run) -> None:
    told(ask("reading", "add", "Knot/float-switch", "demand test", "1", "--on", "2026-05-30"))
    tests = [line for line in told(ask("due", "--json")).json["lines"] if line["advice"] == "test"]
    assert all(line["failing"] is not None for line in tests)
    assert len(tests) == 2
