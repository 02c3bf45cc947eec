"""Score sheets held against the logs: what no log has is added once, and only when asked."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from maintain.services.unit import Desk
from tests.conftest import Run


@pytest.fixture
def fought(pond: Desk, run: Run) -> Run:
    """May Balls: Halberd sank in its second of two sorties, Gannet's first is of unknown wetness."""
    run("battle", "add", "May Balls", "--from", "2026-05-02", "--planned-sorties", "3")
    run("battle", "add", "Off", "--from", "2026-05-20")
    run("battle", "state", "off", "called off")
    run("battle", "add", "To come", "--from", "2026-07-02")
    run("sortie", "log", "--battle", "may", "--number", "1", "halberd=W1", "gannet=?")
    run("sortie", "log", "--battle", "may", "--number", "2", "halberd=W3:damage", "gannet=W0")
    return run


def _sheet(tmp_path: Path, text: str) -> Path:
    path = tmp_path / "scores.csv"
    path.write_text(text, encoding="utf-8")
    return path


def _sunk(run: Run) -> list[tuple[str, int]]:
    rows = run("sortie", "list", "--sunk", "--json").json["rows"]
    return sorted((row["ship"], row["number"]) for row in rows)


def _found(run: Run, path: Path, *more: str) -> Any:
    return run("sortie", "reconcile", path, "--json", *more).json


def test_a_sheet_that_agrees_says_so(fought: Run, tmp_path: Path) -> None:
    path = _sheet(tmp_path, "battle,ship,sinkings\nMay Balls,Halberd,1\n,Gannet,no\n,TOTAL,1\n")
    told = fought("sortie", "reconcile", path)
    assert "the sheet and the logs agree" in told.stdout
    assert "row 4 names no ship" in _found(fought, path)["notes"]


def test_a_sinking_that_no_log_has_is_added_once_and_only_when_asked(fought: Run, tmp_path: Path) -> None:
    path = _sheet(tmp_path, "Battle;Ship;Sank\nMay Balls;halberd;2\n;gannet;yes\n")
    found = _found(fought, path)
    assert [(row["ship"], row["on_sheet"], row["logged"]) for row in found["rows"]] == [
        ("Gannet", 1, 0),
        ("Halberd", 2, 1),
    ]
    assert _sunk(fought) == [("Halberd", 2)]
    assert fought("sortie", "reconcile", path, "--accept").exit_code == 0
    assert _sunk(fought) == [("Gannet", 1), ("Halberd", 2), ("Halberd", 3)]
    assert _found(fought, path, "--accept")["rows"] == []
    assert len(_sunk(fought)) == 3
    fought("undo", "--yes")
    assert _sunk(fought) == [("Halberd", 2)]


def test_a_sheet_that_names_the_sortie_is_followed_but_not_against_the_log(fought: Run, tmp_path: Path) -> None:
    path = _sheet(tmp_path, "ship,sortie,sank\nHalberd,1,yes\nHalberd,2,no\nHalberd,3,yes\nGannet,3,yes\n")
    found = _found(fought, path, "--battle", "may", "--accept")
    told = {row["ship"]: row["what"] for row in found["rows"]}
    assert told["Gannet"] == "sortie 3 added"
    assert told["Halberd"].startswith("sortie 1 is logged W1: if it sank: maintain sortie correct")
    assert _sunk(fought) == [("Gannet", 3), ("Halberd", 2)]


def test_a_logged_sinking_that_the_sheet_lacks_is_listed(fought: Run, tmp_path: Path) -> None:
    found = _found(fought, _sheet(tmp_path, "battle,ship,sank\nMay Balls,Gannet,0\n"))
    assert [(row["ship"], row["what"][:6]) for row in found["rows"]] == [("Halberd", "logged")]


def test_a_ship_nobody_logged_is_given_her_sorties(fought: Run, tmp_path: Path) -> None:
    fought("ship", "add", "Tramp", "--like", "convoy ship")
    path = _sheet(tmp_path, "battle,ship,sank\nMay Balls,Tramp,2\nMay Balls,Halberd,1\n")
    fought("sortie", "reconcile", path, "--accept")
    assert _sunk(fought) == [("Halberd", 2), ("Tramp", 1), ("Tramp", 2)]


def test_more_sinkings_than_sorties_are_for_a_person(fought: Run, tmp_path: Path) -> None:
    found = _found(fought, _sheet(tmp_path, "battle,ship,sank\nMay Balls,Gannet,9\n"), "--accept")
    assert found["rows"][0]["what"] == "9 sinkings in at most 3 sorties: look at the sheet again"
    found = _found(fought, _sheet(tmp_path, "battle,ship,sank\nMay Balls,Gannet,3\n"), "--accept")
    assert "every sortie is logged" in found["rows"][0]["what"]
    assert len(_sunk(fought)) == 3  # the one of unknown wetness, and the third that was planned


def test_a_sortie_the_battle_never_had_is_not_added(fought: Run, tmp_path: Path) -> None:
    fought("ship", "add", "Tramp", "--like", "convoy ship", "--since", "2026-01-01")
    path = _sheet(tmp_path, "battle,ship,sank,sortie\nMay Balls,Tramp,1,9\nMay Balls,Halberd,1,2\n")
    assert _found(fought, path, "--accept")["rows"][0]["what"] == "sortie 9 of at most 3: look at the sheet again"
    assert _sunk(fought) == [("Halberd", 2)]
    path = _sheet(tmp_path, "battle,ship,sank,sortie\nMay Balls,Tramp,1,3\nMay Balls,Halberd,1,2\n")
    assert _found(fought, path)["rows"][0]["what"] == "sortie 3 added, though nobody logged 1, 2"


def test_forty_sinkings_of_a_battle_nobody_planned_are_a_slip(fought: Run, tmp_path: Path) -> None:
    fought("battle", "add", "Odd Day", "--from", "2026-05-09")
    found = _found(fought, _sheet(tmp_path, "battle,ship,sank\nOdd Day,Gannet,40\n"), "--accept")
    assert found["rows"][0]["what"] == "40 sinkings in at most 30 sorties: look at the sheet again"
    assert _sunk(fought) == [("Halberd", 2)]


def test_every_row_that_can_not_be_meant_is_named_at_once(fought: Run, tmp_path: Path) -> None:
    text = "battle,ship,sank\nMay Balls,Halberd,x\nNever,Halbrd,1\nMay Balls,Gannet,0\nMay Balls,Ganet,1\n"
    refused = fought("sortie", "reconcile", _sheet(tmp_path, text))
    assert "3 of 4 rows refused" in refused.stderr
    for row, why in ((2, "'x' is no number of sinkings"), (3, "no battle called 'Never'"), (5, "'Ganet'")):
        assert any(f"row {row}: " in line and why in line for line in refused.stderr.splitlines())
    assert "'Halbrd'" in refused.stderr


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("battle,ship,sank\nMay Balls,Halbrd,1\n", "no ship called 'Halbrd'"),
        ("battle,ship,sank\nNever,Halberd,1\n", "no battle called 'Never'"),
        ("battle,ship,sank\nOff,Halberd,1\n", "Off was called off"),
        ("battle,ship,sank\nTo come,Halberd,1\n", "To come is still to come"),
        ("ship,sank\nHalberd,1\n", "no battle is named"),
        ("battle,ship,sank\nMay Balls,Halberd,maybe\n", "is no number of sinkings"),
        ("battle,ship,sank\nMay Balls,Halberd,-1\n", "is no number of sinkings"),
        ("battle,ship,sank\nMay Balls,Halberd,1000\n", "is no number of sinkings"),
    ],
)
def test_a_row_that_can_not_be_meant_is_named_and_nothing_is_written(
    fought: Run, tmp_path: Path, text: str, why: str
) -> None:
    refused = fought("sortie", "reconcile", _sheet(tmp_path, text), "--accept")
    assert (refused.exit_code, why in refused.stderr, "row 2" in refused.stderr) == (4, True, True)
    assert _sunk(fought) == [("Halberd", 2)]


def test_a_file_without_the_columns_or_not_there_is_not_found(fought: Run, tmp_path: Path) -> None:
    assert fought("sortie", "reconcile", _sheet(tmp_path, "ship,score\nHalberd,1\n")).exit_code == 3
    assert fought("sortie", "reconcile", tmp_path / "none.csv").exit_code == 3
