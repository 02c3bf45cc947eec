"""Every failure a user can meet, through the installed program: one clear message, one exit code, nothing written."""

from __future__ import annotations

import ctypes
import json
import os
import shutil
import signal
import sqlite3
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from maintain import errors
from maintain.records.schema_version import HEAD
from tests.conftest import Answer, Run

ADD = ("ship", "add", "Halberd")


def _classes() -> list[type[errors.MaintainError]]:
    return errors.MaintainError.__subclasses__()


def _assert_told(answer: Answer, exit_code: int, *words: str) -> None:
    """One sentence and its mend on stderr, nothing on stdout, no traceback."""
    assert answer.exit_code == exit_code, answer
    assert answer.stdout == ""
    message, hint = answer.stderr.splitlines()
    assert message.startswith("error: ")
    assert hint.startswith("hint: ")
    for word in words:
        assert word in answer.stderr


def test_every_class_has_a_code_and_an_exit_code_of_its_own() -> None:
    taken = [each.exit_code for each in _classes()]
    assert len(set(taken)) == len(taken)
    assert len({each.code for each in _classes()}) == len(taken)
    assert not set(taken) & {0, 1, 2, 10, 130}, "these belong to success, bugs, usage, `due --exit-code` and Ctrl-C"
    assert max(taken) < 126, "a shell keeps 126 and more for itself"


def test_every_class_is_listed_where_the_classes_are_defined() -> None:
    for each in _classes():
        assert f"{each.__name__} " in (errors.__doc__ or "")


def test_a_missing_database_exits_3_and_none_is_made(run_process: Run, tmp_path: Path) -> None:
    missing = tmp_path / "mistyped.db"
    _assert_told(run_process("ship", "list", db=missing), 3, "no database at", "maintain init")
    _assert_told(run_process(*ADD, db=missing), 3, "no database at", "maintain init")
    assert not missing.exists()


@pytest.mark.parametrize("words", [("db", "status"), ("db", "upgrade")], ids=" ".join)
def test_keeping_a_missing_database_in_order_exits_3_too(run_process: Run, tmp_path: Path, words: list[str]) -> None:
    missing = tmp_path / "mistyped.db"
    _assert_told(run_process(*words, db=missing), 3, "no database at", "maintain init")
    assert not missing.exists()


def test_an_unknown_name_exits_3_and_suggests_the_nearest(run_process: Run) -> None:
    assert run_process(*ADD).exit_code == 0
    _assert_told(
        run_process("ship", "state", "Halbard", "lost"), 3, "no ship called 'Halbard'", "did you mean Halberd?"
    )


def test_a_refused_record_exits_4_and_nothing_is_written(run_process: Run, club: Path) -> None:
    assert run_process(*ADD).exit_code == 0
    before = _rows(club)
    _assert_told(run_process("ship", "add", "HALBERD"), 4, "there is a ship Halberd already")
    assert _rows(club) == before


def test_a_date_that_is_none_exits_4(run_process: Run) -> None:
    _assert_told(run_process(*ADD, "--since", "31.12.2025"), 4, "--since", "2026-05-03")


@pytest.mark.parametrize("schema", ["0001", "9999"], ids=["older", "newer"])
def test_another_schema_exits_6_and_the_file_stays_as_it_was(run_process: Run, club: Path, schema: str) -> None:
    with sqlite3.connect(club) as connection:
        connection.execute("UPDATE alembic_version SET version_num = ?", (schema,))
    connection.close()
    mend = "maintain db upgrade" if schema < HEAD else "install a newer maintain"
    for words in (ADD, ("ship", "list")):
        _assert_told(run_process(*words), 6, schema, HEAD, mend)
    assert _rows(club, "ship") == []


def test_a_newer_schema_is_never_upgraded(run_process: Run, club: Path) -> None:
    with sqlite3.connect(club) as connection:
        connection.execute("UPDATE alembic_version SET version_num = '9999'")
    connection.close()
    _assert_told(run_process("db", "upgrade"), 6, "9999")


def test_a_locked_database_exits_7_for_writers_and_serves_readers(run_process: Run, club: Path) -> None:
    other = sqlite3.connect(club, isolation_level=None)
    other.execute("BEGIN IMMEDIATE")
    try:
        assert run_process("ship", "list").exit_code == 0
        _assert_told(run_process(*ADD), 7, "another program is writing", "try again")
    finally:
        other.execute("ROLLBACK")
        other.close()
    assert run_process(*ADD).exit_code == 0


def test_two_writers_wait_for_each_other(club: Path) -> None:
    def start(name: str) -> subprocess.Popen[bytes]:
        command = [Path(sys.executable).with_name("maintain"), "ship", "add", name, "--db", club]
        return subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE)

    writers = [start(f"Ship {number}") for number in range(4)]
    assert [(each.communicate(timeout=60)[1], each.returncode) for each in writers] == [(b"", 0)] * 4
    assert len(_rows(club, "ship")) == 4


@pytest.mark.parametrize("content", [b"tag,family\nS-01,servo\n" * 100, b"\0" * 4096, b"x"])
def test_a_file_that_is_no_database_exits_11_and_is_left_alone(
    run_process: Run, tmp_path: Path, content: bytes
) -> None:
    path = tmp_path / "parts.csv"
    path.write_bytes(content)
    for words in (ADD, ("ship", "list"), ("db", "status"), ("db", "upgrade")):
        _assert_told(run_process(*words, db=path), 11)
    assert path.read_bytes() == content
    assert [each.name for each in tmp_path.iterdir() if each.name.startswith("parts.csv")] == ["parts.csv"]


def test_another_programs_database_exits_11(run_process: Run, tmp_path: Path) -> None:
    path = tmp_path / "other.db"
    with sqlite3.connect(path) as connection:
        connection.execute("CREATE TABLE bookmark (url TEXT)")
    connection.close()
    for words in (ADD, ("ship", "list"), ("db", "status"), ("db", "upgrade")):
        _assert_told(run_process(*words, db=path), 11)


def test_a_folder_is_no_database(run_process: Run, tmp_path: Path) -> None:
    _assert_told(run_process("ship", "list", db=tmp_path), 3, "no database at")
    _assert_told(run_process("init", db=tmp_path), 4, "exists already")


def test_init_never_writes_over_a_file(run_process: Run, club: Path) -> None:
    before = _rows(club)
    _assert_told(run_process("init"), 4, "exists already")
    assert _rows(club) == before


def test_init_that_fails_leaves_no_file(run_process: Run, tmp_path: Path) -> None:
    path = tmp_path / "new.db"
    _assert_told(run_process("init", "--currency", "EURO", db=path), 4, "three letters")
    assert not path.exists()


@pytest.fixture
def read_only(club: Path, tmp_path: Path) -> Iterator[Path]:
    """A database that may be read and not written, in such a folder."""
    folder = tmp_path / "read-only"
    folder.mkdir()
    shutil.copyfile(club, folder / "club.db")
    (folder / "club.db").chmod(0o444)
    folder.chmod(0o555)
    yield folder / "club.db"
    folder.chmod(0o755)


def _held_back(*words: str, db: Path) -> Answer:
    """Run the program as somebody whom file permissions hold back, which they don't do to root."""
    command = [Path(sys.executable).with_name("maintain"), *words]
    env = {**os.environ, "MAINTAIN_DB": str(db), "MAINTAIN_WHO": "tester"}
    drop = _drop_roots_privileges if os.geteuid() == 0 else None
    try:
        done = subprocess.run(
            command, env=env, preexec_fn=drop, capture_output=True, text=True, timeout=60, check=False
        )
    except subprocess.SubprocessError:
        pytest.skip("root may not give up its privileges here, so that no permission holds it back")
    return Answer(done.returncode, done.stdout, done.stderr)


def _drop_roots_privileges() -> None:
    """Give up the capabilities by which root passes over file permissions, for the program to be started."""
    drop_from_bounding_set, pass_over_writing, pass_over_reading = 24, 1, 2
    prctl = ctypes.CDLL(None).prctl
    if any(prctl(drop_from_bounding_set, each, 0, 0, 0) for each in (pass_over_writing, pass_over_reading)):
        raise PermissionError


def test_a_disk_that_cannot_be_written_exits_11_and_can_be_read(read_only: Path) -> None:
    assert _held_back("ship", "list", db=read_only).exit_code == 0
    _assert_told(_held_back(*ADD, db=read_only), 11, "can't be written", "copy it")


@pytest.mark.parametrize("name", ["new.db", "folder/new.db"])
def test_making_a_database_where_none_can_be_made_exits_11(read_only: Path, name: str) -> None:
    path = read_only.parent / name
    _assert_told(_held_back("init", db=path), 11, str(path.parent))
    assert not path.exists()


@pytest.mark.parametrize("words", [ADD, ("ship", "list"), ("db", "status"), ("init",)], ids=" ".join)
def test_a_folder_that_may_not_be_entered_exits_11(read_only: Path, words: tuple[str, ...]) -> None:
    read_only.parent.chmod(0o000)
    _assert_told(_held_back(*words, db=read_only), 11, str(read_only.parent))


def test_wrong_usage_exits_2(run_process: Run) -> None:
    for words in (
        ("no-such-command",),
        ("ship", "add"),
        ("ship", "list", "--no-such-option"),
        ("ship", "state", "x", "y"),
    ):
        answer = run_process(*words)
        assert answer.exit_code == 2
        assert "Traceback" not in answer.stderr


def test_a_bug_shows_its_traceback_and_exits_1(club: Path) -> None:
    code = (
        "from maintain.services import ships\n"
        "def broken(desk): raise ZeroDivisionError('a bug')\n"
        "ships.listing = broken\n"
        "import sys; sys.argv = ['maintain', 'ship', 'list']\n"
        "from maintain.__main__ import main; main()\n"
    )
    env = {**os.environ, "MAINTAIN_DB": str(club)}
    done = subprocess.run([sys.executable, "-c", code], env=env, capture_output=True, text=True, check=False)
    assert done.returncode == 1
    assert "Traceback" in done.stderr
    assert "ZeroDivisionError: a bug" in done.stderr


def test_ctrl_c_exits_130_and_leaves_the_records_as_they_were(club: Path) -> None:
    before = _rows(club)
    other = sqlite3.connect(club, isolation_level=None)
    other.execute("BEGIN IMMEDIATE")  # the program waits for this writer, so that the signal finds it at work
    command = [Path(sys.executable).with_name("maintain"), *ADD, "--db", club]
    process = subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)
    time.sleep(4)
    process.send_signal(signal.SIGINT)
    _, said = process.communicate(timeout=30)
    other.execute("ROLLBACK")
    other.close()
    assert process.returncode == 130
    assert "Traceback" not in said
    assert _rows(club) == before


def test_a_reader_that_goes_away_is_no_failure(club: Path) -> None:
    command = f"'{Path(sys.executable).with_name('maintain')}' journal --json --db '{club}' | true"
    done = subprocess.run(["bash", "-c", command], capture_output=True, text=True, timeout=60, check=False)
    assert done.stderr == ""


def test_with_json_a_failure_is_one_document_on_stdout(run_process: Run) -> None:
    answer = run_process("ship", "state", "nobody", "lost", "--json")
    assert (answer.exit_code, answer.stderr) == (3, "")
    assert json.loads(answer.stdout)["error"].keys() >= {"code", "message", "hint"}


def _rows(path: Path, table: str = "change_row") -> list[tuple[object, ...]]:
    connection = sqlite3.connect(path)
    rows = connection.execute(f"SELECT * FROM {table}").fetchall()
    connection.close()
    return rows
