"""The demo club: written from its truth and nothing else, accepted by the records, and true to its own parameters."""

from __future__ import annotations

import json
import math
import shutil
import subprocess
import sys
from collections import Counter
from datetime import date
from pathlib import Path
from typing import Any

import pytest
import sqlalchemy as sa

from maintain.records import tables as t
from maintain.records.engine import make_engine
from maintain.services import club, exporting, importing
from maintain.services.unit import Desk

FOLDER = Path(__file__).resolve().parent.parent / "demo_fleet"
TODAY = date(2026, 9, 20)


@pytest.fixture(scope="module")
def truth() -> Any:
    return json.loads((FOLDER / "truth.json").read_text(encoding="utf-8"))


@pytest.fixture(scope="module")
def ahead() -> Any:
    return json.loads((FOLDER / "truth_parts.json").read_text(encoding="utf-8"))


@pytest.fixture(scope="module")
def desk(tmp_path_factory: pytest.TempPathFactory) -> Desk:
    """The demo club in a database of its own."""
    found = Desk(str(tmp_path_factory.mktemp("demo") / "club.db"), "tester", TODAY)
    club.create(found.db)
    importing.import_folder(found, FOLDER)
    return found


def _rows(desk: Desk, query: sa.Select[Any]) -> list[Any]:
    with make_engine(desk.db, "read").connect() as connection:
        return list(connection.execute(query))


def test_the_script_writes_the_committed_files_byte_for_byte(tmp_path: Path) -> None:
    copy = shutil.copytree(FOLDER, tmp_path / "fleet", ignore=shutil.ignore_patterns("__pycache__"))
    made = subprocess.run(
        [sys.executable, copy / "make_fleet.py", "--check"], capture_output=True, text=True, check=False
    )
    assert (made.returncode, made.stderr) == (0, "")


def test_the_check_notices_a_changed_file(tmp_path: Path) -> None:
    copy = shutil.copytree(FOLDER, tmp_path / "fleet", ignore=shutil.ignore_patterns("__pycache__"))
    with (copy / "failures.csv").open("a", encoding="utf-8") as file:
        file.write("\n")
    made = subprocess.run(
        [sys.executable, copy / "make_fleet.py", "--check"], capture_output=True, text=True, check=False
    )
    assert made.returncode == 1
    assert made.stderr == "failures.csv differs from what the truth gives\n"


def test_export_gives_back_the_committed_files(desk: Desk, tmp_path: Path) -> None:
    exporting.export(desk, folder=tmp_path / "out", workbook=None, replace=False)
    for path in FOLDER.glob("*.csv"):
        assert (tmp_path / "out" / path.name).read_bytes() == path.read_bytes(), path.name


def test_importing_again_changes_nothing(desk: Desk) -> None:
    assert ": 0 new, " in importing.import_folder(desk, FOLDER).did


def test_parts_aboard_in_the_records_are_those_of_the_truth(desk: Desk, ahead: Any) -> None:
    aboard = sa.select(t.part.c.tag, t.ship.c.name, t.position.c.name).select_from(
        t.placement.join(t.part, t.part.c.id == t.placement.c.part_id)
        .join(t.position, t.position.c.id == t.placement.c.position_id)
        .join(t.ship, t.ship.c.id == t.position.c.ship_id)
    )
    recorded = {tuple(row) for row in _rows(desk, aboard.where(t.placement.c.until_on.is_(None)))}
    assert recorded == {(row["tag"], row["ship"], row["position"]) for row in ahead["parts"]}
    assert len(recorded) >= 280


def test_several_categories_fail_often_and_others_hardly_ever(desk: Desk) -> None:
    query = (
        sa.select(t.family.c.category)
        .select_from(t.failure.join(t.part).join(t.family))
        .where(~t.failure.c.secondary, t.failure.c.cause != "ball hit")
    )
    failures = Counter(row.category for row in _rows(desk, query))
    assert 120 <= failures.total() <= 200
    assert sum(count >= 20 for count in failures.values()) >= 4
    assert sum(count <= 5 for count in failures.values()) >= 2


def test_the_records_hold_every_kind_of_trouble(desk: Desk) -> None:
    with make_engine(desk.db, "read").connect() as connection:
        empty = [each.name for each in t.RECORDS if not connection.scalar(sa.select(sa.func.count()).select_from(each))]
    assert empty == []
    precisions = Counter(row[0] for row in _rows(desk, sa.select(t.placement.c.from_precision)))
    assert set(precisions) == {"day", "month", "season", "before records"}
    assert {row[0] for row in _rows(desk, sa.select(t.ship.c.state))} == {
        "in commission", "dry dock", "lost", "paid off",
    }  # fmt: skip
    found_by = {row[0] for row in _rows(desk, sa.select(t.failure.c.found_by))}
    assert {"in battle", "pre-battle check", "demand test", "opened", "bench", "unknown"} <= found_by


def test_every_ship_sank_about_as_often_as_her_truth_says(desk: Desk, truth: Any) -> None:
    query = (
        sa.select(t.ship.c.name, t.battle.c.note, t.sortie.c.ending)
        .select_from(t.sortie.join(t.ship, t.ship.c.id == t.sortie.c.ship_id).outerjoin(t.battle))
        .where(sa.or_(t.sortie.c.note.is_(None), t.sortie.c.note != "never found again"))
    )
    expected, sank = Counter[str](), Counter[str]()
    for ship, form, ending in _rows(desk, query):
        factor = truth["formats"][form or "practice"]["sinking_factor"]
        expected[ship] += truth["ships"][ship]["sinking_chance"] * factor  # type: ignore[assignment]
        sank[ship] += ending == "sank"
    for ship, mean in expected.items():
        assert abs(sank[ship] - mean) <= 3.5 * math.sqrt(mean), ship
    assert abs(sank.total() - expected.total()) <= 3.0 * math.sqrt(expected.total())


def test_parts_failed_as_often_as_the_hazard_they_lived_through(monkeypatch: pytest.MonkeyPatch) -> None:
    # Failures less cumulated hazard is a martingale of variance equal to its mean (Aalen 1978, Ann. Stat. 6, 701-726).
    monkeypatch.syspath_prepend(str(FOLDER))
    from book import Book, Chance  # type: ignore[import-not-found]
    from season import Season  # type: ignore[import-not-found]

    for seed in (11, 12):
        season = Season(Book(), Chance(seed))
        season.run()
        lived, failed = Counter[str](), Counter[str]()
        for part in season.fleet.parts:
            lived[part.family.category] += min(part.hazard, part.threshold)
            failed[part.family.category] += part.failed
        for category, hazard in lived.items():
            assert abs(failed[category] - hazard) <= 4.0 * math.sqrt(hazard) + 0.5, (seed, category)


def test_stated_outlook_is_coherent(ahead: Any) -> None:
    assert all(0 <= row["fails_by_next_battle"] <= row["fails_by_meet_end"] <= 1 for row in ahead["parts"])
    for family in ahead["families"]:
        rows = [row for row in ahead["parts"] if row["family"] == family["family"] and not row["failed_already"]]
        # renewals can only add to the first failures
        first = sum(row["fails_by_meet_end"] for row in rows)
        assert first - 0.1 <= family["expected_failures"] <= 1.5 * first + 0.1
        assert family["p10"] <= family["expected_failures"] + 1 <= family["p90"] + 2
