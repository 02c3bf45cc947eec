"""What each failure cost, what to pool and what to standardise on, answered by the demo club in a line each."""

from __future__ import annotations

import io
from typing import Any

import pytest

from maintain.render.show import draw
from maintain.services import demo, spares_families
from maintain.services.pool import costs
from maintain.services.spell import Until
from maintain.services.unit import Desk


@pytest.fixture(scope="module")
def desk(tmp_path_factory: pytest.TempPathFactory) -> Desk:
    return demo.build(tmp_path_factory.mktemp("demo") / "club.db", "tester")


def _shown(result: Any) -> str:
    from rich.console import Console

    page = io.StringIO()
    draw(result, Console(file=page, width=200))
    return page.getvalue()


def test_what_did_each_failure_cost_the_club_this_year(desk: Desk) -> None:
    line = _shown(costs.costs(desk, costs.Asked())).splitlines()[0]
    assert line.startswith("From 2026-01-01 to 2026-09-20 failures cost 677.42 EUR (45 parts)")


def test_the_years_add_up_to_everything(desk: Desk) -> None:
    by_season = costs.costs(desk, costs.Asked(by="season"))
    assert sum(line.cents for line in by_season.lines) == by_season.total.cents
    alone = [costs.costs(desk, costs.Asked(season=int(line.name))).total for line in by_season.lines]
    assert [(each.cents, each.unpriced) for each in alone] == [(x.cents, x.unpriced) for x in by_season.lines]


@pytest.mark.parametrize("by", ["ship", "family", "captain"])
def test_however_they_are_summed_costs_are_the_same(desk: Desk, by: str) -> None:
    found = costs.costs(desk, costs.Asked(by=by))
    assert sum(line.cents for line in found.lines) == found.total.cents


def test_which_servo_family_to_standardise_on_and_which_parts_to_pool(desk: Desk) -> None:
    found = spares_families.families(desk, Until(), 0.95)
    shown = _shown(found)
    assert "Pool these first: regulator 8 bar, pump body 3.2 mm" in shown
    assert "Of servos for steering, bilge: can't tell yet which to standardise on" in shown
    assert "One family in place of" in shown
    (servos,) = [each for each in found.groups if each.families == ("metal-gear servo", "standard servo")]
    assert servos.saved > 0
    assert servos.positions == servos.shared_positions
