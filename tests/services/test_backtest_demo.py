"""The demo club graded: what was forecast of all its battles, against what happened and against simpler forecasts."""

from __future__ import annotations

from pathlib import Path

import pytest

from maintain.results.trust import Backtest
from maintain.services import demo
from maintain.services.backtest import backtest


@pytest.mark.slow
def test_the_forecasts_of_the_demo_club_are_believable_and_beat_both_rivals(tmp_path: Path) -> None:
    graded = backtest(demo.build(tmp_path / "club.db", "tester"))
    assert len(graded.battles) > 35
    assert graded.believable
    for rival in graded.rivals:
        assert rival.log_skill is not None
        assert rival.log_skill.lower > 0, rival.name
        assert rival.skill is not None
        assert rival.skill.value > 0, rival.name


def test_the_same_records_are_graded_alike_each_time(tmp_path: Path) -> None:
    desk = demo.build(tmp_path / "club.db", "tester")
    told: list[str] = []
    graded: list[Backtest] = [backtest(desk, 2, lambda name, _: told.append(name)) for _ in range(2)]
    assert graded[0] == graded[1]
    assert told.count("Harvest 2026") == 2
