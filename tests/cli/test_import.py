"""maintain import: everything is checked, all faults are told at once, all rows are written or none."""

from __future__ import annotations

import signal
import sqlite3
import subprocess
import sys
import time
from collections.abc import Callable
from datetime import date, datetime
from pathlib import Path
from typing import Any

import pytest

from tests.conftest import Run
from tests.database import dump

FILES = {
    "members.csv": """
        Member
        Avery
        Bo
        """,
    "ships.csv": """
        Ship,Captain,State since
        Halberd,avery,2024-03-01
        Gannet,,
        """,
    "families.csv": """
        Family,Category,Unit cost,Weight g
        micro servo,servo,12.50,9.5
        """,
    "positions.csv": """
        Ship,Position,System,Zone,Dependence,Powered by
        Halberd,rudder-servo,steering,bilge,vital,Halberd/battery
        Halberd,battery,propulsion,sealed box,vital,
        """,
    "parts.csv": """
        Tag,Family,Acquired
        H-01,micro servo,2024
        H-02,micro servo,2024-06
        """,
    "placements.csv": """
        Part,Place,Position,From,Until,Reason
        H-01,installed,halberd/rudder-servo,2024-03-01,2025-05-03,failed
        H-02,installed,halberd/rudder-servo,2025-05-03,,
        """,
    "sorties.csv": """
        Ship,Sailed on,Number,Wetness,Ending,Sinking cause,Minutes under
        Halberd,2025-05-03,1,W1,recall,,
        Halberd,2025-05-03,2,w3,sank,damage,4
        """,
    "openings.csv": """
        Ship,Sortie,Zone,Opened on,Found
        Halberd,Halberd 2025-05-03 #2,sealed box,2025-05-03,dry
        """,
    "movements.csv": """
        Family,Quantity,From,To,Moved on
        micro servo,2,supplier,pool,2025-05-03
        micro servo,2,supplier,pool,2025-05-03
        """,
}
Write = Callable[..., Path]


@pytest.fixture
def files(tmp_path: Path) -> Write:
    """Write files, those of FILES unless others are given, and return their folder."""

    def write(given: dict[str, str] = FILES) -> Path:
        folder = tmp_path / "files"
        folder.mkdir(exist_ok=True)
        for name, text in given.items():
            lines = [line.strip() for line in text.strip().splitlines()]
            (folder / name).write_text("\n".join(lines) + "\n", encoding="utf-8")
        return folder

    return write


def _count(path: Path, table: str) -> Any:
    connection = sqlite3.connect(path)
    try:
        return connection.execute(f"SELECT count(*) FROM {table}").fetchone()[0]
    finally:
        connection.close()


def test_a_folder_is_imported_and_the_same_folder_again_changes_nothing(run: Run, files: Write, club: Path) -> None:
    first = run("import", files(), "--json").json["record"]
    assert (first["new"], first["changed"], first["known"]) == (16, 0, 0)
    before = dump(club)
    again = run("import", files())
    assert again.stdout.strip().endswith("0 new, 16 known already")
    assert dump(club) == before


def test_undo_takes_a_whole_import_back(run: Run, files: Write, club: Path) -> None:
    assert run("import", files()).exit_code == 0
    assert run("undo").exit_code == 0
    assert {
        table: _count(club, table) for table in ("member", "ship", "position", "placement", "sortie")
    } == dict.fromkeys(("member", "ship", "position", "placement", "sortie"), 0)


def test_a_dry_run_counts_and_writes_nothing(run: Run, files: Write, club: Path) -> None:
    before = dump(club)
    answer = run("import", files(), "--dry-run")
    assert "would import" in answer.stdout
    assert "sorties.csv: 2 new" in answer.stdout
    assert dump(club) == before


def test_a_row_that_differs_is_changed_and_a_column_that_is_missing_is_left_alone(run: Run, files: Write) -> None:
    run("import", files())
    answer = run("import", files({"ships.csv": "Ship,Type\nHALBERD,cruiser\nGannet,"}), "--json")
    assert answer.json["record"]["files"]["ships.csv"] == {"new": 0, "changed": 1, "known": 1}
    halberd = next(row for row in run("ship", "list", "--json").json["rows"] if row["name"].lower() == "halberd")
    assert (halberd["captain"], halberd["type"]) == ("Avery", "cruiser")


def test_a_row_that_was_recorded_by_hand_is_known_again(run: Run, files: Write, club: Path) -> None:
    assert run("member", "add", "Avery").exit_code == 0
    assert run("import", files({"members.csv": "Member\navery\nBo"}), "--json").json["record"]["new"] == 1
    assert _count(club, "member") == 2


def test_all_faults_of_all_files_are_told_at_once_with_file_row_and_column(run: Run, files: Write, club: Path) -> None:
    folder = files()
    files(
        {
            "ships.csv": "Ship,Captain,State,Wieght\nHalberd,Avry,afloat,1\nhalberd,,,\nGannet,,,",
            "families.csv": "Family,Category,Unit cost,Weight g\nmicro servo,servo,12.505,1.234,x\n,servo,,",
            "placements.csv": (
                "Part,Place,Position,From,Until\nH-01,installed,Halberd/rudder-servo,2024-03-01,2025-05-03\n"
                "H-02,installed,Halberd/rudder-servo,2025-05-02,\nH-01,pool,,2024-04-01,2024-05-01\n"
                "H-02,installed,,03/05/2026,\nH-01,pool,,2026-05-03,2026-05-02"
            ),
            "sorties.csv": "Ship,Sailed on,Number,Wetness,Ending\nGannet,2025-05-03,1,W4,recall\nGannet,2025-05-03,1,,",
            "positions.csv": (
                "Ship,Position,System,Zone,Dependence,Powered by\n"
                "Halberd,rudder-servo,steering,bilge,vital,Halberd/battery\n"
                "Halberd,battery,propulsion,sealed box,vital,Halberd/rudder-servo"
            ),
            "ship.csv": "Ship\nx",
        }
    )
    before = dump(club)
    answer = run("import", folder, "--json")
    assert answer.exit_code == 8
    told = {(fault["file"], fault["row"], fault["column"]) for fault in answer.json["error"]["faults"]}
    assert told >= {
        ("ship.csv", 0, ""),  # no such file
        ("ships.csv", 1, "Wieght"),  # no such heading
        ("ships.csv", 2, "Captain"),  # no such member
        ("ships.csv", 2, "State"),  # no such word
        ("ships.csv", 3, "Ship"),  # the same name
        ("families.csv", 2, ""),  # more cells than headings
        ("families.csv", 2, "Unit cost"),  # a third decimal
        ("families.csv", 3, "Family"),  # empty
        ("positions.csv", 2, "Powered by"),  # in a circle
        ("placements.csv", 3, "Position"),  # two parts
        ("placements.csv", 4, "Part"),  # two places
        ("placements.csv", 5, "From"),  # ambiguous day
        ("placements.csv", 5, "Position"),  # installed nowhere
        ("placements.csv", 6, "Until"),  # before its beginning
        ("sorties.csv", 2, "Wetness"),  # sank without sinking
        ("sorties.csv", 3, "Number"),  # twice
    }
    assert all(fault["what"] and fault["mend"] for fault in answer.json["error"]["faults"])
    assert dump(club) == before
    words = run("import", folder)
    assert words.exit_code == 8
    assert "ships.csv row 2, Captain: no member called 'Avry' (did you mean Avery?)" in words.stderr
    assert "Traceback" not in words.stderr


@pytest.mark.parametrize(
    ("text", "encoding"),
    [
        ("Member;NOTE\r\nAvery;a, b\r\n;\r\n\r\n", "utf-8-sig"),
        ('"note"\t"member"\n"a, b"\t"Avery"\n', "utf-8"),
        ('Member,Note\rAvery,"a, b"\r', "utf-8"),
    ],
    ids=["semicolons, byte order mark, blank rows", "tabs, other order", "old line ends"],
)
def test_files_are_taken_as_spreadsheets_of_any_country_save_them(
    run: Run, tmp_path: Path, club: Path, text: str, encoding: str
) -> None:
    path = tmp_path / "members.csv"
    path.write_bytes(text.encode(encoding))
    assert run("import", path).exit_code == 0
    connection = sqlite3.connect(club)
    assert connection.execute("SELECT name, note FROM member").fetchall() == [("Avery", "a, b")]
    connection.close()


@pytest.mark.parametrize(
    ("name", "content", "words"),
    [
        ("members.csv", "Member\nAv\xe9ry\n".encode("latin-1"), "row 2"),
        ("members.csv", b'Member,Note\nAvery,"not closed\n', "quotation mark"),
        ("members.csv", b"", "Member"),
        ("members.csv", b"Member,Uid\nAvery,17\n", "uid"),
        ("members.csv", b"Member,Uid\nAvery,%b\nBo,%b\n" % (b"a" * 32, b"a" * 32), "row 2 too"),
        ("club.xlsx", b"not a workbook", "not an XLSX file"),
        ("club.csv", b"Club,Currency\nMill Pond,EUR\nOther,EUR\n", "row 2"),
    ],
)
def test_a_file_that_cannot_be_read_is_refused_in_words(
    run: Run, tmp_path: Path, name: str, content: bytes, words: str
) -> None:
    path = tmp_path / name
    path.write_bytes(content)
    answer = run("import", path)
    assert answer.exit_code == 8
    assert words in answer.stderr


def test_nothing_to_read_exits_3(run: Run, tmp_path: Path) -> None:
    (tmp_path / "bare").mkdir()
    assert run("import", tmp_path / "bare").exit_code == 3
    assert run("import", tmp_path / "missing").exit_code == 3


def test_a_name_of_several_rows_is_refused_and_their_uids_are_told(run: Run, files: Write) -> None:
    failures = "Part,Found on,Mode,Secondary,Caused by\nH-01,2025-05-03,dead,,\nH-01,2025-05-03,slow,,"
    assert run("import", files({**FILES, "failures.csv": failures})).exit_code == 0
    more = failures + "\nH-02,2025-05-03,dead,yes,H-01 2025-05-03 #0"
    answer = run("import", files({"failures.csv": more}))
    assert answer.exit_code == 8
    assert "could be any of 2" in answer.stderr


def test_rows_that_trade_names_are_refused_in_words_and_nothing_is_written(run: Run, files: Write, club: Path) -> None:
    one, other = "1" * 32, "2" * 32
    assert run("import", files({"members.csv": f"Member,Uid\nAvery,{one}\nBo,{other}"})).exit_code == 0
    before = dump(club)
    answer = run("import", files({"members.csv": f"Member,Uid\nBo,{one}\nAvery,{other}"}))
    assert answer.exit_code == 8
    assert "two steps" in answer.stderr
    assert dump(club) == before


def test_dates_and_numbers_of_a_workbook_are_read_as_they_are_shown(run: Run, tmp_path: Path, club: Path) -> None:
    import openpyxl

    book = openpyxl.Workbook()
    book.active.title = "Venues"
    for row in (["Venue", "Depth m"], ["Mill Pond", 1.5], [None, None]):
        book.active.append(row)
    battles = book.create_sheet("battles.csv")
    battles.append(["Battle", "Venue", "From", "Until", "State", "Resupply"])
    battles.append(["Spring", "mill pond", datetime(2026, 5, 3), date(2026, 5, 4), "fought", True])  # noqa: DTZ001  (as a workbook has it)
    book.create_sheet("empty")
    book.save(tmp_path / "club.xlsx")
    assert run("import", tmp_path / "club.xlsx").exit_code == 0
    connection = sqlite3.connect(club)
    found = connection.execute("SELECT from_on, until_on, resupply, depth_m FROM battle JOIN venue").fetchall()
    connection.close()
    assert found == [("2026-05-03", "2026-05-04", 1, 1.5)]


def test_a_locked_database_exits_7_and_a_dry_run_needs_no_lock(run_process: Run, files: Write, club: Path) -> None:
    other = sqlite3.connect(club, isolation_level=None)
    other.execute("BEGIN IMMEDIATE")
    try:
        assert run_process("import", files(), "--dry-run").exit_code == 0
        assert run_process("import", files()).exit_code == 7
    finally:
        other.execute("ROLLBACK")
        other.close()


@pytest.mark.parametrize("stop", [signal.SIGKILL, signal.SIGINT], ids=["kill -9", "Ctrl-C"])
def test_an_import_stopped_in_the_middle_leaves_the_records_as_they_were(
    tmp_path: Path, club: Path, stop: signal.Signals
) -> None:
    """The signal falls while the lock is held, which is proved by trying to take it just before."""
    path = tmp_path / "members.csv"
    path.write_text("Member\n" + "".join(f"Member {number}\n" for number in range(40_000)))
    before = dump(club)
    command = [Path(sys.executable).with_name("maintain"), "import", path, "--db", club]
    for _ in range(3):
        process = subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE)
        held = _wait_until_locked(club, process)
        process.send_signal(stop)
        said = process.communicate(timeout=180)[1]
        if held and process.returncode != 0:
            break
    assert process.returncode == (-stop if stop == signal.SIGKILL else 130)
    assert b"Traceback" not in said
    assert dump(club) == before


def _wait_until_locked(club: Path, process: subprocess.Popen[bytes]) -> bool:
    """True as soon as the process holds the lock of a writer; False if it ended first."""
    connection = sqlite3.connect(club, isolation_level=None, timeout=0)
    try:
        while process.poll() is None:
            try:
                connection.execute("BEGIN IMMEDIATE")
                connection.execute("ROLLBACK")
            except sqlite3.OperationalError:
                return True
            time.sleep(0.01)
        return False
    finally:
        connection.close()
