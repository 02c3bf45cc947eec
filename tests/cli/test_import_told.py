"""What import says: faults once and only their own, what is yet to come, workbooks by their sheets."""

from __future__ import annotations

import sqlite3
from pathlib import Path

import pytest

from maintain.services.unit import Desk
from tests.conftest import Run


def test_a_doubled_row_is_the_only_fault_it_makes(run: Run, tmp_path: Path) -> None:
    (tmp_path / "in").mkdir()
    files = {
        "ships.csv": "Ship\nHalberd\nhalberd\n",
        "positions.csv": "Ship,Position,System,Zone,Dependence\nHalberd,pump,pumping,bilge,vital\n",
        "families.csv": "Family,Category\npump,pump\n",
        "fits.csv": "Position,Family\nHalberd/pump,pump\n",
        "sorties.csv": "Ship,Sailed on,Number\nHalberd,2026-05-03,1\nHalberd,2026-05-03,2\n",
        "openings.csv": "Ship,Sortie,Zone,Opened on,Found\nHalberd,Halberd 2026-05-03 #2,bilge,2026-05-03,dry\n",
    }
    for name, text in files.items():
        (tmp_path / "in" / name).write_text(text)
    answer = run("import", tmp_path / "in", "--json")
    assert answer.exit_code == 8
    assert [(fault["file"], fault["row"]) for fault in answer.json["error"]["faults"]] == [("ships.csv", 3)]


@pytest.mark.parametrize(
    ("file", "text"),
    [
        ("sorties.csv", "Ship,Sailed on,Number\nHalberd,2026-06-02,1\n"),
        ("failures.csv", "Part,Found on,Mode\nP1,2026-06-02,dead\n"),
    ],
)
def test_what_is_yet_to_come_has_not_happened(pond: Desk, run: Run, tmp_path: Path, file: str, text: str) -> None:
    run("part", "add", "--family", "pump", "--tag", "P1")
    (tmp_path / file).write_text(text)
    answer = run("import", tmp_path / file)
    assert answer.exit_code == 8
    assert "2026-06-02 is in the future (write the day it happened; today is 2026-06-01" in answer.stderr
    assert run("import", tmp_path / file, "--on", "2026-06-02").exit_code == 0


def test_scripts_get_the_faults_once(run: Run, tmp_path: Path) -> None:
    (tmp_path / "members.csv").write_text("Member\nA/B\nC/D\n")
    error = run("import", tmp_path / "members.csv", "--json").json["error"]
    assert error["message"] == "2 faults found, nothing was written"
    assert len(error["faults"]) == 2
    assert "members.csv row 2" in run("import", tmp_path / "members.csv").stderr


def test_a_workbook_is_told_by_its_sheets_and_export_makes_one_of_its_name(
    pond: Desk, run: Run, tmp_path: Path, template: Path
) -> None:
    book = tmp_path / "all.xlsx"
    assert run("export", book).exit_code == 0
    assert book.is_file()
    other = tmp_path / "other.db"
    with sqlite3.connect(template) as made, sqlite3.connect(other) as copy:
        made.backup(copy)
    told = run("import", book, db=other).stdout
    assert "all.xlsx [ships]: 2 new" in told
    assert ".csv" not in told
    assert run("export", book).exit_code == 4
