"""What a terminal would obey comes into the records by no command or file, and out of old ones by no answer."""

from __future__ import annotations

import contextlib
import sqlite3
from pathlib import Path

import pytest

from tests.conftest import Run

EVIL = "Ev\x1b[31mil"
TEXTS = (
    ("certificate", "add", "B-1", "--expires", "2027-01-01", "--source", EVIL),
    ("certificate", "add", "B-1", "--expires", "2027-01-01", "--source", "stamp", "--decider", EVIL),
    ("task", "add", "grease", "--every", "1 year", "--source", EVIL),
    ("task", "add", "grease", "--every", "1 year", "--decider", "\u202eEvil"),
    ("reading", "limit", "servo current", "--at-most", "6", "--source", EVIL),
    ("member", "add", "Avery", "--note", "rings\x07"),
    ("member", "add", "Avery", "--who", EVIL),
)


@pytest.mark.parametrize("words", TEXTS, ids=lambda words: " ".join(words[:2]))
def test_a_text_that_a_terminal_would_obey_is_refused(run: Run, words: tuple[str, ...]) -> None:
    assert run("family", "add", "bottle", "--category", "cylinder").exit_code == 0
    assert run("part", "add", "--family", "bottle", "--tag", "B-1").exit_code == 0
    before = run("journal", "--json").stdout
    answer = run(*words)
    assert (answer.exit_code, "holds a control character" in answer.stderr) == (4, True)
    assert "\x1b" not in answer.stderr
    assert run("journal", "--json").stdout == before


def test_a_note_of_several_lines_is_taken(run: Run) -> None:
    assert run("member", "add", "Avery", "--note", "one\ntwo\tthree").exit_code == 0


def test_a_file_of_records_with_such_a_text_is_refused(run: Run, tmp_path: Path) -> None:
    (tmp_path / "members.csv").write_text(f"Member,Note\nAvery,{EVIL}\n")
    answer = run("import", tmp_path)
    assert answer.exit_code == 8
    assert "members.csv row 2, Note" in answer.stderr
    assert "\x1b" not in answer.stdout + answer.stderr


def test_what_an_older_release_took_is_shown_without_its_effect(run: Run, club: Path) -> None:
    assert run("task", "add", "grease", "--every", "1 year", "--ship", "halberd").exit_code == 3
    assert run("ship", "add", "Halberd").exit_code == 0
    assert run("task", "add", "grease", "--every", "1 year", "--ship", "halberd").exit_code == 0
    with contextlib.closing(sqlite3.connect(club)) as connection, connection:
        connection.execute("UPDATE task SET source = ?, note = ?", (EVIL, EVIL))
    for words in (("task", "show", "grease"), ("calendar",), ("task", "list")):
        assert "\x1b" not in run(*words).stdout
    assert "Ev\N{REPLACEMENT CHARACTER}[31mil" in run("task", "show", "grease").stdout


def test_a_blank_is_nobody_who_says_so(run: Run) -> None:
    answer = run("reading", "limit", "servo current", "--at-most", "6", "--source", " ")
    assert (answer.exit_code, "who says so" in answer.stderr) == (4, True)
