"""Odds of ships through the program: what is missing is said, what is unknown is a bound, legal dates come first."""

from __future__ import annotations

import pytest
from rich.console import Console

from maintain.render.show import draw
from maintain.services.explain import explain
from maintain.services.unit import Desk
from tests.conftest import Run, told
from tests.pond import sail


@pytest.fixture
def ask(run: Run, pond: Desk) -> Run:
    """The small fleet with a battle ahead."""
    told(run("battle", "add", "Midsummer", "--from", "2026-06-20", "--planned-sorties", "4"))
    return run


@pytest.fixture
def fitted(ask: Run, pond: Desk) -> Run:
    """A servo and a pump in a ship of some months, proved by a sortie; everything else of her is empty."""
    told(ask("ship", "add", "Plover", "--like", "cruiser", "--since", "2026-01-01"))
    fit(ask, "S-01", "standard servo", "Plover/rudder-servo")
    fit(ask, "P-01", "pump", "Plover/pump")
    sail(pond, "plover=W1")
    return ask


def fit(run: Run, tag: str, family: str, where: str) -> None:
    of = ("--family", family, "--tag", tag, "--origin", "new")
    told(run("part", "add", *of, "--into", where, "--from", "2026-03-01"))


def test_a_ship_nobody_knows_is_not_found(ask: Run) -> None:
    answer = ask("ready", "Halbert")
    assert answer.exit_code == 3
    assert "Halberd" in answer.stderr


def test_a_ship_without_positions_is_told_how_to_get_some(fitted: Run) -> None:
    told(fitted("ship", "add", "Bare"))
    answer = fitted("ready", "Bare")
    assert answer.exit_code == 5
    assert "Bare has no positions" in answer.stderr
    assert "maintain position add" in answer.stderr


def test_a_ship_with_nothing_fitted_is_told_so(fitted: Run) -> None:
    answer = fitted("ready", "Gannet")
    assert answer.exit_code == 5
    assert "nothing is fitted on Gannet" in answer.stderr


def test_a_fleet_with_nothing_fitted_is_told_so(ask: Run) -> None:
    for words in (("ready", "Halberd"), ("ready", "--fleet")):
        answer = ask(*words)
        assert answer.exit_code == 5
        assert "no part is fitted" in answer.stderr


def test_without_a_battle_ahead_a_month_is_looked_at(fitted: Run) -> None:
    told(fitted("battle", "state", "Midsummer", "called off"))
    for words in (("ready", "Plover"), ("ready", "--fleet")):
        shown = told(fitted(*words)).stdout
        assert "until 2026-07-01" in shown
        assert "maintain battle add" in shown


def test_a_ship_in_dry_dock_is_not_judged(fitted: Run) -> None:
    told(fitted("ship", "state", "Plover", "dry dock"))
    answer = fitted("ready", "Plover")
    assert answer.exit_code == 4
    assert "dry dock" in answer.stderr


@pytest.mark.parametrize("words", [(), ("Plover", "--fleet")])
def test_a_ship_or_the_fleet_is_asked_for_and_not_both(fitted: Run, words: tuple[str, ...]) -> None:
    assert fitted("ready", *words).exit_code == 2


def test_empty_positions_make_the_odds_a_bound(fitted: Run) -> None:
    found = told(fitted("ready", "Plover", "--json")).json
    assert 0.5 < found["through"]["value"] < 1
    assert found["through"]["least"] == 0
    assert "receiver" in found["empty"]
    assert found["silent"] == []
    steering = next(line for line in found["systems"] if line["system"] == "steering")
    assert steering["works"]["least"] == 0  # the receiver battery that feeds the servo is not fitted
    propulsion = next(line for line in found["systems"] if line["system"] == "propulsion")
    assert propulsion["works"] == {"value": None, "lower": None, "upper": None, "least": None}
    shown = told(fitted("ready", "Plover")).stdout
    assert "at most" in shown
    assert "if all that is unknown fails" in shown


def test_a_ship_in_the_fleet_with_nothing_known_is_not_taken_to_be_sound(fitted: Run) -> None:
    ships = told(fitted("ready", "--fleet", "--json")).json["ships"]
    by_name = {line["ship"]: line for line in ships}
    assert by_name["Gannet"]["through"]["value"] is None
    assert by_name["Gannet"]["weakest"] is None
    assert ships[0]["ship"] == "Gannet"
    assert "can't tell yet" in told(fitted("ready", "--fleet")).stdout


def test_an_expired_certificate_comes_before_the_odds_with_who_decides(fitted: Run) -> None:
    told(fitted("certificate", "add", "S-01", "--expires", "2026-05-01", "--source", "club rule"))
    shown = told(fitted("ready", "Plover")).stdout
    assert shown.index("ran out on 2026-05-01") < shown.index("gets through")
    assert "licensed cylinder inspector decides" in shown
    assert shown.rstrip().endswith("licensed inspectors decide.")
    assert told(fitted("ready", "--fleet", "--json")).json["ships"][-1]["out_of_date"] == 1


def test_the_positions_can_be_had_as_a_file(fitted: Run) -> None:
    lines = told(fitted("ready", "Plover", "--csv")).stdout.splitlines()
    assert lines[0].startswith("Position,System,Part,Family,Lets down,Birnbaum importance")
    assert told(fitted("ready", "--fleet", "--csv")).stdout.startswith("Ship,Gets through,")


def test_an_evening_lists_only_what_fits(fitted: Run) -> None:
    shown = told(fitted("due", "--hours", "1")).stdout
    assert "fits in 1 hour:" in shown


def test_a_part_is_explained_by_tag_or_by_position(fitted: Run) -> None:
    found = told(fitted("due", "--explain", "S-01", "--json")).json
    assert found == told(fitted("due", "--explain", "Plover/rudder-servo", "--json")).json
    about = [reason["about"] for reason in found["reasons"]]
    assert about[0] == "the part"
    assert about[-2:] == ["advice", "what it buys"]
    assert found["line"]["part"] == "S-01"
    assert "Forecast: having worked when it was last seen to" in told(fitted("due", "--explain", "S-01")).stdout


def test_an_explanation_ends_with_the_life_curve_where_a_person_looks_on(
    fitted: Run, pond: Desk, capsys: pytest.CaptureFixture[str]
) -> None:
    found = explain(pond, part="S-01", battle=None)
    console = Console(width=100, no_color=True, force_terminal=True)
    draw(found, console)
    lines = capsys.readouterr().out.splitlines()
    drawn = next(number for number, line in enumerate(lines) if "still working" in line)
    assert any("50%" in line for line in lines[drawn:])
    assert all(line.startswith("What it buys") is False for line in lines[drawn:])


def test_a_part_on_the_shelf_has_no_forecast_to_explain(fitted: Run) -> None:
    told(fitted("part", "add", "--family", "pump", "--tag", "P-02", "--origin", "new"))
    answer = fitted("due", "--explain", "P-02")
    assert answer.exit_code == 4
    assert "nothing is forecast of it" in answer.stderr


@pytest.mark.parametrize("words", [("ready", "Plover"), ("ready", "--fleet")])
def test_a_kept_answer_is_the_one_worked_out_and_goes_with_a_new_record(fitted: Run, words: tuple[str, ...]) -> None:
    first = told(fitted(*words, "--json")).stdout
    assert told(fitted(*words, "--json")).stdout == first
    assert told(fitted(*words, "--json", "--refit")).stdout == first
    told(fitted("part", "pull", "P-01", "--reason", "working"))
    assert told(fitted(*words, "--json")).stdout != first
