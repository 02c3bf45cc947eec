"""`--on` shows the records as they stood on a day, and a part's days of service are counted in one way."""

from __future__ import annotations

from typing import Any

import pytest

from maintain.services.unit import Desk
from tests.conftest import Run

SERVO = "halberd/rudder-servo"


@pytest.fixture
def told(pond: Desk, run: Run) -> Run:
    """Old served from 1 April to 24 May; New, bought in January, since then; a sinking in May; dry dock in June."""
    lines = (
        f"part add --family standard --tag Old --origin new --into {SERVO} --from 2026-04-01",
        "part add --family standard --tag New --origin new --acquired 2026-01-10",
        "sortie log halberd=W1 --day 2026-04-10",
        "sortie log halberd=W3:damage:4min --day 2026-05-10",
        "method add grease",
        "part treat Old grease --done 2026-05-11",
        f"reading add {SERVO} servo-current 180 --on 2026-05-12",
        f"swap {SERVO} --with New --mode dead --cause water --found 2026-05-24",
    )
    for line in lines:
        answer = run(*(word.replace("servo-current", "servo current") for word in line.split()))
        assert answer.exit_code == 0, answer.stderr
    assert run("ship", "state", "halberd", "dry dock", "--since", "2026-05-30").exit_code == 0
    return run


def _line(run: Run, *words: str) -> Any:
    page = run("show", "halberd", "--json", *words).json
    return page, next(line for line in page["lines"] if line["position"] == "rudder-servo")


def test_days_of_service_end_with_the_part_and_leave_out_the_pool(told: Run) -> None:
    gone = told("part", "show", "Old", "--json", "--on", "2026-11-25").json
    assert gone["use"]["days"] == 53  # 1 April to 24 May
    assert told("part", "show", "New", "--json").json["use"]["days"] == 8  # 24 May to 1 June, none of the pool's


def test_the_part_and_its_ship_count_the_same_days(told: Run) -> None:
    _, line = _line(told)
    assert line["days"] == told("part", "show", SERVO, "--json").json["use"]["days"] == 8


def test_rubber_ages_in_the_pool_too(pond: Desk, run: Run) -> None:
    run("family", "add", "gasket", "--category", "seal", "--ages-on-shelf")
    run("part", "add", "--family", "gasket", "--tag", "G1", "--origin", "new", "--acquired", "2026-05-01")
    assert run("part", "show", "G1", "--json").json["use"]["days"] == 31


@pytest.mark.parametrize(("start", "days"), [("2026-03", 62), ("2025", 152), ("before 2026-03-01", 92)])
def test_at_least_counts_from_the_latest_day_it_can_have_been(run: Run, pond: Desk, start: str, days: int) -> None:
    run("part", "add", "--family", "standard", "--tag", "A", "--origin", "new", "--into", SERVO, "--from", start)
    assert f"Use: at least {days} days" in run("part", "show", "A").stdout


def test_a_ship_is_shown_as_she_stood_on_a_day(told: Run) -> None:
    page, line = _line(told, "--on", "2026-05-11")
    assert (line["tag"], line["days"], line["sorties"], line["immersions"]) == ("Old", 40, 2, 1)
    assert (line["treatment"], line["reading"]) == ("grease (2026-05-11)", None)
    assert page["seasons"] == [[2026, 2, 1]]
    assert (page["state"], page["state_since"]) == (None, None)
    before, line = _line(told, "--on", "2026-03-31")
    assert (line["tag"], before["seasons"]) == (None, [])


def test_a_part_is_shown_as_it_stood_on_a_day(told: Run) -> None:
    sheet = told("part", "show", SERVO, "--json", "--on", "2026-05-09").json
    assert (sheet["tag"], sheet["use"]["days"], sheet["use"]["sorties"]) == ("Old", 38, 1)
    assert sheet["failures"] == sheet["treatments"] == sheet["readings"] == []
    assert sheet["places"] == [{"where": "Halberd/rudder-servo", "from": "2026-04-01", "until": None, "reason": None}]


def test_lists_are_told_as_of_a_day(told: Run) -> None:
    def rows(*words: str) -> list[Any]:
        return told(*words, "--json", "--on", "2026-03-01").json["rows"]

    [spare] = rows("part", "list")
    assert (spare["tag"], spare["where"]) == ("New", "in the pool")
    assert {row["tag"] for row in rows("position", "list")} == {None}
    [servo] = [row for row in rows("family", "list") if row["name"] == "standard servo"]
    assert (servo["installed"], servo["pool"]) == (0, 1)
    halberd = next(row for row in rows("ship", "list") if row["name"] == "Halberd")
    assert (halberd["sorties"], halberd["last_sailed"], halberd["fitted"], halberd["state"]) == (0, None, 0, None)
