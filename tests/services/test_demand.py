"""Demand of counted stock and of families nobody has seen, and how lumpy it all is."""

from __future__ import annotations

from collections import namedtuple
from datetime import timedelta

import numpy as np
import pytest

from maintain.services.demand import Called
from maintain.services.demand_counted import CountedStock, counted_demand
from maintain.services.horizon import Horizon
from maintain.services.lumps import lumps
from maintain.services.spell import Spell
from tests.conftest import TODAY

Issue = namedtuple("Issue", "family moved_on quantity")
Battle = namedtuple("Battle", "from_on sorties calls")
DRAWS = 4000


def days_ahead(days: int) -> Spell:
    return Spell((Horizon(TODAY, TODAY + timedelta(days=days), 4, 1),))


ISSUES = [Issue("fuse", TODAY - timedelta(days=10 * i), 5) for i in range(36)]
KEPT = {"fuse": TODAY - timedelta(days=360)}


def test_demand_for_counted_stock_is_its_rate_of_issues_times_their_size() -> None:
    """36 issues of 5 in 360 days, 30 days ahead: 3 issues, 15 pieces; Jeffreys' half issue adds 1.4 %."""
    called = counted_demand(CountedStock(ISSUES, KEPT, []), days_ahead(30), DRAWS)["fuse"]
    assert called.demand.mean == pytest.approx(36.5 / 360 * 30 * 5, rel=0.03)
    assert set((called.counts % 5).ravel().tolist()) == {0}
    assert not called.guess


def test_counted_stock_is_not_forecast_from_less_time_than_lies_ahead() -> None:
    yesterday = {"fuse": TODAY - timedelta(days=1)}
    assert counted_demand(CountedStock([Issue("fuse", TODAY, 10)], yesterday, []), days_ahead(22), DRAWS) == {}


def test_new_counted_stock_leans_on_the_club_s_other_stock_and_is_called_a_guess() -> None:
    stock = CountedStock(ISSUES, KEPT | {"new fuse": TODAY - timedelta(days=5)}, [])
    called = counted_demand(stock, days_ahead(30), DRAWS)["new fuse"]
    assert called.guess
    assert "guess" in called.basis
    assert 0 < called.demand.mean < 3 * 36.5 / 360 * 30 * 5


def test_at_a_meet_stock_goes_at_the_pace_of_battle_days() -> None:
    """36 issues in 12 battle days: 3 a day of battle, 4 days of meet: 12 issues of 5."""
    fought = [TODAY - timedelta(days=30 * i + 1) for i in range(12)]
    meet = Spell((Horizon(TODAY, TODAY + timedelta(days=4), 14, 4),), "Meet", TODAY + timedelta(days=1))
    called = counted_demand(CountedStock(ISSUES, KEPT, fought), meet, DRAWS)["fuse"]
    assert called.demand.mean == pytest.approx(36.5 / 12 * 4 * 5, rel=0.03)


def battles(calls: np.ndarray) -> list[Battle]:
    return [Battle(TODAY - timedelta(days=7 * n), 40, int(each)) for n, each in enumerate(calls.tolist())]


def forecast(counts: np.ndarray) -> list[Called]:
    return [Called(counts[None].astype(np.int64), "", False)]


@pytest.mark.parametrize(("size", "ratio"), [(1, 1.0), (5, 5.0)])
def test_lumps_are_seen_for_what_they_are(size: int, ratio: float) -> None:
    """Poisson many lots of one size: the variance is that size times the mean (Wald's identities)."""
    rng = np.random.default_rng(2)
    found = lumps(battles(size * rng.poisson(4, 20)), forecast(size * rng.poisson(4, 20_000)), 0.8)
    assert found is not None
    assert found.past is not None
    assert found.forecast == pytest.approx(ratio, rel=0.05)
    assert found.past.lower < ratio < found.past.upper


def test_a_fleet_that_grows_old_is_no_lump() -> None:
    rng = np.random.default_rng(3)
    young, old = (
        [Battle(row.from_on.replace(year=year), 40, row.calls) for row in battles(rng.poisson(mean, 20))]
        for year, mean in ((2024, 2), (2026, 12))
    )
    found = lumps([*young, *old], forecast(rng.poisson(4, 1000)), 0.8)
    assert found is not None
    assert found.past is not None
    assert found.past.value < 1.5


def test_of_few_calls_no_variance_is_told() -> None:
    calls = forecast(np.array([0, 1]))
    assert lumps([], calls, 0.8) is None
    few = lumps(battles(np.array([1, 0, 1])), calls, 0.8)
    assert few is not None
    assert few.past is None
