"""The roll call: what works is known to be alive, what does not has failed, what is elsewhere is put right."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from maintain.services.unit import Desk
from tests.conftest import Run


@pytest.fixture
def aboard(pond: Desk, run: Run) -> Run:
    """The small fleet with a servo and a pump aboard Halberd since January."""
    for tag, family, where in (("S-01", "standard servo", "rudder-servo"), ("P-01", "pump", "pump")):
        into = ("--into", f"halberd/{where}", "--from", "2026-01-02")
        assert run("part", "add", "--family", family, "--tag", tag, "--origin", "new", *into).exit_code == 0
    return run


def _lines(run: Run) -> dict[str, Any]:
    return {line["position"]: line for line in run("rollcall", "show", "halberd", "--json").json["lines"]}


def _last_good(db: str, tag: str) -> date | None:
    """The last day the lives know a part to have worked."""
    from maintain.records import life_rows
    from maintain.services.unit import Desk, reading

    with reading(Desk(db, "tester", date(2026, 6, 1))) as connection:
        rows = life_rows.read(connection)
    part_id = rows.part["id"][rows.part["tag"].index(tag)]
    seen = zip(rows.evidence["part_id"], rows.evidence["seen_on"], strict=True)
    return max((date.fromisoformat(str(day)) for part, day in seen if part == part_id), default=None)


def test_a_part_that_works_is_known_to_be_alive_that_day(aboard: Run, pond: Desk) -> None:
    assert _last_good(pond.db, "S-01") is None
    assert aboard("rollcall", "answer", "halberd/rudder-servo", "works").exit_code == 0
    assert _last_good(pond.db, "S-01") == date(2026, 6, 1)
    assert _last_good(pond.db, "P-01") is None


def test_an_answer_put_right_takes_its_evidence_back(aboard: Run, pond: Desk) -> None:
    aboard("rollcall", "answer", "halberd/rudder-servo", "works")
    aboard("rollcall", "answer", "halberd/rudder-servo", "not seen")
    assert _last_good(pond.db, "S-01") is None


def test_an_answer_from_a_file_counts_without_a_reading_of_its_own(aboard: Run, pond: Desk, tmp_path: Path) -> None:
    with closing(sqlite3.connect(pond.db)) as connection, connection:
        connection.execute("UPDATE ship SET records_from = '2026-01-01'")
    sailed = ("halberd=W1", "--venue", "Mill Pond", "--day", "2026-02-01")
    assert aboard("sortie", "log", *sailed).exit_code == 0
    (tmp_path / "roll_calls.csv").write_text("Ship,Begun on\nHalberd,2026-04-12\n")
    (tmp_path / "roll_call_answers.csv").write_text(
        "Roll call,Position,Part,Answer,Answered at\n"
        "Halberd 2026-04-12,Halberd/rudder-servo,S-01,works,about noon\n"
        "Halberd 2026-04-12,Halberd/pump,,not seen,about noon\n"
    )
    before = _last_shown(pond.db)
    assert aboard("import", tmp_path).exit_code == 0
    assert before == {"S-01": date(2026, 2, 1), "P-01": date(2026, 2, 1)}
    assert _last_shown(pond.db)["S-01"] == date(2026, 4, 12)
    assert _last_good(pond.db, "P-01") is None


def _last_shown(db: str) -> dict[str, date]:
    """The last day each part was shown to work, as estimates count it."""
    from maintain.core.exposure import day_of
    from maintain.services.lives.columns import as_date
    from maintain.services.lives.history import history
    from maintain.services.lives.shown import last_shown
    from maintain.services.unit import reading

    with reading(Desk(db, "tester", date(2026, 6, 1))) as connection:
        past = history(connection, date(2026, 6, 1))
    tags = dict(zip(past.rows.part["id"], past.rows.part["tag"], strict=True))
    return {tags[part]: as_date(int(day)) for part, day in zip(past.part, day_of(last_shown(past)), strict=True)}


def test_what_does_not_work_is_a_failure_found_at_roll_call(aboard: Run) -> None:
    told = aboard("rollcall", "answer", "halberd/pump", "does not work", "--mode", "won't prime")
    assert "P-01 failed (won't prime) and is out" in told.stdout
    failure = aboard("failure", "list", "--json").json["rows"][0]
    assert (failure["part"], failure["found_by"], failure["found_on"]) == ("P-01", "roll call", "2026-06-01")
    assert _lines(aboard)["pump"]["found"] == "P-01"


def test_what_is_doubted_becomes_a_suspect(aboard: Run) -> None:
    aboard("rollcall", "answer", "halberd/pump", "does not work", "--opens", "suspect")
    assert aboard("failure", "list", "--json").json["rows"] == []
    assert aboard("retest", "P-01", "pass").exit_code == 0


def test_an_empty_position_sends_its_part_home(aboard: Run) -> None:
    told = aboard("rollcall", "answer", "halberd/pump", "empty")
    assert "P-01 is not there; taken to be in the pool" in told.stdout
    assert _lines(aboard)["pump"]["part"] is None


def test_a_part_nobody_knew_of_is_entered_with_unknown_history_and_asked_again(aboard: Run) -> None:
    told = aboard("rollcall", "correct", "halberd/rudder-servo", "XX-9")
    assert "holds XX-9 (new to the records: standard servo)" in told.stdout
    line = _lines(aboard)["rudder-servo"]
    assert (line["part"], line["answer"]) == ("XX-9", None)
    fitted = next(row for row in aboard("show", "halberd", "--json").json["lines"] if row["tag"] == "XX-9")
    assert fitted["use_known"] is False


def test_a_part_recorded_elsewhere_is_moved_here(aboard: Run) -> None:
    aboard(
        "part",
        "add",
        "--family",
        "standard servo",
        "--tag",
        "S-02",
        "--into",
        "gannet/rudder-servo",
        "--from",
        "2026-01-02",
    )
    told = aboard("rollcall", "correct", "halberd/rudder-servo", "s-02")
    assert "S-02 was in Gannet/rudder-servo" in told.stdout
    assert aboard("position", "list", "--ship", "gannet", "--empty", "--json").json["rows"]


def test_a_correction_to_what_stands_there_or_to_a_suspect_is_refused(aboard: Run) -> None:
    assert aboard("rollcall", "correct", "halberd/rudder-servo", "S-01").exit_code == 4
    aboard("rollcall", "answer", "halberd/pump", "does not work", "--opens", "suspect")
    assert aboard("rollcall", "correct", "halberd/pump", "P-01").exit_code == 4


def test_nothing_recorded_can_neither_work_nor_fail(aboard: Run) -> None:
    for answer in ("works", "does not work"):
        refused = aboard("rollcall", "answer", "halberd/bottle", answer)
        assert (refused.exit_code, "no part of Halberd/bottle is recorded" in refused.stderr) == (4, True)
    assert aboard("rollcall", "correct", "halberd/bottle", "C-9").exit_code == 4  # of which family?


def test_a_walk_answers_corrects_takes_back_and_pauses(aboard: Run) -> None:
    positions = [line["position"] for line in aboard("rollcall", "show", "halberd", "--json").json["lines"]]
    keys = ["n"] * len(positions)
    keys[positions.index("rudder-servo")] = "o XX-9\nw good\nu\nw"
    keys[positions.index("pump")] = "d s hums"
    walked = aboard("rollcall", "run", "halberd", input="\n".join(keys))
    assert walked.exit_code == 0
    assert f"all {len(positions)} positions called: 1 work" in walked.stderr
    found = aboard("rollcall", "show", "halberd", "--json").json
    assert found["finished_on"] == "2026-06-01"
    assert _lines(aboard)["pump"]["note"] == "hums"


def test_the_board_names_who_was_not_called_this_half_season(aboard: Run) -> None:
    aboard("rollcall", "answer", "halberd/pump", "works")
    board = aboard("rollcall", "show", "--json").json
    assert board["notes"] == [
        "not called this half season (until 2026-06-30): Gannet",
        "begun, not finished: Halberd",
    ]
    later = aboard("rollcall", "show", "--json", "--on", "2026-07-01").json
    assert later["notes"][0] == "not called this half season (until 2026-12-31): Gannet, Halberd"
    assert {row["ship"]: row["last_on"] for row in later["rows"]} == {"Gannet": None, "Halberd": "2026-06-01"}


def test_the_journal_takes_an_answer_back(aboard: Run) -> None:
    aboard("rollcall", "answer", "halberd/pump", "does not work")
    assert aboard("undo", "--yes").exit_code == 0
    assert _lines(aboard)["pump"]["part"] == "P-01"
    assert aboard("failure", "list", "--json").json["rows"] == []


@pytest.mark.parametrize(
    ("words", "code"),
    [
        (("answer", "halberd/mast", "works"), 3),
        (("answer", "halbrd/pump", "works"), 3),
        (("answer", "halberd/pump", "perhaps"), 2),
        (("correct", "halberd/pump", "12"), 4),
        (("run", "nobody"), 3),
    ],
)
def test_bad_input_is_refused(aboard: Run, words: tuple[str, ...], code: int) -> None:
    assert aboard("rollcall", *words).exit_code == code


def test_a_ship_out_of_service_or_without_positions_is_not_called(aboard: Run) -> None:
    aboard("ship", "add", "Bare")
    aboard("ship", "state", "gannet", "dry dock")
    assert "has no positions to call" in aboard("rollcall", "run", "bare").stderr
    assert "does not sail" in aboard("rollcall", "run", "gannet").stderr


def _where(run: Run, tag: str) -> str:
    rows = run("part", "list", "--json").json["rows"]
    return str(next(row["where"] for row in rows if row["tag"] == tag))


def test_a_part_that_is_scrapped_is_not_put_back_by_a_correction(aboard: Run) -> None:
    aboard("rollcall", "answer", "halberd/pump", "does not work")
    for anyway in ((), ("--anyway",)):
        refused = aboard("rollcall", "correct", "halberd/rudder-servo", "P-01", *anyway)
        assert (refused.exit_code, "P-01 is scrapped since 2026-06-01" in refused.stderr) == (4, True)
    assert (_where(aboard, "P-01"), _where(aboard, "S-01")) == ("scrapped", "Halberd/rudder-servo")


@pytest.mark.parametrize("named", [("P-01",), ("NEW-1", "--family", "pump")])
def test_a_part_of_a_family_that_does_not_fit_is_said_to_fit_or_refused(aboard: Run, named: tuple[str, ...]) -> None:
    refused = aboard("rollcall", "correct", "halberd/rudder-servo", *named)
    assert (refused.exit_code, "is a pump; Halberd/rudder-servo takes" in refused.stderr) == (4, True)
    assert "NEW-1" not in aboard("part", "list").stdout
    assert aboard("rollcall", "correct", "halberd/rudder-servo", *named, "--anyway").exit_code == 0
    assert _where(aboard, named[0]) == "Halberd/rudder-servo"


def test_a_walk_says_that_a_part_fits_anyway(aboard: Run) -> None:
    pump_first = [line["position"] for line in aboard("rollcall", "show", "halberd", "--json").json["lines"]]
    walked_to = "n\n" * pump_first.index("rudder-servo")
    aboard("rollcall", "run", "halberd", input=walked_to + "o P-01 --anyway\n")
    assert _where(aboard, "P-01") == "Halberd/rudder-servo"


def test_a_failed_part_that_is_not_there_becomes_no_spare(aboard: Run) -> None:
    aboard("failure", "log", "S-01", "--mode", "dead", "--cause", "wear", "--to", "stays")
    assert aboard("rollcall", "answer", "halberd/rudder-servo", "empty").exit_code == 0
    assert _where(aboard, "S-01") == "scrapped"


def test_an_answer_does_not_put_a_part_back_that_an_earlier_one_took_out(aboard: Run) -> None:
    aboard("rollcall", "answer", "halberd/pump", "does not work")
    refused = aboard("rollcall", "answer", "halberd/pump", "works")
    assert "P-01 came out and is scrapped since 2026-06-01" in refused.stderr
    assert _lines(aboard)["pump"]["answer"] == "does not work"
