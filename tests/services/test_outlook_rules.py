"""Advice, demand of counted stock, and what due and spares say where little is known."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from types import SimpleNamespace
from typing import Any, cast

import numpy as np
import pytest

from maintain.core import replacement
from maintain.results.outlook import Evidence, Interval
from maintain.services.advice import Case, advise, percent
from maintain.services.horizon import Horizon
from maintain.services.renewal_groups import Standing
from maintain.services.unit import Desk
from tests.conftest import TODAY, Run

SEEN = Evidence("standard servo, bilge", 20, 11, "servo", 80, 40, "60% days, 40% sorties", "wear-out", 0)


def standing(shape: float, days: float, cost_failure: float = 60.0) -> Standing:
    """A part of so many days fitted whose group's law is known; renewing it costs 10."""
    found = replacement.advise(np.full(50, shape), np.full(50, 100.0), 10.0, cost_failure)
    reached = found.policy == "renew at an age" and days >= found.age
    return cast("Standing", SimpleNamespace(advice=found, days=days, reached=reached))


# shape 2.5, scale 100, costs 10 and 60: renewing is cheapest at 45.0 (Barlow and Proschan 1965, as in core/replacement)
OLD = Case(SEEN, Interval(0.2, 0.1, 0.3), standing(2.5, 46.0), True, False, None, "vital", 0.03)


@pytest.mark.parametrize(
    ("change", "advice"),
    [
        ({}, "replace"),
        ({"standing": standing(2.5, 44.0)}, "carry a spare"),  # too young
        ({"standing": standing(2.5, 46.0, cost_failure=9.0)}, "carry a spare"),  # failing costs less than renewing
        ({"dependence": "nuisance"}, "carry a spare"),
        ({"aged": False}, "replace"),
        ({"evidence": replace(SEEN, verdict="steady")}, "carry a spare"),
        ({"evidence": replace(SEEN, verdict="early failures")}, "carry a spare"),
        ({"evidence": replace(SEEN, verdict="can't tell yet")}, "carry a spare"),
        ({"now": Interval(0.02, 0.01, 0.03)}, "leave"),
        ({"hidden": True, "now": Interval(0.001, 0.0, 0.002)}, "test"),
    ],
)
def test_a_good_part_is_replaced_only_where_that_buys_something(change: dict[str, Any], advice: str) -> None:
    assert advise(replace(OLD, **change)).kind == advice


def test_a_wide_interval_is_called_what_it_is_with_what_would_narrow_it() -> None:
    vague = replace(OLD, now=Interval(0.57, 0.14, 0.98), evidence=replace(SEEN, category_failures=1, more_needed=5))
    assert "can't tell yet how likely: about 5 more failures would tell" in advise(vague).why


def test_of_a_part_whose_earlier_use_is_unknown_that_is_said() -> None:
    assert "what was seen is the least it has been through" in advise(replace(OLD, aged=False)).why


def test_where_nothing_has_failed_yet_a_bound_is_told() -> None:
    unscathed = replace(OLD, evidence=replace(SEEN, category_n=7, category_failures=0, verdict="can't tell yet"))
    assert "none of 7 has failed so far: under 30%" in advise(unscathed).why


@pytest.mark.parametrize(("days", "left"), [(0, 0.5), (1, 1), (7, 7)])
def test_days_ahead_are_those_between_the_days_and_half_a_day_on_the_day_itself(days: int, left: float) -> None:
    assert Horizon(TODAY, TODAY + timedelta(days=days), 4, 1).days == left


def test_a_hidden_function_may_have_failed_already() -> None:
    why = advise(replace(OLD, hidden=True, tested=date(2026, 5, 1))).why
    assert "may have failed already" in why
    assert "2026-05-01" in why


def test_a_small_chance_is_never_nothing() -> None:
    assert [percent(chance) for chance in (0.0, 0.004, 0.01, 0.5)] == ["under 1%", "under 1%", "1%", "50%"]


@pytest.fixture
def planned(pond: Desk, run: Run) -> Run:
    """The small fleet with a battle a fortnight ahead."""
    answer = run("battle", "add", "June", "--from", "2026-06-14", "--planned-sorties", "4")
    assert answer.exit_code == 0, answer.stderr
    return run


def test_a_club_without_parts_is_told_so_and_nothing_is_claimed(planned: Run) -> None:
    told = planned("spares").stdout
    assert "suffice" not in told
    assert "There is nothing to go by yet for" in told
    assert "No fitted part can be forecast" in planned("due").stdout


def test_a_battle_nobody_knows_is_not_found_even_where_none_is_planned(pond: Desk, run: Run) -> None:
    assert run("due", "--battle", "Nowhere").exit_code == 3


def test_a_first_part_gets_an_answer_that_knows_how_little_it_knows(planned: Run) -> None:
    for ship in ("halberd", "gannet"):
        where = f"{ship}/rudder-servo"
        planned("part", "add", "--family", "standard", "--origin", "new", "--into", where, "--from", "2026-05-01")
    # the ships' records begin today: a week later there is something to see
    lines = planned("due", "--all", "--json", "--on", "2026-06-08").json["lines"]
    assert [line["evidence"]["failures"] for line in lines] == [0, 0]
    assert all(line["failing"]["lower"] < line["failing"]["value"] < line["failing"]["upper"] for line in lines)
    assert all(line["evidence"]["verdict"] == "can't tell yet" for line in lines)
    assert all(line["evidence"]["more_needed"] == 6 for line in lines)


def test_a_family_never_sailed_does_not_hide_the_damage_done_to_the_others(planned: Run) -> None:
    fit = ("part", "add", "--origin", "new", "--family")
    planned(*fit, "standard", "--into", "halberd/rudder-servo", "--from", "2026-06-01")
    for day in range(2, 12):
        planned("sortie", "log", "halberd=W0", "--on", f"2026-06-{day:02d}")
    hit = ("--mode", "broken", "--cause", "ball hit", "--on", "2026-06-11")
    assert planned("failure", "log", "halberd/rudder-servo", *hit).exit_code == 0
    planned(*fit, "standard", "--into", "halberd/rudder-servo", "--from", "2026-06-12", "--on", "2026-06-12")
    alone = planned("spares", "--json", "--on", "2026-06-13").json["lines"][0]
    planned("family", "add", "new servo", "--category", "servo")
    planned("position", "change", "gannet/rudder-servo", "--fits", "new servo")
    planned(*fit, "new servo", "--into", "gannet/rudder-servo", "--from", "2026-06-12", "--on", "2026-06-12")
    lines = planned("spares", "--json", "--on", "2026-06-13").json["lines"]
    beside = next(line for line in lines if line["family"] == "standard servo")
    assert alone["demand"]["value"] > 0.3
    assert beside["demand"]["value"] > 0.5 * alone["demand"]["value"]


def test_a_ship_in_dry_dock_is_said_not_to_count(planned: Run) -> None:
    planned("ship", "state", "halberd", "dry dock")
    assert "Halberd is dry dock: her parts are not counted" in planned("due", "--ship", "halberd").stdout


def test_due_with_exit_code_tells_scripts_that_something_is_due(planned: Run) -> None:
    assert planned("due", "--exit-code").exit_code == 10  # vital positions are empty
    for ship in ("halberd", "gannet"):
        assert planned("ship", "state", ship, "dry dock").exit_code == 0
    assert planned("due", "--exit-code").exit_code == 0
    planned("task", "add", "mend the filling rig", "--due", "2026-06-10")
    assert planned("due", "--exit-code").exit_code == 10
    assert planned("due").exit_code == 0


@pytest.mark.parametrize("columns", [40, 60, 80])
def test_on_a_narrow_screen_no_word_is_broken(planned: Run, columns: int) -> None:
    where = "halberd/rudder-servo"
    planned("part", "add", "--family", "standard", "--origin", "new", "--into", where, "--from", "2026-05-01")
    told = planned("due", "--all", "--on", "2026-06-08", columns=columns).stdout
    for word in ("Halberd/rudder-servo", "standard", "sorties", "lives"):
        assert word in told
