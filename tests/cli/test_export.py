"""maintain export: files for people, put in place whole, never over anything else without being told."""

from __future__ import annotations

import contextlib
import sqlite3
import subprocess
import sys
from pathlib import Path

import pytest

from maintain.exchange.layout import BY_FILE
from tests.conftest import Run


def test_every_table_becomes_a_file_with_headings_even_if_it_is_empty(run: Run, tmp_path: Path) -> None:
    run("ship", "add", "Halberd")
    answer = run("export", tmp_path / "out", "--json").json["record"]
    assert sorted(path.name for path in (tmp_path / "out").iterdir()) == sorted(BY_FILE)
    assert answer["files"]["ships.csv"] == 1
    ships = (tmp_path / "out" / "ships.csv").read_bytes()
    assert ships.startswith(
        b"Ship,Club number,Captain,Type,State,State since,Records from,Note,Uid\nHalberd,,,,in commission,"
    )
    assert b"\r" not in ships


def test_an_earlier_export_is_overwritten_only_when_told(run: Run, tmp_path: Path) -> None:
    run("export", tmp_path / "out")
    run("ship", "add", "Halberd")
    refused = run("export", tmp_path / "out")
    assert refused.exit_code == 4
    assert "battles.csv" in refused.stderr
    assert "--replace" in refused.stderr
    assert b"Halberd" not in (tmp_path / "out" / "ships.csv").read_bytes()
    assert run("export", tmp_path / "out", "--replace").exit_code == 0
    assert b"Halberd" in (tmp_path / "out" / "ships.csv").read_bytes()


def test_a_folder_with_other_files_is_left_alone_even_when_told_to_replace(run: Run, tmp_path: Path) -> None:
    (tmp_path / "out").mkdir()
    (tmp_path / "out" / "letter.txt").write_text("mine")
    for words in ((), ("--replace",)):
        answer = run("export", tmp_path / "out", *words)
        assert answer.exit_code == 4
        assert "letter.txt" in answer.stderr
    assert [path.name for path in (tmp_path / "out").iterdir()] == ["letter.txt"]


@pytest.mark.parametrize("words", [(), ("file",), ("--xlsx", "club.xls"), ("--xlsx", "club.xlsx")], ids=" ".join)
def test_a_place_that_will_not_do_is_refused(
    run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, words: tuple[str, ...]
) -> None:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "file").write_text("mine")
    (tmp_path / "club.xlsx").write_text("mine")
    answer = run("export", *words)
    assert answer.exit_code == 4
    assert "hint" in answer.stderr
    assert (tmp_path / "file").read_text() == (tmp_path / "club.xlsx").read_text() == "mine"


def test_a_disk_that_refuses_exits_11(run: Run, tmp_path: Path) -> None:
    (tmp_path / "file").write_text("mine")
    answer = run("export", tmp_path / "file" / "out")
    assert answer.exit_code == 11
    assert "can't write" in answer.stderr


def test_a_text_that_a_workbook_cannot_hold_is_named(run: Run, club: Path, tmp_path: Path) -> None:
    run("member", "add", "Avery")
    with contextlib.closing(sqlite3.connect(club)) as connection, connection:
        connection.execute("UPDATE member SET note = ?", ("rings\x07",))  # as an older release took it
    answer = run("export", "--xlsx", tmp_path / "club.xlsx")
    assert answer.exit_code == 4
    assert "control character" in answer.stderr
    assert not (tmp_path / "club.xlsx").exists()
    assert run("export", tmp_path / "out").exit_code == 0


def test_a_reference_that_could_mean_two_rows_is_written_as_a_uid(run: Run, tmp_path: Path) -> None:
    files = {
        "families.csv": "Family,Category\nservo,servo\n",
        "parts.csv": "Tag,Family\nS-01,servo\nS-02,servo\n",
        "failures.csv": "Part,Found on,Mode\nS-01,2026-05-03,dead\nS-01,2026-05-03,slow\n",
    }
    (tmp_path / "in").mkdir()
    for name, text in files.items():
        (tmp_path / "in" / name).write_text(text)
    assert run("import", tmp_path / "in").exit_code == 0
    run("export", tmp_path / "out")
    uid = (tmp_path / "out" / "failures.csv").read_text().splitlines()[1].rpartition(",")[2]
    caused = f"Part,Found on,Mode,Secondary,Caused by\nS-02,2026-05-03,dead,yes,{uid}\n"
    (tmp_path / "failures.csv").write_text(caused)
    assert run("import", tmp_path / "failures.csv").exit_code == 0
    run("export", tmp_path / "out", "--replace")
    assert f",{uid}," in (tmp_path / "out" / "failures.csv").read_text().splitlines()[3]


def test_exporting_to_csv_loads_nothing_heavy(club: Path, tmp_path: Path) -> None:
    code = (
        "import sys; from typer.testing import CliRunner; from maintain.cli.app import app;"
        "ran = CliRunner().invoke(app, sys.argv[1:], catch_exceptions=False);"
        "assert ran.exit_code == 0, ran.output; print(*sys.modules)"
    )
    for words in (("export", tmp_path / "out"), ("import", tmp_path / "out")):
        command = [sys.executable, "-c", code, *words, "--db", club]
        done = subprocess.run(command, capture_output=True, text=True, check=True, timeout=60)
        assert not {"numpy", "pandas", "scipy", "lifelines", "matplotlib", "openpyxl", "alembic"} & set(
            done.stdout.split()
        )
