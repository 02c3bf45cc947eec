"""maintain reading: measured values of parts and positions."""

from __future__ import annotations

from typing import Any

import pytest

from maintain.services.unit import Desk
from tests.conftest import Run
from tests.pond import SERVO


@pytest.fixture(autouse=True)
def fitted(run: Run, pond: Desk) -> None:
    """Kobu was in Halberd until 20 May, dilo is there since."""
    run("part", "add", "--family", "standard", "--tag", "kobu", "--into", SERVO, "--from", "2026-05-01")
    run("part", "add", "--family", "standard", "--tag", "dilo", "--acquired", "2026-01-01")
    run("swap", SERVO, "--mode", "slow", "--cause", "wear", "--found", "2026-05-20")


def _readings(run: Run, *options: str) -> list[Any]:
    return run("reading", "list", *options, "--json").json["rows"]


def test_a_reading_belongs_to_the_position_and_the_part_in_it(run: Run) -> None:
    told = run("reading", "add", SERVO, "servo current", "250").stdout
    assert told == f"{SERVO}: servo current 250 mA on 2026-06-01\n"
    (row,) = _readings(run)
    assert (row["ship"], row["position"], row["part"], row["unit"]) == ("Halberd", "rudder-servo", "dilo", "mA")


def test_a_reading_of_an_earlier_day_belongs_to_the_part_of_that_day(run: Run) -> None:
    run("reading", "add", SERVO, "servo current", "250", "--on", "2026-05-10")
    assert _readings(run)[0]["part"] == "kobu"


def test_a_reading_of_a_part_belongs_to_where_it_was(run: Run) -> None:
    run("reading", "add", "kobu", "servo current", "250", "--on", "2026-05-10")
    run("reading", "add", "kobu", "servo current", "900")
    assert [row["position"] for row in _readings(run)] == [None, "rudder-servo"]


@pytest.mark.parametrize("value", ["nan", "inf", "-1"])
def test_what_no_instrument_shows_is_refused(run: Run, value: str) -> None:
    answer = run("reading", "add", "dilo", "servo current", "--", value)
    assert answer.exit_code == 4 and "can't be" in answer.stderr
    assert _readings(run) == []


def test_a_measure_has_its_own_unit(run: Run) -> None:
    answer = run("reading", "add", "dilo", "range", "60", "--unit", "m")
    assert answer.exit_code == 4 and "recorded in paces" in answer.stderr
    assert run("reading", "add", "dilo", "range", "60", "--unit", "Paces").exit_code == 0
    assert run("reading", "add", "dilo", "other", "-3.5", "--unit", "dB").exit_code in (0, 2)


def test_a_word_instead_of_a_number_is_a_usage_error(run: Run) -> None:
    assert run("reading", "add", "dilo", "range", "far").exit_code == 2
    assert run("reading", "add", "dilo", "smell", "3").exit_code == 2


def test_readings_can_be_narrowed(run: Run) -> None:
    run("reading", "add", SERVO, "servo current", "250")
    run("reading", "add", "gannet/pump", "pump seconds per litre", "9.5")
    assert [row["ship"] for row in _readings(run, "--ship", "gannet")] == ["Gannet"]
    assert [row["part"] for row in _readings(run, "--part", "dilo")] == ["dilo"]
    assert [row["value"] for row in _readings(run, "--measure", "pump")] == [9.5]


@pytest.mark.parametrize(
    ("measure", "value", "said"),
    [
        ("servo current", "21000", "servo current can't be 21000 mA"),
        ("pump seconds per litre", "0.4", "it lies between 1 and 600 s/L: read it again"),
        ("demand test", "0.5", "write 1 for passed, 0 for failed"),
    ],
)
def test_a_slip_of_the_hand_or_the_unit_is_refused(run: Run, measure: str, value: str, said: str) -> None:
    answer = run("reading", "add", "dilo", measure, value)
    assert answer.exit_code == 4 and said in answer.stderr
    assert _readings(run) == []


def test_a_reading_beyond_its_limit_is_recorded_and_told(run: Run) -> None:
    told = run("reading", "add", "dilo", "range", "30").stdout
    assert "30 paces is not at least 40 paces (a helper walks 40 to 50 paces off; common practice, no source)" in told
    assert _readings(run)[0]["value"] == 30
