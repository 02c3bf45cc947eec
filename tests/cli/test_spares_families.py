"""maintain spares families: what sharing saves, and when it is too early to choose a standard."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from typing import Any

import pytest
from scipy.stats import gamma

from maintain.core.stock.demand import demand_from_counts
from maintain.services import demo, spares_basis, spares_families
from maintain.services.spell import Until
from maintain.services.unit import Desk
from tests.conftest import Answer, Run
from tests.pond import sail

SERVICE = 0.95
LATER = ("--on", "2026-07-01")
AHEAD = ("spares", "families", "--until", "2026-09-01", *LATER)


@pytest.fixture(scope="module")
def desk(tmp_path_factory: pytest.TempPathFactory) -> Desk:
    return demo.build(tmp_path_factory.mktemp("demo") / "club.db", "tester")


@pytest.fixture(scope="module")
def answer(desk: Desk) -> Any:
    return spares_families.families(desk, Until(), SERVICE)


def _ok(answer: Answer) -> str:
    assert answer.exit_code == 0, answer.stderr
    return answer.stdout


def test_which_parts_do_many_ships_share(answer: Any) -> None:
    assert answer.shared[0].family == "regulator 8 bar"  # dear, on ten ships, and seldom called for
    assert answer.shared[0].ships == 10
    assert all(each.pooled <= each.private for each in answer.shared)


def test_what_is_saved_is_what_the_pieces_cost(answer: Any) -> None:
    pump = next(each for each in answer.shared if each.family == "pump body 3.2 mm")
    assert pump.saved == pump.private - pump.pooled
    assert pump.saved_cents == 5500 * pump.saved


def test_families_that_are_said_to_fit_the_same_positions_come_first(answer: Any) -> None:
    fit = [each.shared_positions == each.positions for each in answer.groups]
    assert fit == sorted(fit, reverse=True)
    first = next(each for each in answer.groups if set(each.families) == {"metal-gear servo", "standard servo"})
    assert first.shared_positions == first.positions == 13
    assert first.saved_cents["standard servo"] == _price_apart(first) - first.together * 1450


def _price_apart(group: Any) -> int:
    prices = {"metal-gear servo": 2600, "standard servo": 1450}
    return sum(number * prices[name] for number, name in zip(group.apart, group.families, strict=True))


def test_holdings_apart_and_as_one_come_from_demand_drawn_together(desk: Desk, answer: Any) -> None:
    calls = {each.name: each.called.counts.sum(axis=0) for each in spares_basis.basis(desk, Until()).families}
    for group in answer.groups:
        mine = [calls[name] for name in group.families]
        assert group.apart == tuple(demand_from_counts(each).holding_for(SERVICE) for each in mine)
        assert group.together == demand_from_counts(sum(mine)).holding_for(SERVICE)


def test_families_are_compared_only_where_they_serve_alike(answer: Any) -> None:
    of = {(each.category, each.system, each.zone): each for each in answer.standards}
    servos = of["servo", "steering", "bilge"]
    assert {each.family for each in servos.candidates} == {"metal-gear servo", "standard servo"}
    assert not any("micro servo" in {one.family for one in each.candidates} for each in answer.standards)


def test_which_servo_to_standardise_on_cannot_be_told_yet(answer: Any) -> None:
    """Both steering servos of the demo club wear out by laws too alike for what it has seen."""
    servos = next(each for each in answer.standards if each.category == "servo")
    assert servos.family is None
    assert "only" in servos.why_not
    assert sum(each.chance_cheapest for each in servos.candidates) == pytest.approx(1.0)
    assert all(each.rate.lower < each.rate.value < each.rate.upper for each in servos.candidates)


def test_few_failures_are_called_few(answer: Any) -> None:
    receivers = next(each for each in answer.standards if each.category == "receiver")
    assert receivers.family is None
    assert receivers.why_not == "4 failed; 2 more failures would begin to tell"


@pytest.fixture
def two_families(run: Run, pond: Desk) -> Desk:
    """Both ships steer by servos of two families: Halberd's never fails, Gannet's fails every other sortie."""
    _ok(run("family", "add", "strong servo", "--category", "servo", "--unit-cost", "10.00"))
    _ok(run("family", "change", "standard servo", "--unit-cost", "10.00"))
    start = "2026-06-01"
    for tag, family, ship in (("S-1", "strong servo", "Halberd"), ("W-0", "standard servo", "Gannet")):
        words = ("part", "add", "--family", family, "--tag", tag, "--origin", "new", "--from", start)
        _ok(run(*words, "--into", f"{ship}/rudder-servo", *(("--anyway",) if ship == "Halberd" else ())))
    for count in range(1, 11):
        day = f"2026-06-{count * 2:02d}"
        for _ in range(2):
            sail(replace(pond, today=date.fromisoformat(day)), "halberd=W0", "gannet=W0")
        words = ("part", "add", "--family", "standard servo", "--tag", f"W-{count}", "--origin", "new", "--from", day)
        _ok(run(*words, *LATER))
        swap = ("swap", "gannet/rudder-servo", "--with", f"W-{count}", "--mode", "dead", "--cause", "wear")
        _ok(run(*swap, "--found", day, *LATER))
    return pond


def test_a_family_that_is_clearly_cheaper_to_run_becomes_the_standard(run: Run, two_families: Desk) -> None:
    answer = run(*AHEAD, "--json").json
    (servos,) = answer["standards"]
    strong, weak = servos["candidates"]
    assert (servos["family"], strong["family"]) == ("strong servo", "strong servo")
    assert (strong["failures"], strong["sorties"]) == (0, 20)
    assert (weak["failures"], weak["sorties"]) == (10, 20)
    assert strong["chance_cheapest"] > 0.95
    # Ten failures in 20 sorties by Jeffreys' prior alone; pooling draws a rate towards that of its kind
    assert weak["rate"]["upper"] < gamma.ppf(0.9, 10.5, scale=100 / 20)
    assert "standardise on strong servo" in _ok(run(*AHEAD))


def test_without_a_price_no_family_is_recommended(run: Run, two_families: Desk) -> None:
    _ok(run("family", "add", "third servo", "--category", "servo"))
    third = ("part", "add", "--family", "third servo", "--tag", "T-1", "--origin", "new", "--from", "2026-06-25")
    _ok(run(*third, *LATER))
    _ok(run("part", "pull", "S-1", "--reason", "working", "--until", "2026-06-25", "--to", "pool", *LATER))
    _ok(run("part", "install", "T-1", "halberd/rudder-servo", "--from", "2026-06-26", "--anyway", *LATER))
    (servos,) = run(*AHEAD, "--json").json["standards"]
    assert servos["family"] is None
    assert "nobody said what these cost: third servo" in servos["why_not"]


def test_one_family_of_a_kind_has_nothing_to_be_made_one_with(run: Run, pond: Desk) -> None:
    pump = ("part", "add", "--family", "pump", "--tag", "P-1", "--origin", "new", "--into", "Halberd/pump")
    _ok(run(*pump, "--from", "2026-01-01"))
    sail(pond, "halberd=W0")
    said = _ok(run("spares", "families", "--until", "2026-09-01"))
    assert "there is nothing to make one" in said


def test_a_club_without_fitted_parts_is_told_so(run: Run, pond: Desk) -> None:
    answer = run("spares", "families", "--until", "2026-09-01")
    assert answer.exit_code != 0
    assert "no part is fitted" in answer.stderr


@pytest.mark.parametrize("service", ["0", "1", "2", "-1"])
def test_a_service_that_is_no_chance_is_refused(run: Run, pond: Desk, service: str) -> None:
    answer = run("spares", "families", "--until", "2026-09-01", "--service", service)
    assert answer.exit_code == 4
    assert "is no chance" in answer.stderr


def test_an_option_before_the_sub_command_is_not_silently_dropped(run: Run, pond: Desk) -> None:
    answer = run("spares", "--service", "0.8", "families")
    assert answer.exit_code == 2
    assert "options stand after families" in answer.stderr
