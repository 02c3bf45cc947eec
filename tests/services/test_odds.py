"""Odds of the demo club's ships against the truth its records were drawn from, and against each other."""

from __future__ import annotations

import json
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from maintain.core.decision_diagram import diagram
from maintain.results.outlook import DueLine
from maintain.results.ready import Ready, ReadyFleet
from maintain.services import demo, due, ready
from maintain.services.chances import chances
from maintain.services.evening import fitting, per_minute
from maintain.services.horizon import until_battle
from maintain.services.odds import ShipOdds, drag, fleet_odds
from maintain.services.outlook import outlook
from maintain.services.prospects import prospects
from maintain.services.unit import Desk, reading

TRUTH: dict[str, Any] = {
    each["tag"]: each["fails_by_next_battle"]
    for each in json.loads((demo.fleet_folder() / "truth_parts.json").read_text(encoding="utf-8"))["parts"]
}


@pytest.fixture(scope="module")
def desk(tmp_path_factory: pytest.TempPathFactory) -> Desk:
    return demo.build(tmp_path_factory.mktemp("demo") / "club.db", "tester")


@pytest.fixture(scope="module")
def fleet(desk: Desk) -> list[ShipOdds]:
    with reading(desk) as connection:
        _, horizon = until_battle(connection, desk.today, None)
        parts = prospects(connection, outlook(connection, horizon))
        return list(fleet_odds(connection, parts, drag(connection, desk.today), desk.today))


@pytest.fixture(scope="module")
def listed(desk: Desk) -> ReadyFleet:
    return ready.ready_fleet(desk, battle=None)


@pytest.fixture(scope="module")
def page(desk: Desk) -> Ready:
    return ready.ready(desk, ship="Pellwarden", battle=None)


@pytest.fixture(scope="module")
def work(desk: Desk) -> list[DueLine]:
    """Every part, as due lists it."""
    return [line for line in due.due(desk, due.Question(everything=True)).lines if line.failing]


def true_odds(ship: ShipOdds) -> float:
    """
    Her odds with the true chance of every part that would be heard to fail.

    What nobody looked at since may be dead already, which is luck and no stated chance; there, and of dragging servos,
    the estimate stands.
    """
    chances = ship.failing.mean(axis=0)
    for place, (row, part) in enumerate(zip(ship.structure.places, ship.parts, strict=True)):
        if part is not None and part.advice.kind != "test":
            dead = float(part.chances.kept.of(part.row).silent.mean())
            chances[place] = dead + (1 - dead) * TRUTH[row.tag]
    return float(1 - diagram(ship.structure.fails).chance(chances))


def test_most_intervals_hold_the_true_odds_of_their_ship(fleet: list[ShipOdds]) -> None:
    """Eighty per cent intervals; ships share what is not known of a category, so two in three is asked for."""
    held = []
    for ship in fleet:
        odds = ship.odds(ship.structure.fails)
        assert odds.lower is not None
        assert odds.upper is not None
        held.append(odds.lower <= true_odds(ship) <= odds.upper)
    assert len(held) == 13
    assert sum(held) / len(held) > 0.66


def test_no_odds_are_far_from_the_true_ones(fleet: list[ShipOdds]) -> None:
    off = [(ship.odds(ship.structure.fails).value or 0.0) - true_odds(ship) for ship in fleet]
    assert abs(np.mean(off)) < 0.03
    assert max(map(abs, off)) < 0.12


def test_a_draw_holds_one_sinking_rate_for_all_parts_of_a_ship(desk: Desk) -> None:
    """Counted out for each draw: every number of sinkings by the binomial, each part by its own Weibull law."""
    with reading(desk) as connection:
        _, horizon = until_battle(connection, desk.today, None)
        look = outlook(connection, horizon)
    for of in look.categories[:3]:
        rows = np.flatnonzero(of.aged)[:2]
        sight = look.sight(of, rows)
        shapes = np.broadcast_to(sight.draws.shapes, sight.draws.scale.shape)
        kept = chances(look, of).kept.now
        for draw in range(0, 500, 50):
            for place, row in enumerate(rows.tolist()):
                share = look.water.sunk.share[draw, sight.ahead.ship[place]]
                by_count = 0.0
                for sunk in range(horizon.sorties + 1):
                    after = (
                        sight.parts.age[draw, place]
                        + sight.ahead.steady[draw, place]
                        + sunk * sight.ahead.jump[draw, place]
                    )
                    law = stats.weibull_min(shapes[draw, place], scale=sight.draws.scale[draw, place])
                    fails = 1 - law.sf(after) / law.sf(sight.parts.age[draw, place])
                    by_count += stats.binom.pmf(sunk, horizon.sorties, share) * fails
                assert kept[draw, row] == pytest.approx(by_count, rel=1e-4, abs=1e-6)


def test_what_is_believed_of_two_categories_is_drawn_apart(fleet: list[ShipOdds]) -> None:
    """Else a draw dark for servos were dark for motors too, and every ship's interval too wide."""
    law = {part.evidence.category: part.chances.kept.new[:, part.row] for part in fleet[0].parts if part is not None}
    together = np.corrcoef(np.log([law[name] for name in ("servo", "motor", "seal", "battery")]))
    assert np.abs(together - np.eye(4)).max() < 0.45


def test_what_work_buys_is_the_difference_of_the_odds_before_and_after(fleet: list[ShipOdds]) -> None:
    for ship in fleet:
        whole = diagram(ship.structure.fails)
        for place in np.flatnonzero(ship.gains > 0.005).tolist():
            done = ship.failing.copy()
            done[:, place] = ship.after[:, place]
            rise = whole.chance(ship.failing).mean() - whole.chance(done).mean()
            assert ship.gains[place] == pytest.approx(rise, abs=1e-12)


def test_what_running_everything_buys_is_what_running_it_many_times_over_gives(fleet: list[ShipOdds]) -> None:
    """Dead parts are drawn, found and replaced, and the battle is fought; what nobody hears fail stays as it is."""
    rng = np.random.default_rng(1)
    for ship in fleet[:4]:
        fails = ship.failing.copy()
        for place, part in enumerate(ship.parts):
            if part is not None and not part.hidden and part.failed is None:
                drawn = part.chances.kept.of(part.row)
                dead = rng.random((200, drawn.silent.size)) < drawn.silent
                fails[:, place] = np.where(dead, drawn.new, drawn.now).mean(axis=0)
        whole = diagram(ship.structure.fails)
        rise = float((whole.chance(ship.failing) - whole.chance(fails)).mean())
        assert ship.gain_of_running == pytest.approx(rise, abs=0.002)
        assert 0 < ship.gain_of_running < whole.chance(ship.failing).mean()


def test_no_advice_lowers_the_odds(fleet: list[ShipOdds]) -> None:
    assert all(np.all(ship.gains > -1e-9) for ship in fleet)


def test_only_replacing_and_testing_changes_the_odds(fleet: list[ShipOdds]) -> None:
    for ship in fleet:
        for part, gain in zip(ship.parts, ship.gains.tolist(), strict=True):
            assert part is None or part.advice.kind in ("replace", "test") or gain == 0


def test_the_fleet_says_of_a_ship_what_her_own_page_says(listed: ReadyFleet, page: Ready) -> None:
    [line] = [each for each in listed.ships if each.ship == "Pellwarden"]
    assert line.through == page.through
    assert line.best == page.tonight[0]
    works = {each.system: each.works.value for each in page.systems if each.works.value is not None}
    assert (line.weakest, line.weakest_works) == min(works.items(), key=lambda each: each[1])


def test_ships_least_likely_to_get_through_come_first(listed: ReadyFleet) -> None:
    odds = [each.through.value for each in listed.ships]
    assert odds == sorted(odds, key=lambda each: each or 0.0)


def test_all_of_her_is_less_likely_to_last_than_any_system_and_full_strength_than_working(page: Ready) -> None:
    assert page.through.value is not None
    for line in page.systems:
        assert line.full.value is not None
        if line.works.value is not None:
            assert page.through.value <= line.works.value
            assert line.full.value <= line.works.value


def test_three_things_tonight_are_the_best_there_are(page: Ready) -> None:
    gains = [deed.gain for deed in page.tonight]
    assert len(gains) == 3
    assert gains == sorted(gains, reverse=True)
    best = page.best_per_minute
    assert best is not None
    assert all((deed.per_minute or 0.0) <= (best.per_minute or 0.0) for deed in page.tonight)


def test_gas_never_counts_as_vital_and_the_caution_always_stands(page: Ready, listed: ReadyFleet) -> None:
    [gas] = [line for line in page.systems if line.system == "gas"]
    assert gas.works.value is None
    assert "clear no ship" in page.caution
    assert "clear no ship" in listed.caution


def test_legal_dates_of_the_ship_stand_open_with_who_decides(page: Ready) -> None:
    assert [line.decider for line in page.safety] == ["licensed cylinder inspector"]


def test_due_ranks_by_what_it_buys(work: list[DueLine]) -> None:
    bought = [round(line.buys or 0.0, 3) for line in work]
    assert bought == sorted(bought, reverse=True)


def test_an_evening_is_filled_by_what_a_minute_buys(work: list[DueLine]) -> None:
    chosen = fitting(work, 1.5)
    rates = [per_minute(line) for line in chosen]
    assert rates == sorted(rates, reverse=True)
    assert 0 < sum(line.minutes or 0 for line in chosen) <= 90


@given(st.lists(st.tuples(st.integers(0, 60) | st.none(), st.floats(0, 0.1)), max_size=8), st.floats(0, 3))
def test_an_evening_holds_no_more_than_its_hours_and_nothing_idle(
    jobs: list[tuple[int | None, float]], hours: float
) -> None:
    lines = [
        DueLine("Halberd", str(n), str(n), "servo", "steering", "replace", "", "", buys=buys, minutes=minutes)
        for n, (minutes, buys) in enumerate(jobs)
    ]
    chosen = fitting(lines, hours)
    left = hours * 60 - sum(line.minutes or 0 for line in chosen)
    assert left >= 0
    assert all(line.buys for line in chosen)
    passed_over = [line for line in lines if line not in chosen and line.buys and line.minutes is not None]
    assert all((line.minutes or 0) > left for line in passed_over)
