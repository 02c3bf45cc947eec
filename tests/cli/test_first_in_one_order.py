"""What to do first, as `due` and `ready` say it: one order, one wording, and running everything once among it."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from maintain.services import demo
from maintain.services.unit import Desk
from tests.conftest import Answer, Run, told
from tests.pond import sail

TODAY = ("--on", demo.today().isoformat())


def first(answer: Answer) -> str:
    return next(line for line in told(answer).stdout.splitlines() if line.startswith("First: "))


@pytest.mark.parametrize("ship", ["Orrisholt", "Corvane", "Quillhaven"])
def test_due_and_ready_say_the_same_of_a_ship(demo_club: Path, run: Run, ship: str) -> None:
    said = first(run("due", "--ship", ship, *TODAY, db=demo_club))
    assert said == first(run("ready", ship, *TODAY, db=demo_club))
    assert "renew " not in said.replace("renewed", "")
    tonight: Any = told(run("ready", ship, "--json", *TODAY, db=demo_club)).json["tonight"]
    gains = [round(deed["after"] - deed["before"], 3) for deed in tonight]
    assert gains == sorted(gains, reverse=True)
    places = [said.index(deed["part"] or deed["action"]) for deed in tonight]
    assert places == sorted(places)
    if "task" in said:
        assert said.index("task") > places[-1]


def test_running_everything_once_is_offered_where_it_buys_most(demo_club: Path, run: Run) -> None:
    page = told(run("ready", "Orrisholt", "--json", *TODAY, db=demo_club)).json
    best = page["tonight"][0]
    assert (best["action"], best["position"], best["part"]) == ("run everything once", None, None)
    assert page["through"]["value"] == best["before"] < best["after"] < 1
    fleet = told(run("due", "--json", *TODAY, db=demo_club)).json
    gains = [each["after"] - each["before"] for each in fleet["runs"]]
    assert gains == sorted(gains, reverse=True)
    assert next(each for each in fleet["runs"] if each["ship"] == "Orrisholt") == best
    assert not any(each["part"] is None for each in fleet["tonight"])
    assert "run everything once on every ship (most on " in first(run("due", *TODAY, db=demo_club))


def test_the_fleet_is_told_which_part_comes_after_running_everything(demo_club: Path, run: Run) -> None:
    ships = told(run("ready", "--fleet", "--json", *TODAY, db=demo_club)).json["ships"]
    line = next(each for each in ships if each["ship"] == "Orrisholt")
    assert (line["best"]["part"], line["best_part"]["part"]) == (None, "LB25")
    shown = told(run("ready", "--fleet", *TODAY, db=demo_club, columns=250)).stdout
    assert "run everything once; replace it: main-battery" in shown


def test_what_was_seen_to_work_today_need_not_be_run_tonight(run: Run, pond: Desk) -> None:
    told(run("battle", "add", "Midsummer", "--from", "2026-06-20", "--planned-sorties", "4"))
    told(run("ship", "add", "Plover", "--like", "cruiser", "--since", "2026-01-01"))
    of = ("--family", "standard servo", "--tag", "S-01", "--origin", "new")
    told(run("part", "add", *of, "--into", "Plover/rudder-servo", "--from", "2026-03-01"))
    sail(pond, "plover=W1")
    assert told(run("due", "--json")).json["runs"] == []
    later = told(run("ready", "Plover", "--json", "--on", "2026-06-12")).json["tonight"]
    assert [deed["action"] for deed in later] == ["run everything once"]


def test_of_one_system_or_less_time_than_it_takes_no_run_is_offered(demo_club: Path, run: Run) -> None:
    for words in (("--system", "steering"), ("--hours", "0.1")):
        assert told(run("due", *words, "--json", *TODAY, db=demo_club)).json["runs"] == []


def test_the_reasons_of_a_fleet_are_short_and_those_of_a_ship_name_every_part(demo_club: Path, run: Run) -> None:
    lines = told(run("due", *TODAY, db=demo_club, columns=2000)).stdout.splitlines()
    reasons = [line for line in lines if ": replace it" in line or ": carry a spare;" in line]
    assert reasons
    assert max(map(len, lines)) < 500
    assert any(" parts (" in line and " more): " in line for line in reasons)
    assert "maintain due --ship NAME" in "\n".join(lines)
    page = told(run("due", "--ship", "Orrisholt", "--json", *TODAY, db=demo_club)).json
    shown = told(run("due", "--ship", "Orrisholt", *TODAY, db=demo_club, columns=2000)).stdout
    reasons = [line for line in shown.splitlines() if ": replace it" in line or ": carry a spare;" in line]
    for line in page["lines"]:
        if line["failing"] and line["advice"] in ("replace", "carry a spare"):
            assert any(line["position"] in each.partition(": ")[0].split(", ") for each in reasons)
