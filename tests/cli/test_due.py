"""`due` as a captain meets it: no battle planned, bad input, words that need no statistics."""

from __future__ import annotations

import csv
import io
import sqlite3
from pathlib import Path

import pytest

from maintain.services import demo
from maintain.services.unit import Desk
from tests.conftest import Run, told

TODAY = ("--on", demo.today().isoformat())
NOTHING_PLANNED = ("--on", "2026-12-01")  # the demo club's last battle planned is over by then


def _one(db: Path, query: str) -> str:
    with sqlite3.connect(db) as connection:
        return str(connection.execute(query).fetchone()[0])


def test_bottles_out_of_test_are_due_whether_or_not_a_battle_is_planned(demo_club: Path, run: Run) -> None:
    shown = told(run("due", *NOTHING_PLANNED, db=demo_club)).stdout
    assert "No battle is planned; plan one with: maintain battle add" in shown
    assert "CB07" in shown
    assert "licensed cylinder inspector" in shown
    answer = run("due", "--json", "--exit-code", *NOTHING_PLANNED, db=demo_club)
    assert answer.exit_code == 10
    assert answer.json["battle"] is None
    assert answer.json["until"] == "2026-12-31"
    assert "No battle is planned" in told(run("ready", "Orrisholt", *NOTHING_PLANNED, db=demo_club)).stdout
    assert "by 2026-12-31 with" in told(run("due", "--explain", "LB25", *NOTHING_PLANNED, db=demo_club)).stdout


def test_an_open_suspect_waits_in_the_list_for_whoever_judges_it(run: Run, pond: Desk) -> None:
    part = ("part", "add", "--family", "standard servo", "--tag", "S-01", "--origin", "new")
    told(run(*part, "--into", "halberd/rudder-servo", "--from", "2026-05-01"))
    told(run("failure", "log", "S-01", "--mode", "erratic", "--cause", "unknown", "--to", "suspect"))
    answer = run("due", "--ship", "halberd", "--exit-code", "--json")
    assert answer.exit_code == 10
    [line] = [each for each in answer.json["lines"] if each["part"] == "S-01"]
    assert line["action"] == "retest the suspect, or condemn it"
    told(run("retest", "S-01", "pass"))
    assert told(run("due", "--json")).json["lines"] == []


def test_the_first_line_says_what_to_do_and_overdue_work_is_called_so(demo_club: Path, run: Run) -> None:
    lines = told(run("due", "--ship", "Orrisholt", *TODAY, db=demo_club)).stdout.splitlines()
    assert lines[1].startswith("First: ")
    assert "overdue" in lines[1]
    shown = "\n".join(lines)
    assert "points, " in shown
    assert "lives left out" not in shown
    assert " 1 days" not in shown


def test_a_ship_of_few_parts_is_told_in_the_singular(run: Run, pond: Desk) -> None:
    told(run("battle", "add", "Midsummer", "--from", "2026-06-20", "--planned-sorties", "1"))
    part = ("part", "add", "--family", "standard servo", "--tag", "S-01", "--origin", "new")
    told(run(*part, "--into", "halberd/rudder-servo", "--from", "2026-05-01"))
    told(run("sortie", "log", "halberd=W0", "--on", "2026-06-02"))
    shown = told(run("due", "--all", "--on", "2026-06-03")).stdout
    assert "1 sortie a ship" in shown
    assert "1 fitted part can be forecast" in shown
    assert "chance of 0%" not in shown


def test_of_a_lost_ship_only_that_is_said(demo_club: Path, run: Run) -> None:
    answer = told(run("due", "--ship", "Kestrane", "--json", *TODAY, db=demo_club)).json
    assert answer["notes"][0] == "Kestrane is lost: her parts are not counted"
    assert not any("lives" in note for note in answer["notes"])


@pytest.mark.parametrize("words", [("--hours", "1"), ("--ship", "Orrisholt"), ("--all",)])
def test_what_narrows_a_list_is_refused_beside_one_part(demo_club: Path, run: Run, words: tuple[str, ...]) -> None:
    answer = run("due", "--explain", "LB25", *words, *TODAY, db=demo_club)
    assert answer.exit_code == 2
    assert words[0] in answer.stderr


def test_a_season_without_a_sortie_is_named_with_how_to_log_it(own: Path, run: Run) -> None:
    of_hers = "SELECT s.id FROM sortie s JOIN ship h ON h.id = s.ship_id WHERE h.name = 'Orrisholt' AND s.sailed_on"
    season = f"({of_hers} LIKE '2025%')"
    with sqlite3.connect(own) as connection:
        connection.execute(f"UPDATE failure SET sortie_id = NULL WHERE sortie_id IN {season}")
        connection.execute(f"DELETE FROM opening WHERE sortie_id IN {season}")
        connection.execute(f"DELETE FROM sortie WHERE id IN {season}")
    for words in (("due", "--ship", "Orrisholt"), ("due",)):
        shown = told(run(*words, "--refit", *TODAY, db=own)).stdout
        assert "no sortie in 2025 on record of Orrisholt" in shown
        assert "maintain sortie log" in shown
    assert "no sortie in" not in told(run("due", "--ship", "Corvane", *TODAY, db=own)).stdout


def test_a_part_scrapped_long_ago_cannot_fail_and_a_lost_ship_cannot_sail(own: Path, run: Run) -> None:
    scrapped = _one(own, "SELECT tag FROM part JOIN placement ON part_id = part.id WHERE place = 'scrapped'")
    failed = run("failure", "log", scrapped, "--mode", "dead", "--cause", "wear", *TODAY, db=own)
    assert failed.exit_code == 4
    assert "was scrapped on" in failed.stderr
    assert "hint" in failed.stderr
    sailed = run("sortie", "log", "Kestrane=W0", *TODAY, db=own)
    assert sailed.exit_code == 4
    assert "lost since" in sailed.stderr


@pytest.mark.parametrize(
    ("words", "heading"),
    [
        (("due",), "Ship"),
        (("due", "--ship", "Orrisholt", "--all"), "Ship"),
        (("ready", "Orrisholt"), "Position"),
        (("ready", "--fleet"), "Ship"),
        (("life", "backtest", "--last", "3"), "Battle"),
        (("life", "renew"), "Group"),
    ],
)
def test_every_list_can_be_had_as_a_table_of_numbers(
    demo_club: Path, run: Run, words: tuple[str, ...], heading: str
) -> None:
    rows = list(csv.reader(io.StringIO(told(run(*words, "--csv", *TODAY, db=demo_club)).stdout)))
    assert rows[0][0] == heading
    assert len(rows) > 1
    assert {len(row) for row in rows} == {len(rows[0])}


def test_a_changed_record_is_in_the_next_answer(own: Path, run: Run) -> None:
    before = told(run("due", "--ship", "Orrisholt", "--all", "--json", *TODAY, db=own)).json
    assert "LB25" in [line["part"] for line in before["lines"]]
    told(run("failure", "log", "LB25", "--mode", "just died", "--cause", "stale", *TODAY, db=own))
    after = told(run("due", "--ship", "Orrisholt", "--all", "--json", *TODAY, db=own)).json
    assert "LB25" not in [line["part"] for line in after["lines"]]
    told(run("undo", *TODAY, db=own))
    assert told(run("due", "--ship", "Orrisholt", "--all", "--json", *TODAY, db=own)).json["lines"] == before["lines"]


def test_a_vital_position_without_a_part_is_something_due(run: Run) -> None:
    told(run("ship", "add", "Plover", "--like", "cruiser", "--since", "2026-01-01"))
    answer = run("due", "--exit-code", "--json")
    assert answer.json["lines"] == []
    assert answer.json["empty"] != []
    assert answer.exit_code == 10
