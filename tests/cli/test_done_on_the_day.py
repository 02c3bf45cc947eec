"""Work done on the morning of a battle does not hide the sinking of that afternoon."""

from __future__ import annotations

from typing import Any

import pytest

from tests.conftest import Answer, Run, told

BATTLE = ("--on", "2026-03-07")


@pytest.fixture
def ask(run: Run) -> Run:
    """Two ships with a seal each, greased after every second battle day and after every immersion."""
    on = ("--on", "2026-01-10")
    told(run("family", "add", "shaft seal", "--category", "seal", *on))
    for ship, tag in (("halberd", "Q1"), ("gannet", "Q2")):
        told(run("ship", "add", ship.title(), "--like", "cruiser", "--since", "2026-01-01", *on))
        new = ("--family", "shaft seal", "--tag", tag, "--origin", "new")
        told(run("part", "add", *new, "--into", f"{ship}/shaft-seal", "--from", "2026-01-05", *on))
    told(run("task", "add", "grease", "--every", "2 battle days", "--every", "1 immersion", "--category", "seal", *on))
    told(run("battle", "add", "B1", "--from", "2026-03-07", *on))
    return run


def log(run: Run, *sorties: str) -> None:
    told(run("sortie", "log", "--battle", "B1", *sorties, *BATTLE))


def done(run: Run, *more: str) -> Answer:
    return told(run("task", "done", "grease", *more, *BATTLE))


def rows(run: Run) -> dict[str, Any]:
    return {row["part"]: row for row in told(run("task", "list", "--json", "--on", "2026-03-08")).json["rows"]}


def test_a_sinking_logged_after_the_work_counts_as_use_since(ask: Run) -> None:
    said = done(ask)
    assert "before the first sortie of that day" in " ".join(said.stdout.split())
    log(ask, "halberd=W3")
    assert {tag: row["state"] for tag, row in rows(ask).items()} == {"Q1": "due", "Q2": "done"}
    assert rows(ask)["Q1"]["counted"] == "1 immersion since"


def test_work_done_at_the_end_of_the_day_leaves_nothing_of_it(ask: Run) -> None:
    log(ask, "halberd=W3")
    done(ask)
    assert {row["state"] for row in rows(ask).values()} == {"done"}


def test_a_ship_that_sailed_more_often_than_another_keeps_her_own_count(ask: Run) -> None:
    log(ask, "halberd=W3")
    done(ask)
    log(ask, "halberd=W1", "gannet=W3")
    assert {tag: row["state"] for tag, row in rows(ask).items()} == {"Q1": "done", "Q2": "due"}


def test_it_can_be_done_again_the_same_evening_but_not_twice_at_once(ask: Run) -> None:
    done(ask)
    log(ask, "halberd=W3")
    done(ask)
    assert {row["state"] for row in rows(ask).values()} == {"done"}
    assert "on record already" in ask("task", "done", "grease", *BATTLE).stderr


def test_whoever_logs_the_sorties_late_says_after_which_it_was_done(ask: Run) -> None:
    done(ask, "--after-sortie", "1")
    log(ask, "halberd=W3")
    assert rows(ask)["Q1"]["state"] == "done"
    log(ask, "halberd=W3")
    assert rows(ask)["Q1"]["state"] == "due"
