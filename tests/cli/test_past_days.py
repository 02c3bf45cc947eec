"""What `due`, `ready` and `life renew` answer as of a past day, when other ships sailed with other parts aboard."""

from __future__ import annotations

from datetime import date, timedelta
from pathlib import Path

import pytest

from maintain.records import ship_layout
from maintain.services import demo
from maintain.services.lives.club import club_lives, fleet_of
from maintain.services.lives.history import history
from maintain.services.unit import Desk, reading
from tests.conftest import Run

FIRST, LAST = date(2024, 3, 1), demo.today()


def test_on_every_past_day_every_part_forecast_is_in_a_position_laid_out(demo_club: Path) -> None:
    day = FIRST
    while day <= LAST:
        with reading(Desk(str(demo_club), "tester", day)) as connection:
            past = history(connection, day)
            fleet = fleet_of(past, club_lives(past))
            laid_out = {row.id for row in ship_layout.positions(connection, day)}
        assert laid_out, day
        assert set(fleet.position_id.tolist()) <= laid_out, day
        day += timedelta(days=45)


@pytest.mark.parametrize("day", ["2024-10-01", "2026-05-01"])
def test_a_ship_now_in_dry_dock_is_looked_after_on_a_day_she_sailed(demo_club: Path, run: Run, day: str) -> None:
    answer = run("due", "--json", "--on", day, db=demo_club)
    assert answer.exit_code == 0, answer.stderr
    assert "Ironwhistle" in {line["ship"] for line in answer.json["lines"]}
    page = run("ready", "Ironwhistle", "--json", "--on", day, db=demo_club)
    assert page.exit_code == 0, page.stderr
    assert page.json["through"]["value"] is not None


@pytest.mark.slow
def test_due_answers_on_many_past_days(demo_club: Path, run: Run) -> None:
    for number in range(0, (LAST - FIRST).days, 60):
        day = (FIRST + timedelta(days=number)).isoformat()
        assert run("due", "--json", "--on", day, db=demo_club).exit_code == 0, day
