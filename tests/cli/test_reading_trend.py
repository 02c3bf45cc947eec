"""maintain reading trend: where readings are heading, and what it makes due."""

from __future__ import annotations

import csv
import io
import json
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import pytest
import sqlalchemy as sa

from maintain.core.reading_line import fit_line, line_at, slope_limits
from maintain.records import tables as t
from maintain.services.unit import Desk, writing
from tests.conftest import TODAY, Run

PUMP = "gannet/pump"
SLOW = "pump seconds per litre"
FITTED = date(2026, 1, 1)
# Rises 4 s/L in 100 days; by hand: the line through them meets 30 s/L between the last and the battle of June.
RISING = {0: "23.1", 30: "24.1", 60: "25.4", 90: "26.7", 120: "27.7", 148: "29.0"}


@pytest.fixture(autouse=True)
def fitted(run: Run, pond: Desk) -> None:
    """Pump P-1 in Gannet since New Year, P-2 in the pool, and a motor that turns it."""
    run("part", "add", "--family", "pump", "--tag", "P-1", "--into", PUMP, "--from", str(FITTED))
    run("part", "add", "--family", "pump", "--tag", "P-2", "--acquired", "2026-01-01")
    run("family", "add", "pump motor", "--category", "motor")
    run("position", "add", "gannet/pump-motor", "--system", "pumping", "--zone", "bilge")
    run("part", "add", "--family", "pump motor", "--tag", "M-1", "--into", "gannet/pump-motor", "--from", str(FITTED))


def measure(run: Run, values: dict[int, str], of: str = PUMP, what: str = SLOW) -> None:
    """Readings by the age of the pump in days."""
    for age, value in values.items():
        answer = run("reading", "add", of, what, value, "--on", str(FITTED + timedelta(days=age)))
        assert answer.exit_code == 0, answer.stderr


def trend(run: Run, *options: str) -> Any:
    return run("reading", "trend", *options, "--json").json


def one(run: Run, *options: str) -> Any:
    (series,) = trend(run, *options)["series"]
    return series


def test_the_line_is_told_with_its_interval_and_the_day_it_meets_the_limit(run: Run) -> None:
    measure(run, RISING)
    found = one(run, PUMP)
    line = fit_line(list(RISING), [float(each) for each in RISING.values()])
    slope = slope_limits(line)
    change = found["line"]["per_100_days"]
    assert (change["value"], change["lower"], change["upper"]) == pytest.approx(
        (100 * slope.value, 100 * slope.lower, 100 * slope.upper)
    )
    assert found["verdict"] == "heads for it"
    meets = {key: date.fromisoformat(day) for key, day in found["meets"].items()}
    assert meets["earliest"] < meets["on"] < meets["latest"]
    assert line_at(line, (meets["on"] - FITTED).days).value == pytest.approx(30, abs=0.03)
    told = run("reading", "trend", PUMP).stdout
    assert f"its line meets 30 s/L about {meets['on']} ({meets['earliest']} to {meets['latest']})" in told
    assert "days are counted from 2026-01-01: fitted then" in told
    assert "a litre in 20 to 30 s a unit; common practice, no source" in told


def test_a_pump_is_told_in_holes(run: Run) -> None:
    measure(run, {0: "20"})
    flow = one(run, PUMP)["flow"]
    # 3 L/min over 0.41 and 0.84 L/min (Cd 0.62, 25 mm deep)
    assert [(each["diameter_mm"], each["holes"]) for each in flow["holes"]] == [(4.5, 7), (6.4, 3)]
    assert [each["holes"] for each in flow["at_limit"]] == [4, 2]
    deep = one(run, PUMP, "--hole-mm", "4.5", "--depth-mm", "100")["flow"]["holes"]
    assert [(each["depth_mm"], each["holes"]) for each in deep] == [(100, 3)]
    assert "throws 3 L/min by its last reading: 7 holes of 4.5 mm" in run("reading", "trend", PUMP).stdout
    answer = run("reading", "trend", PUMP, "--depth-mm", "0")
    assert answer.exit_code == 4 and "a depth of 0 mm lets no water in" in answer.stderr


def test_a_part_that_was_swapped_starts_anew(run: Run) -> None:
    measure(run, RISING)
    run("swap", PUMP, "--with", "P-2", "--mode", "slow", "--cause", "wear", "--found", "2026-05-30")
    run("reading", "add", PUMP, SLOW, "18.4", "--on", "2026-05-31")
    now, before = trend(run, PUMP)["series"]
    assert (now["part"], now["current"], now["verdict"], len(now["readings"])) == ("P-2", True, "too few", 1)
    assert (before["part"], before["current"], before["verdict"]) == ("P-1", False, "former")
    assert before["meets"] is None
    assert "of a part swapped since" in run("reading", "trend", PUMP).stdout
    assert [each["part"] for each in trend(run, "gannet")["series"]] == ["P-2"]
    everything = trend(run)
    assert [each["part"] for each in everything["series"]] == ["P-2"]
    assert "6 readings are of parts swapped" in everything["notes"][0]
    assert [each["part"] for each in trend(run, "p-1")["series"]] == ["P-1"]


def test_another_motor_starts_a_pump_anew(run: Run) -> None:
    measure(run, {0: "24", 50: "26", 100: "28"})
    run("part", "pull", "M-1", "--until", "2026-04-20")
    run("part", "add", "--family", "pump motor", "--tag", "M-2", "--into", "gannet/pump-motor", "--from", "2026-04-20")
    measure(run, {115: "19", 130: "19.2"})
    now, before = trend(run, PUMP)["series"]
    assert (now["since"], now["because"]) == ("2026-04-20", "the pump-motor was changed then")
    assert [each["value"] for each in now["readings"]] == [19, 19.2]
    assert len(before["readings"]) == 3 and not before["current"]


def test_the_same_motor_put_back_changes_nothing(run: Run) -> None:
    measure(run, {0: "24", 50: "26"})
    run("part", "pull", "M-1", "--until", "2026-03-01")
    run("part", "install", "M-1", "gannet/pump-motor", "--from", "2026-03-02")
    measure(run, {100: "28"})
    assert len(one(run, PUMP)["readings"]) == 3


def test_a_capacity_goes_with_its_battery_and_is_held_against_its_first(run: Run) -> None:
    run("family", "add", "lead 6 V", "--category", "battery")
    for ship in ("gannet", "halberd"):
        run("position", "add", f"{ship}/battery", "--system", "propulsion", "--zone", "sealed box")
    run("part", "add", "--family", "lead 6 V", "--tag", "B-1", "--into", "gannet/battery", "--from", str(FITTED))
    measure(run, {0: "4000", 40: "3700"}, "B-1", "battery capacity")
    run("part", "pull", "B-1", "--until", "2026-03-01")
    run("part", "install", "B-1", "halberd/battery", "--from", "2026-03-02")
    measure(run, {100: "3300"}, "B-1", "battery capacity")
    found = one(run, "B-1")
    assert (found["ship"], len(found["readings"]), found["limit"]["value"]) == ("Halberd", 3, 3200)
    assert found["limit"]["source"] == "80 % of its first 4000 mAh; common practice, no source"
    added = run("reading", "add", "B-1", "battery capacity", "3100")
    assert "3100 mAh is not at least 3200 mAh" in added.stdout
    assert one(run, "halberd/battery")["verdict"] == "beyond"


def test_readings_that_may_not_rise_are_not_foretold(run: Run) -> None:
    measure(run, {0: "20", 40: "23", 80: "19.5", 120: "22"})
    found = one(run, PUMP)
    assert (found["verdict"], found["meets"]["on"]) == ("can't tell", None)
    assert "can't tell yet: rises or falls" in found["told"]


def test_readings_that_never_change_head_nowhere(run: Run) -> None:
    measure(run, {0: "20", 40: "20", 80: "20", 120: "20"})
    found = one(run, PUMP)
    assert (found["line"]["per_100_days"]["value"], found["verdict"]) == (0, "can't tell")
    assert date.fromisoformat(found["meets"]["earliest"]) > TODAY
    assert "it does not meet 30 s/L before" in found["told"]


def test_a_pump_that_gets_better_moves_away(run: Run) -> None:
    measure(run, {0: "26", 40: "24.1", 80: "21.9", 120: "20"})
    assert one(run, PUMP)["verdict"] == "away from it"


@pytest.mark.parametrize("values", [{0: "20"}, {0: "20", 10: "21"}])
def test_fewer_than_three_readings_tell_nothing(run: Run, values: dict[int, str]) -> None:
    measure(run, values)
    found = one(run, PUMP)
    assert (found["verdict"], found["line"]) == ("too few", None)
    assert "a line needs 3 readings" in found["told"]


def test_three_readings_of_one_day_are_no_line_but_two_of_a_day_are_both_counted(run: Run) -> None:
    for value in ("20", "21", "22"):
        measure(run, {0: value})
    assert "all readings are of one day" in one(run, PUMP)["told"]
    measure(run, {90: "24"})
    assert one(run, PUMP)["line"] is not None and len(one(run, PUMP)["readings"]) == 4


def _import(desk: Desk, day: str, value: float, **more: Any) -> None:
    """A reading as a file may bring it, held to no rule of the commands."""
    with writing(desk, "test") as recorder:
        part = recorder.connection.execute(sa.select(t.part).where(t.part.c.tag == "P-1")).one()
        position = recorder.connection.execute(sa.select(t.position).where(t.position.c.name == "pump")).all()[-1]
        facts = {"part_id": part.id, "position_id": position.id, "measure": SLOW, "unit": "s/L", **more}
        recorder.insert(t.reading, **facts, value=value, taken_on=date.fromisoformat(day))


def test_readings_of_before_the_fitting_and_of_the_future_are_left_out_and_named(run: Run, pond: Desk) -> None:
    measure(run, {0: "20"})
    _import(pond, "2025-06-01", 35.0)
    _import(pond, "2027-01-01", 40.0)
    answer = trend(run, PUMP)
    assert [each["value"] for each in answer["series"][0]["readings"]] == [20]
    assert {each["reason"]: each["n"] for each in answer["excluded"]} == {
        f"taken after {TODAY}": 1,
        "taken before the part was fitted there": 1,
    }
    told = run("reading", "trend", PUMP).stdout
    assert "1 of 3 readings left out: taken before the part was fitted there (P-1)" in told


@pytest.mark.parametrize("value", [0.0, 1e308])
def test_an_absurd_value_from_a_file_is_left_out_and_named(run: Run, pond: Desk, value: float) -> None:
    measure(run, RISING)
    before = one(run, PUMP)["told"]
    _import(pond, "2026-03-01", value)
    answer = trend(run, PUMP)
    assert answer["series"][0]["told"] == before
    assert [(each["n"], each["of"]) for each in answer["excluded"]] == [(1, 7)]
    assert "no such value can be meant" in answer["excluded"][0]["reason"]


def test_of_a_position_with_no_part_the_readings_are_its_own(run: Run) -> None:
    added = run("reading", "add", "halberd/pump", SLOW, "21")
    assert "nothing was fitted in Halberd/pump on 2026-06-01" in added.stdout
    found = one(run, "halberd/pump")
    assert (found["part"], found["because"]) == (None, "its first reading; when it was fitted is not known")


def test_gas_comes_with_its_caution(run: Run) -> None:
    run("family", "add", "regulator A", "--category", "regulator")
    run("position", "add", "gannet/regulator", "--system", "gas", "--zone", "dry deck")
    run("part", "add", "--family", "regulator A", "--tag", "R-1", "--into", "gannet/regulator", "--from", "2026-01-01")
    measure(run, {0: "0.1", 30: "0.4", 60: "0.8"}, "R-1", "regulator creep")
    told = run("reading", "trend", "R-1").stdout
    assert "caution: gas: shut the bottle, bleed" in told
    assert "nobody set a limit" in told
    assert not {"safe", "certified"} & set(told.split())


def test_a_table_for_the_fleet_and_csv_for_files(run: Run) -> None:
    measure(run, RISING)
    measure(run, {0: "20"}, "halberd/pump")
    told = run("reading", "trend").stdout
    assert "Gannet/pump" in told and "Halberd/pump" in told
    run("reading", "add", "halberd/rudder-servo", "servo current", "250")
    told = run("reading", "trend").stdout
    assert "Gannet/pump" in told and "4 or 2" in told
    assert "1 more with too few readings for a line; name a ship" in told
    assert "1 more of measures nobody set a limit for" in told and "Halberd" not in told
    rows = list(csv.DictReader(io.StringIO(run("reading", "trend", "--csv").stdout)))
    assert [(row["Part"], row["Verdict"]) for row in rows] == [
        ("P-1", "heads for it"),
        ("", "too few"),
        ("", "no limit"),
    ]


def test_it_is_drawn_in_the_terminal_and_to_a_file(run: Run, tmp_path: Path) -> None:
    measure(run, RISING)
    told = run("reading", "trend", PUMP, "--picture", columns=80).stdout
    assert "days since 2026-01-01" in told and "x reading" in told
    drawn = tmp_path / "pump.svg"
    assert json.loads(run("reading", "trend", PUMP, "--plot", drawn, "--json").stdout)["plot"] == str(drawn)
    assert "<svg" in drawn.read_text(encoding="utf-8")
    answer = run("reading", "trend", "halberd", "--plot", drawn)
    assert answer.exit_code == 4 and "0 series of readings" in answer.stderr


@pytest.mark.parametrize(
    ("words", "code", "said"),
    [
        (("nobody",), 3, "no part or ship called 'nobody'"),
        (("gannet/nowhere",), 3, "no position on Gannet called 'nowhere'"),
        (("--conf", "2"), 4, "--conf 2 is no confidence"),
        (("--measure", "smell"), 2, "is not one of"),
    ],
)
def test_bad_questions_get_a_sentence(run: Run, words: tuple[str, ...], code: int, said: str) -> None:
    answer = run("reading", "trend", *words)
    assert answer.exit_code == code and said in answer.stderr


def test_nothing_measured_says_how_to_begin(run: Run) -> None:
    assert "no readings of Gannet yet; add one with: maintain reading add" in run("reading", "trend", "gannet").stdout


def _due(run: Run, *options: str) -> list[Any]:
    lines = run("due", *options, "--json").json["lines"]
    return [line for line in lines if SLOW in line["action"]]


def test_a_line_that_meets_its_limit_before_the_battle_is_over_is_due(run: Run) -> None:
    measure(run, RISING)
    meets = date.fromisoformat(one(run, PUMP)["meets"]["on"])
    run("battle", "add", "Later", "--from", str(meets + timedelta(days=1)))
    run("battle", "add", "Sooner", "--from", str(meets - timedelta(days=1)))
    assert _due(run, "--battle", "Sooner") == []
    (line,) = _due(run, "--battle", "Later")
    assert (line["part"], line["due_on"], line["overdue"]) == ("P-1", str(meets), False)
    assert "6 readings" in line["why"] and f"about {meets}" in line["why"]
    step = [each for each in run("check", "show", "gannet", "--battle", "Later", "--json").json["steps"] if each["due"]]
    assert any(SLOW in told and f"about {meets}" in told for each in step for told in each["due"])


def test_a_reading_beyond_its_limit_is_overdue_until_it_is_measured_better(run: Run) -> None:
    measure(run, {140: "33"})
    run("battle", "add", "June", "--from", "2026-06-10")
    (line,) = _due(run)
    assert (line["due_on"], line["overdue"], line["action"]) == (
        "2026-05-21", True, f"put right and measure again: {SLOW}",
    )  # fmt: skip
    assert line["why"] == "33 s/L on 2026-05-21 is not at most 30 s/L"
    measure(run, {145: "22"})
    assert _due(run) == []


def test_a_line_already_past_its_limit_asks_for_another_reading_today(run: Run) -> None:
    measure(run, {0: "26", 30: "27.1", 60: "28.4", 90: "29.4", 118: "29.9"})
    run("battle", "add", "June", "--from", "2026-06-10")
    (line,) = _due(run)
    assert (line["due_on"], line["overdue"]) == (str(TODAY), False)
    assert "though 29.9 s/L on 2026-04-29 keeps it" in line["why"]


def test_a_ship_in_dry_dock_is_not_asked_of(run: Run) -> None:
    measure(run, {140: "33"})
    run("battle", "add", "June", "--from", "2026-06-10")
    run("ship", "state", "gannet", "dry dock")
    assert _due(run) == []
