"""What a phone tells of minutes under water and of the opened box, and phones whose clocks are wrong."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from maintain.services.unit import Desk
from tests.conftest import Run
from tests.database import rows
from tests.handovers import BEA, DAY, announce, handed_over, sortie

_SUNK = "SELECT number, wetness, minutes_under FROM sortie JOIN ship ON ship.id = ship_id WHERE ship.name = 'Halberd'"
_BOXES = "SELECT zone, found, number FROM opening JOIN sortie ON sortie.id = sortie_id ORDER BY opening.id"


@pytest.fixture(autouse=True)
def fleet(pond: Desk, run: Run) -> None:
    """Two ships, a battle, a servo."""
    announce(run)


def _bea(folder: Path, *records: dict[str, Any], **more: Any) -> Path:
    return handed_over(folder / "bea.json", *records, device=BEA, name="Bea", **more)


def test_minutes_under_and_the_box_go_with_their_sinking_once(run: Run, club: Path, tmp_path: Path) -> None:
    file = handed_over(tmp_path / "ana.json", sortie("Halberd", "W4", minutes_under=20, box="dry"))
    answer = run("import", file)
    assert "took in ana.json of Ana: 1 new" in answer.stdout
    assert f"Halberd, sealed box opened after sortie 1 of {DAY}: dry" in answer.stdout
    assert rows(club, _SUNK) == [(1, "W4", 20.0)]
    assert rows(club, _BOXES) == [("sealed box", "dry", 1)]
    assert "0 new, 1 known already" in run("import", file).stdout
    assert len(rows(club, _BOXES)) == 1
    assert run("undo").exit_code == 0
    assert rows(club, _BOXES) == []


def test_what_one_phone_leaves_open_the_other_fills_in(run: Run, club: Path, tmp_path: Path) -> None:
    run("import", handed_over(tmp_path / "ana.json", sortie("Halberd", "W3")))
    run("import", _bea(tmp_path, sortie("Halberd", "W3", minutes_under=3, box="damp")))
    assert rows(club, _SUNK) == [(1, "W3", 3.0)]
    assert rows(club, _BOXES) == [("sealed box", "damp", 1)]


def test_two_guesses_of_the_minutes_are_no_quarrel_but_two_findings_are(run: Run, club: Path, tmp_path: Path) -> None:
    run("import", handed_over(tmp_path / "ana.json", sortie("Halberd", "W3", minutes_under=3, box="dry")))
    told = run("import", _bea(tmp_path, sortie("Halberd", "W3", minutes_under=5)))
    assert "3 min under stays" in told.stdout
    assert rows(club, _SUNK) == [(1, "W3", 3.0)]
    assert "who said 5 min under" in rows(club, "SELECT note FROM sortie")[0][0]
    file = _bea(tmp_path, sortie("Halberd", "W3", at="11:24", box="water"))
    refused = run("import", file)
    assert refused.exit_code == 8
    assert "water; recorded as dry" in refused.stderr
    assert run("import", file, "--prefer", "Bea").exit_code == 0
    assert rows(club, _BOXES) == [("sealed box", "water", 1)]


@pytest.mark.parametrize(
    ("facts", "told"),
    [
        ({"minutes_under": 20}, "20 minutes under water are W4, not W3"),
        ({"minutes_under": -1}, "no number of minutes"),
        ({"minutes_under": "long"}, "no number of minutes"),
        ({"box": "mouldy"}, "'mouldy' is no box"),
    ],
)
def test_what_no_page_writes_is_refused(run: Run, club: Path, tmp_path: Path, facts: Any, told: str) -> None:
    answer = run("import", handed_over(tmp_path / "ana.json", sortie("Halberd", "W3", **facts)))
    assert (answer.exit_code, told in answer.stderr) == (8, True), answer.stderr
    assert rows(club, _SUNK) == []


def _ana(folder: Path) -> Path:
    """Ana saw Gannet twice and Halberd sink in her second sortie; her clock is right."""
    return handed_over(
        folder / "ana.json",
        sortie("Gannet", "W1", 1, at="10:00"),
        sortie("Gannet", "W0", 2, at="11:00"),
        sortie("Halberd", "W0", 1, at="10:02"),
        sortie("Halberd", "W3", 2, at="11:20"),
    )


def _early(hour_and_minute: str, day: str = DAY) -> str:
    return f"{day}T{hour_and_minute}:00+02:00"


@pytest.mark.parametrize(("day", "told"), [(DAY, "stands 3 h behind"), ("2025-05-30", "stands 365 days 3 h behind")])
def test_clocks_that_are_always_the_same_apart_still_make_one_sinking(
    run: Run, club: Path, tmp_path: Path, day: str, told: str
) -> None:
    run("import", _ana(tmp_path))
    # Bea missed Halberd's first sortie, and calls the sinking her first; her clock is three hours (and a year) behind.
    seen = (
        sortie("Gannet", "W1", 1, at=_early("07:01", day)),
        sortie("Gannet", "W0", 2, at=_early("08:00", day)),
        sortie("Halberd", "W3", 1, at=_early("08:24", day)),
    )
    answer = run("import", _bea(tmp_path, *seen))
    assert answer.exit_code == 0, answer.stderr
    assert told in answer.stdout
    assert "the same sinking is recorded as sortie 2" in answer.stdout
    assert [row[:2] for row in rows(club, _SUNK)] == [(1, "W0"), (2, "W3")]
    assert "0 new, 3 known already" in run("import", _bea(tmp_path, *seen)).stdout


def test_a_clock_set_right_by_the_time_of_the_hand_over_merges_one_sinking(
    run: Run, club: Path, tmp_path: Path
) -> None:
    run("import", _ana(tmp_path))
    seen = sortie("Halberd", "W3", 1, at="2020-01-01T04:10:00+02:00")
    file = _bea(tmp_path, seen, handed_over_at="2020-01-01T10:50:30+02:00")
    unsure = run("import", file, "--dry-run")
    assert "the clock of Bea is wrong" in unsure.stderr + unsure.stdout
    assert "--clock 'YYYY-MM-DD HH:MM'" in unsure.stderr + unsure.stdout
    answer = run("import", file, "--clock", f"{DAY} 18:00")
    assert "the same sinking is recorded as sortie 2" in answer.stdout
    assert f"(it was {DAY}T11:20" in rows(club, "SELECT note FROM sortie WHERE wetness = 'W3'")[0][0]
    assert "0 new, 1 known already" in run("import", file).stdout


@pytest.mark.parametrize("clock", ["6 pm", "2026-02-30 18:00", "2026-05-20 18:00", "9999-12-31 23:59"])
def test_a_clock_that_can_not_be_is_refused(run: Run, tmp_path: Path, clock: str) -> None:
    answer = run("import", handed_over(tmp_path / "ana.json", sortie("Halberd", "W3")), "--clock", clock)
    assert answer.exit_code == 4, answer.stderr


def test_a_hand_over_from_the_future_is_said_to_be(run: Run, tmp_path: Path) -> None:
    file = handed_over(tmp_path / "ana.json", sortie("Halberd", "W3"), handed_over_at="2026-06-30T18:00:00+02:00")
    assert "Ana handed over on 2026-06-30 by its clock, and today is 2026-06-01" in run("import", file).stdout
