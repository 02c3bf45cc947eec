"""A battle that is moved keeps what belongs to it."""

from __future__ import annotations

from typing import Any

import pytest

from tests.conftest import Run


def only(run: Run) -> Any:
    [row] = run("battle", "list", "--json").json["rows"]
    return row


@pytest.fixture
def ask(run: Run) -> Run:
    assert run("battle", "add", "June", "--from", "2026-06-20", "--until", "2026-06-21").exit_code == 0
    return run


def test_a_battle_that_is_moved_lasts_as_long_and_can_be_moved_back(ask: Run) -> None:
    assert ask("battle", "change", "June", "--from", "2026-07-04").exit_code == 0
    assert (only(ask)["from_on"], only(ask)["until_on"]) == ("2026-07-04", "2026-07-05")
    assert ask("undo", "--yes").exit_code == 0
    assert only(ask)["from_on"] == "2026-06-20"


def test_its_name_and_venue_change_too(ask: Run) -> None:
    assert ask("venue", "add", "Weir", "--water", "fresh").exit_code == 0
    assert ask("battle", "change", "June", "--name", "Midsummer", "--venue", "weir").exit_code == 0
    assert (only(ask)["name"], only(ask)["venue"]) == ("Midsummer", "Weir")


@pytest.mark.parametrize("days", [(), ("--from", "2026-06-20"), ("--until", "2026-06-19")])
def test_no_change_and_an_end_before_its_beginning_are_refused(ask: Run, days: tuple[str, ...]) -> None:
    assert ask("battle", "change", "June", *days).exit_code == 4
    assert only(ask)["until_on"] == "2026-06-21"


def test_no_sortie_on_record_is_left_outside_its_battle(ask: Run) -> None:
    assert ask("ship", "add", "Halberd").exit_code == 0
    assert ask("sortie", "log", "--battle", "June", "halberd=W1", "--on", "2026-06-20").exit_code == 0
    answer = ask("battle", "change", "June", "--from", "2026-07-04")
    assert (answer.exit_code, "a sortie on record on 2026-06-20" in answer.stderr) == (4, True)
