"""maintain spares against other sums: what failed unseen, what is dead aboard, can't be there, or is stale."""

from __future__ import annotations

from datetime import date
from typing import Any

import numpy as np
import pytest
from scipy.special import roots_hermitenorm

from maintain.services.chances import chances
from maintain.services.spares_basis import Basis, basis
from maintain.services.spell import Until
from maintain.services.unit import Desk
from tests.conftest import Run

SERVO = "standard servo"


@pytest.fixture
def stocked(pond: Desk, run: Run) -> Run:
    """Servos fitted a month ago, sorties since, a battle and a meet ahead, and one servo in the pool."""
    run("battle", "add", "June", "--from", "2026-06-14", "--planned-sorties", "4")
    away = ("--until", "2026-06-21", "--planned-sorties", "12", "--no-resupply")
    run("battle", "add", "Week", "--from", "2026-06-18", *away)
    run("family", "change", "standard", "--unit-cost", "14.50", "--lead-time-days", "10")
    for ship in ("halberd", "gannet"):
        where = f"{ship}/rudder-servo"
        run("part", "add", "--family", "standard", "--origin", "new", "--into", where, "--from", "2026-05-01")
    run("part", "add", "--family", "standard", "--origin", "new", "--tag", "spare", "--made", "2026-05-01")
    for day in (2, 3, 4):
        assert run("sortie", "log", "halberd=W0", "gannet=W3", "--on", f"2026-06-{day:02d}").exit_code == 0

    def later(*words: str, **options: Any) -> Any:
        on = () if "--on" in words else ("--on", "2026-06-05")
        return run(*words, *on, **options)

    return later


def line(answer: Any, family: str = SERVO) -> dict[str, Any]:
    """What an answer says of one family."""
    assert answer.exit_code == 0, answer.stderr
    return next(each for each in answer.json["lines"] if each["family"] == family)


ENDS = (("--until", "2026-06-05"), ("--until", "2026-06-06"), ("--battle", "june"), ("--season",))


def test_the_reorder_line_and_what_goes_stale_do_not_hang_on_how_far_ahead_is_asked(stocked: Run) -> None:
    """They rest on the lead time with the days between two looks, and on the shelf life, alone."""
    assert stocked("family", "change", "standard", "--shelf-life-days", "400").exit_code == 0
    assert len({line(stocked("spares", "--json", *end))["reorder_line"] for end in ENDS}) == 1
    assert len({stocked("spares", "--why", "standard", "--json", *end).json["worth_shelving"] for end in ENDS}) == 1


def test_the_reorder_line_is_what_is_called_for_in_the_lead_time_and_between_two_looks(stocked: Run) -> None:
    """10 days and 30: the holding that suffices until the 40th day, asked for as such."""
    until = line(stocked("spares", "--json", "--until", "2026-07-15"))
    assert line(stocked("spares", "--json"))["reorder_line"] == until["needed"]


def known(desk: Desk, on: date) -> Basis:
    """What a plan for the day itself rests on: nothing sails, so that only what failed already is called for."""
    return basis(Desk(desk.db, desk.who, on), Until(day=on))


def test_what_failed_unseen_is_called_for_once(stocked: Run, pond: Desk) -> None:
    """Two years after the last sortie: as many calls as the chances of having failed add up to, worked out exactly."""
    found = known(pond, date(2028, 6, 5))
    assert found.look is not None
    (of,), (family,) = found.look.categories, found.families
    counts = family.called.counts.sum(axis=0)
    failed = float(chances(found.look, of).now.mean.sum())
    assert failed > 0.3
    assert counts.mean() == pytest.approx(failed, abs=4 * counts.std() / np.sqrt(counts.size))


def believed(days: float, years: float) -> float:
    """
    Chance that a part lasts no longer, as believed beforehand: Gauss-Hermite sums over a Weibull's scale and shape.

    The scale is lognormal about so many years (log sd 1), the shape about 1.3 (log sd 0.4): docs/service_age.md.
    """
    node, weight = roots_hermitenorm(60)
    scale, shape = 365 * years * np.exp(node), 1.3 * np.exp(0.4 * node)
    hazard = np.exp(np.minimum(shape[None, :] * np.log(days / scale[:, None]), 700))
    failed = -np.expm1(-hazard)
    return float(weight @ failed @ weight / weight.sum() ** 2)


def test_hidden_parts_nobody_ever_tested_call_for_as_many_as_may_have_failed_since_they_were_fitted(
    pond: Desk, run: Run
) -> None:
    run("family", "add", "float switch", "--category", "switch", "--hidden")
    for ship in ("Orca", "Narwhal"):
        where = f"{ship}/float"
        assert run("ship", "add", ship, "--since", "2024-06-01").exit_code == 0
        assert run("position", "add", where, "--system", "pumping", "--zone", "bilge").exit_code == 0
        fit = ("--origin", "new", "--into", where, "--from", "2024-06-01")
        assert run("part", "add", "--family", "float switch", *fit).exit_code == 0
    asked = line(run("spares", "--json", "--until", "2026-06-01"), "float switch")
    chance = believed(730, years=10)
    assert asked["guess"]
    assert asked["demand"]["value"] == pytest.approx(2 * chance, abs=4 * np.sqrt(2 * chance / 4000) + 0.01)


def test_a_part_recorded_dead_and_still_fitted_is_a_call_for_a_spare_now(pond: Desk, run: Run) -> None:
    """Until somebody shows that it works: exactly one call for the one position, today."""
    fit = ("--into", "halberd/pump", "--origin", "new", "--from", "2026-06-01")
    assert run("part", "add", "--family", "pump", *fit).exit_code == 0
    today = ("spares", "--json", "--until", "2026-06-01")
    assert line(run(*today), "pump")["demand"]["upper"] == 0
    assert run("failure", "log", "halberd/pump", "--mode", "dead", "--cause", "water", "--to", "stays").exit_code == 0
    dead = line(run(*today), "pump")
    assert dead["demand"]["lower"] == 1
    assert dead["running_out"] == 1
    assert run("reading", "add", "halberd/pump", "demand test", "1", "--on", "2026-06-02").exit_code == 0
    assert line(run("spares", "--json", "--until", "2026-06-02", "--on", "2026-06-02"), "pump")["running_out"] < 1


def crate(run: Run, *words: str) -> Any:
    """The crate for the meet that begins in 13 days."""
    answer = run("spares", "--meet", "week", "--json", *words)
    assert answer.exit_code == 0, answer.stderr
    return answer.json


def test_a_crate_promises_what_can_be_there_in_time(stocked: Run) -> None:
    in_time = crate(stocked)
    (packed,) = in_time["packed"]
    assert (packed["there"], in_time["together_asked"]) == (packed["pack"], None)
    assert packed["pack"] > 1
    stocked("family", "change", "standard", "--lead-time-days", "14")
    late = crate(stocked)
    (packed,) = late["packed"]
    holdings = stocked("spares", "--meet", "week", "--why", "standard", "--json").json["holdings"]
    assert packed["there"] == 1
    assert packed["running_out"] == pytest.approx(holdings[1]["running_out"])
    assert packed["running_out_asked"] == pytest.approx(holdings[packed["pack"]]["running_out"])
    assert late["together"]["value"] == pytest.approx(1 - holdings[1]["running_out"])
    assert late["together_asked"]["value"] == pytest.approx(in_time["together"]["value"])
    told = stocked("spares", "--meet", "week").stdout
    assert "with what can be there in time; with all that is asked for" in told
    assert "then suffices" not in told


def test_a_crate_without_anything_that_can_be_there_leaves_its_positions_uncovered(stocked: Run) -> None:
    stocked("family", "change", "standard", "--lead-time-days", "14")
    stocked("pool", "scrap", "spare")
    (packed,) = crate(stocked)["packed"]
    assert packed["there"] == 0
    told = stocked("spares", "--meet", "week").stdout.splitlines()
    (uncovered,) = [each for each in told if each.startswith("No spare covers")]
    assert "standard servo (vital)" in uncovered


@pytest.mark.parametrize(("expected", "there"), [("2026-06-18", 2), ("2026-06-19", 1)])
def test_what_is_on_order_is_packed_if_it_comes_before_the_meet(stocked: Run, expected: str, there: int) -> None:
    stocked("family", "change", "standard", "--lead-time-days", "14")
    assert stocked("pool", "order", "standard", "1", "--expected", expected).exit_code == 0
    (packed,) = crate(stocked)["packed"]
    assert packed["there"] == there


def test_what_runs_out_is_told_with_and_without_what_is_on_order(stocked: Run) -> None:
    stocked("pool", "order", "standard", "2")
    asked = line(stocked("spares", "--json", "--season"))
    holdings = stocked("spares", "--why", "standard", "--json", "--season").json["holdings"]
    assert asked["running_out"] == pytest.approx(holdings[1]["running_out"])
    assert asked["running_out_ordered"] == pytest.approx(holdings[3]["running_out"])
    assert "Once orders are in" in stocked("spares", "--all").stdout


def test_what_lay_too_long_is_not_held_until_it_passed_a_test(stocked: Run) -> None:
    assert stocked("family", "change", "standard", "--shelf-life-days", "30").exit_code == 0
    stale = line(stocked("spares", "--json"))
    assert (stale["on_hand"], stale["stale"]) == (0, 1)
    assert "not counted on: 1 standard servo" in stocked("spares").stdout
    assert "past what they may lie" in stocked("spares", "--why", "standard").stdout
    assert stocked("reading", "add", "spare", "demand test", "1").exit_code == 0
    tested = line(stocked("spares", "--json"))
    assert (tested["on_hand"], tested["stale"]) == (1, 0)


DEAD = ("--mode", "dead", "--cause", "wear")


@pytest.mark.parametrize(
    "words",
    [
        ("swap", "halberd/rudder-servo", *DEAD),
        ("swap", "halberd/rudder-servo", *DEAD, "--with", "spare"),
        ("pool", "issue", "standard", "--to", "ana"),
        ("pool", "issue", "spare", "--to", "ana"),
        ("pool", "lend", "spare", "--to", "ana"),
    ],
)
def test_what_lay_too_long_goes_out_with_a_caution(stocked: Run, words: tuple[str, ...]) -> None:
    stocked("family", "change", "standard", "--shelf-life-days", "30")
    told = stocked(*words)
    assert told.exit_code == 0, told.stderr
    assert "spare: 5 days past the 30 it may lie" in told.stdout
    assert "test it before anybody relies on it" in told.stdout


def test_a_fresh_spare_goes_out_before_one_that_lay_too_long(stocked: Run) -> None:
    stocked("family", "change", "standard", "--shelf-life-days", "30")
    stocked("part", "add", "--family", "standard", "--origin", "new", "--tag", "fresh", "--made", "2026-05-30")
    told = stocked("swap", "halberd/rudder-servo", *DEAD).stdout
    assert "fitted fresh" in told
    assert "test it before" not in told


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("--budget", "30", "--whole"), "ask for different plans"),
        (("--budget", "30", "--why", "standard"), "tells of one family"),
        (("--budget", "1e9"), "is not an amount of money"),
    ],
)
def test_options_that_do_not_go_together_are_refused(stocked: Run, words: tuple[str, ...], told: str) -> None:
    answer = stocked("spares", *words)
    assert answer.exit_code == 4
    assert told in answer.stderr
