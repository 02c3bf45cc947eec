"""The trend of the demo club's readings against its stated truth."""

from __future__ import annotations

import json
from math import sqrt

import pytest

from maintain.results.readings import Series
from maintain.services import demo
from maintain.services.readings.judge import judged
from maintain.services.readings.limits import rules
from maintain.services.readings.stretches import stretches
from maintain.services.unit import reading

TRUTH = json.loads((demo.fleet_folder() / "truth.json").read_text(encoding="utf-8"))["pump_seconds_per_litre"]


@pytest.fixture(scope="module")
def pumps(tmp_path_factory: pytest.TempPathFactory) -> list[Series]:
    """All pumps with five readings or more between two changes of a motor."""
    desk = demo.build(tmp_path_factory.mktemp("demo") / "club.db", "tester")
    with reading(desk) as connection:
        known, found = rules(connection), stretches(connection, desk.today)[0]
    series = [judged(each, known, desk.today) for each in found if each.measure == "pump seconds per litre"]
    return [each for each in series if len(each.readings) >= 5]


def test_readings_scatter_about_their_lines_as_stated(pumps: list[Series]) -> None:
    lines = [(each.line, len(each.readings) - 2) for each in pumps if each.line]
    freedom = sum(df for _, df in lines)
    pooled = sqrt(sum(line.scatter**2 * df for line, df in lines) / freedom)
    assert freedom > 80
    # sinkings age a motor by leaps, which a straight line takes for scatter
    assert TRUTH["scatter"] * 0.85 < pooled < TRUTH["scatter"] * 1.3


def test_pumps_get_slower_as_their_motors_wear(pumps: list[Series]) -> None:
    slopes = [each.line.per_100_days.value for each in pumps if each.line]
    assert sum(slope > 0 for slope in slopes) / len(slopes) > 0.8
    sure = [each.line.per_100_days for each in pumps if each.line and not _may_be_none(each)]
    assert len(sure) >= 5
    assert all(each.value > 0 for each in sure)


def _may_be_none(series: Series) -> bool:
    assert series.line is not None
    change = series.line.per_100_days
    return bool(change.lower and change.upper and change.lower <= 0 <= change.upper)


def test_another_motor_makes_a_pump_faster(pumps: list[Series]) -> None:
    faster = []
    for before in pumps:
        of_it = [each for each in pumps if each.name == before.name and each.since > before.since]
        if of_it:
            after = min(of_it, key=lambda each: each.since)
            faster.append(before.readings[-1].value - after.readings[0].value)
    assert len(faster) >= 5
    assert sum(faster) / len(faster) > 2 * TRUTH["scatter"]
