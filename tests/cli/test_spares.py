"""maintain spares through the program: ends named, money, service, families unknown, crates."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from maintain.services.unit import Desk
from tests.conftest import Run


@pytest.fixture
def stocked(pond: Desk, run: Run) -> Run:
    """Servos fitted a month ago, sorties since, a battle and a meet ahead, prices, and one servo in the pool."""
    run("battle", "add", "June", "--from", "2026-06-14", "--planned-sorties", "4")
    away = ("--until", "2026-06-21", "--planned-sorties", "12", "--no-resupply")
    run("battle", "add", "Week", "--from", "2026-06-18", *away)
    run("family", "change", "standard", "--unit-cost", "14.50", "--lead-time-days", "10", "--weight-grams", "40")
    for ship in ("halberd", "gannet"):
        where = f"{ship}/rudder-servo"
        run("part", "add", "--family", "standard", "--origin", "new", "--into", where, "--from", "2026-05-01")
    run("part", "add", "--family", "standard", "--origin", "new")
    for day in (2, 3, 4):
        logged = run("sortie", "log", "halberd=W0", "gannet=W3", "--on", f"2026-06-{day:02d}")
        assert logged.exit_code == 0

    def later(*words: str, **options: Any) -> Any:
        return run(*words, "--on", "2026-06-05", **options)

    return later


@pytest.mark.parametrize("service", ["0", "1", "1.5", "-0.2", "nan"])
def test_a_service_level_that_is_no_chance_is_refused(stocked: Run, service: str) -> None:
    answer = stocked("spares", f"--service={service}")
    assert answer.exit_code == 4
    assert "is no chance" in answer.stderr


@pytest.mark.parametrize(
    ("asked", "code", "told"),
    [
        (("--until", "2026-05-01"), 4, "is past"),
        (("--battle", "nowhere"), 3, "nowhere"),
        (("--meet", "nowhere"), 3, "nowhere"),
        (("--meet", "week", "--season"), 4, "name different ends"),
        (("--budget", "0"), 4, "a budget of 0 buys nothing"),
        (("--budget", "120 USD"), 4, "names a currency"),
        (("--budget=-5",), 4, "--budget"),
        (("--why", "cannon"), 3, "cannon"),
        (("--why", "pump"), 5, "nothing to go by"),
    ],
)
def test_what_makes_no_sense_is_refused_with_a_sentence(
    stocked: Run, asked: tuple[str, ...], code: int, told: str
) -> None:
    answer = stocked("spares", *asked)
    assert answer.exit_code == code
    assert told in answer.stderr


def test_a_meet_that_is_called_off_has_no_crate(stocked: Run) -> None:
    stocked("battle", "state", "week", "called off")
    answer = stocked("spares", "--meet", "week")
    assert answer.exit_code == 4
    assert "called off" in answer.stderr


def test_the_beginning_of_a_name_means_the_battle_to_come(stocked: Run) -> None:
    stocked("battle", "add", "Week of old", "--from", "2026-05-20")
    assert stocked("spares", "--meet", "wee", "--json").json["meet"] == "Week"
    stocked("battle", "add", "Weekend", "--from", "2026-07-01")
    assert stocked("spares", "--meet", "wee").exit_code == 3


def test_a_line_tells_what_is_held_wanted_and_covered(stocked: Run) -> None:
    line = stocked("spares", "--json").json["lines"][0]
    assert (line["family"], line["on_hand"], line["installed"]) == ("standard servo", 1, 2)
    assert line["ships"] == ["Gannet", "Halberd"]
    assert line["demand"]["lower"] <= line["demand"]["value"] <= line["demand"]["upper"]
    assert line["reorder_line"] >= 1
    assert line["buy"] == max(0, line["needed"] - 1)


def test_a_longer_time_calls_for_more(stocked: Run) -> None:
    means = [
        stocked("spares", "--json", *end).json["lines"][0]["demand"]["value"]
        for end in (("--battle", "june"), ("--until", "2026-06-21"), ("--season",))
    ]
    assert means == sorted(means)
    assert means[0] < means[2]


def test_what_no_spare_covers_is_named(stocked: Run) -> None:
    uncovered = stocked("spares", "--json").json["uncovered"]
    assert ["Gannet/pump", "Halberd/pump"] in [each["positions"] for each in uncovered]
    assert not any("Halberd/rudder-servo" in each["positions"] for each in uncovered)
    assert "No spare covers" in stocked("spares").stdout


def test_together_asks_for_at_least_as_much(stocked: Run) -> None:
    each = stocked("spares", "--json", "--service", "0.9").json
    whole = stocked("spares", "--json", "--service", "0.9", "--whole").json
    assert whole["together"]["value"] >= 0.9
    assert whole["together"]["lower"] <= whole["together"]["value"] <= whole["together"]["upper"]
    assert sum(line["needed"] for line in whole["lines"]) >= sum(line["needed"] for line in each["lines"]) - 1


def test_a_budget_is_never_overspent_and_its_bound_is_told(stocked: Run) -> None:
    plan = stocked("spares", "--json", "--budget", "30", "--season").json
    budget = plan["budget"]
    assert budget["spent_cents"] <= 3000
    assert budget["spent_cents"] == sum(line["cost_cents"] or 0 for line in plan["lines"])
    assert budget["hours_after"] <= budget["hours_before"]
    assert budget["at_most_better"] >= 0
    assert "no other use of that money" in stocked("spares", "--budget", "30", "--season").stdout


def test_families_without_a_price_are_left_out_of_a_budget_by_name(stocked: Run) -> None:
    fit = ("part", "add", "--family", "pump", "--origin", "new", "--from", "2026-05-01")
    stocked(*fit, "--into", "halberd/pump")
    stocked("sortie", "log", "halberd=W1")
    assert stocked("spares", "--json", "--budget", "30").json["budget"]["unpriced"] == ["pump"]
    assert "Nobody noted what these cost: pump" in stocked("spares", "--budget", "30").stdout


def test_a_family_nobody_has_seen_gets_a_guess_that_is_called_so(stocked: Run) -> None:
    """Fitted today and never sailed: nothing was seen of pumps at all."""
    stocked("part", "add", "--family", "pump", "--origin", "new", "--into", "halberd/pump", "--from", "2026-06-05")
    line = next(line for line in stocked("spares", "--json").json["lines"] if line["family"] == "pump")
    assert line["guess"]
    assert line["demand"]["value"] > 0
    assert "guess" in line["basis"]
    assert "A guess, no more: pump" in stocked("spares").stdout


def test_the_reasoning_about_a_family_shows_every_holding(stocked: Run) -> None:
    why = stocked("spares", "--why", "standard", "--json").json
    assert [each["pieces"] for each in why["holdings"]] == list(range(len(why["holdings"])))
    chances = [each["running_out"] for each in why["holdings"]]
    assert chances == sorted(chances, reverse=True)
    assert sum(why["chances"]) == pytest.approx(1)
    told = stocked("spares", "--why", "standard").stdout
    for word in ("What each holding means", "Order when fewer than", "on hand", "aimed at", "It fits"):
        assert word in told


def test_a_crate_lists_weights_cautions_and_what_to_add(stocked: Run) -> None:
    crate = stocked("spares", "--meet", "week", "--json").json
    packed = crate["packed"][0]
    assert packed["family"] == "standard servo"
    assert packed["weight_grams"] == 40 * packed["pack"]
    assert not crate["resupply"]
    assert any(each["name"].startswith("balsa") for each in crate["consumables"])
    assert not any("fuse" in each["name"] for each in crate["consumables"])  # the club keeps them itself
    told = stocked("spares", "--meet", "week", columns=80).stdout
    for word in ("Crate for Week", "[ ]", "common practice, no source", "no spares to be had there"):
        assert word in told


def test_gas_and_cells_in_a_crate_come_with_their_cautions(stocked: Run) -> None:
    for family, category, position in (("bottle", "cylinder", "bottle"), ("cell", "battery", "main-battery")):
        stocked("family", "add", family, "--category", category)
        stocked("position", "change", f"halberd/{position}", "--fits", family)
        where = f"halberd/{position}"
        stocked("part", "add", "--family", family, "--origin", "new", "--into", where, "--from", "2026-05-01")
    stocked("sortie", "log", "halberd=W1")
    cautions = stocked("spares", "--meet", "week", "--json").json["cautions"]
    assert any(
        "49 CFR 175.10(a)(25)" in each["source"] and "valve visibly removed" in each["text"] for each in cautions
    )
    assert any(each["about"] == "flooded batteries" and each["decider"] == "the fire service" for each in cautions)
    assert any(each["about"] == "burst discs" for each in cautions)


def test_the_last_sorties_before_a_meet_are_no_longer_the_crate_s(stocked: Run) -> None:
    """What fails until the battle before is replaced from the pool; the crate is for what comes after."""
    line = stocked("spares", "--meet", "week", "--json").json
    family = line["lines"][0]
    assert line["packed"][0]["pack"] <= family["needed"] <= family["on_hand"] + family["buy"]


def test_a_plan_can_be_drawn(stocked: Run, tmp_path: Path) -> None:
    for words in ((), ("--why", "standard"), ("--meet", "week"), ("--budget", "30", "--season")):
        target = tmp_path / f"{len(words)}{words[-1:]}.svg"
        assert stocked("spares", *words, "--plot", str(target)).exit_code == 0
        assert b"<svg" in target.read_bytes()
    told = stocked("spares", "--why", "standard", "--picture").stdout
    assert "Runs out" in told


def test_tables_are_given_to_scripts(stocked: Run) -> None:
    assert "standard servo" in stocked("spares", "--csv").stdout
    assert "standard servo" in stocked("spares", "--meet", "week", "--csv").stdout
    assert stocked("spares", "--why", "standard", "--csv").stdout.count("\n") > 3


def test_nothing_to_plan_with_is_said(run: Run, pond: Desk) -> None:
    run("battle", "add", "June", "--from", "2026-06-14", "--planned-sorties", "4")
    for words in ((), ("--whole",), ("--budget", "20"), ("--meet", "june")):
        answer = run("spares", *words)
        assert answer.exit_code == 0
        assert "nothing to go by yet" in answer.stdout
    assert run("spares", "--json").json["together"] is None
