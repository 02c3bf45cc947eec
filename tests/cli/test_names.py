"""What may be a name, what happens to one that is taken, and hints that can be pasted."""

from __future__ import annotations

import shlex
from pathlib import Path

import pytest

from maintain.services.unit import Desk
from tests.conftest import Run

pytestmark = pytest.mark.usefixtures("pond")

ADDS = (
    ("ship", "add"),
    ("member", "add"),
    ("method", "add"),
    ("family", "add", "--category", "servo"),
    ("venue", "add", "--water", "fresh"),
    ("battle", "add", "--from", "2026-07-01"),
    ("part", "add", "--family", "pump", "--tag"),
)


@pytest.mark.parametrize("bad", ["A/B", "two\nlines", "bell\x07", "", "   "])
@pytest.mark.parametrize("words", ADDS, ids=lambda words: words[0])
def test_a_name_that_commands_could_not_tell_is_refused(run: Run, words: tuple[str, ...], bad: str) -> None:
    before = run("journal", "--json").stdout
    answer = run(*words, bad)
    assert answer.exit_code == 4
    assert "name" in answer.stderr and "hint: " in answer.stderr
    assert run("journal", "--json").stdout == before


@pytest.mark.parametrize("words", [("part", "add", "--family", "pump", "--tag=-1"), ("ship", "add", "--", "-1")])
def test_a_name_does_not_begin_like_an_option(run: Run, words: tuple[str, ...]) -> None:
    answer = run(*words)
    assert answer.exit_code == 4
    assert "take it for an option" in answer.stderr


def test_blanks_around_a_name_are_not_kept(run: Run) -> None:
    assert run("ship", "add", "  Heavy  Goods ").exit_code == 0
    assert "Heavy Goods" in [row["name"] for row in run("ship", "list", "--json").json["rows"]]


@pytest.mark.parametrize(
    ("file", "text"),
    [
        ("ships.csv", 'Ship\n"A/B"\n'),
        ("members.csv", 'Member\n"two\nlines"\n'),
        ("parts.csv", "Tag,Family\n-1,pump\n"),
        ("parts.csv", "Tag,Family\n7,pump\n"),
        ("venues.csv", "Venue,Water\nA/B,fresh\n"),
    ],
)
def test_files_follow_the_same_rule(run: Run, tmp_path: Path, file: str, text: str) -> None:
    (tmp_path / file).write_text(text)
    answer = run("import", tmp_path / file)
    assert answer.exit_code == 8
    assert "can't name" in answer.stderr


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("ship", "add", "halberd"), "there is a ship Halberd already"),
        (("member", "add", "ANA"), "there is a member Ana already"),
        (("family", "add", "Pump", "--category", "pump"), "there is a family pump already"),
        (("venue", "add", "mill pond", "--water", "salt"), "there is a venue Mill Pond already"),
        (
            ("position", "add", "halberd/PUMP", "--system", "pumping", "--zone", "bilge"),
            "there is a position pump already",
        ),
    ],
)
def test_a_name_that_is_taken_says_how_it_is_written_there(run: Run, words: tuple[str, ...], told: str) -> None:
    answer = run(*words)
    assert answer.exit_code == 4
    assert told in answer.stderr
    assert "or see: maintain" in answer.stderr


def test_a_number_that_a_ship_has_is_refused(run: Run) -> None:
    assert run("ship", "add", "Petrel", "--number", "7").exit_code == 0
    assert "Petrel has the number 7 already" in run("ship", "add", "Tern", "--number", "7").stderr


@pytest.mark.parametrize("kind", ["light cruiser", "LIGHT", "cruiser", "conv"])
def test_a_typical_ship_is_found_by_words_and_beginnings(run: Run, kind: str) -> None:
    assert " positions of a " in run("ship", "add", "Petrel", "--like", kind).stdout
    assert run("ship", "add", "Tern", "--like", "canoe").exit_code == 3


def test_a_hint_with_a_spaced_name_can_be_pasted(run: Run) -> None:
    run("ship", "add", "Heavy Goods", "--like", "convoy", "--since", "2026-01-01")
    run("sortie", "log", "Heavy Goods=W0", "--number", "1")
    told = run("sortie", "log", "Heavy Goods=W0", "--number", "1").stderr
    assert "Heavy Goods' sortie 1" in told
    assert run(*shlex.split(told.partition("maintain ")[2])).exit_code == 0


def test_before_records_is_the_day_the_ships_records_begin(run: Run) -> None:
    run("ship", "add", "Petrel", "--like", "convoy", "--since", "2026-02-01")
    told = run("part", "add", "--family", "pump", "--into", "petrel/pump", "--from", "before records")
    assert "from before 2026-02-01" in told.stdout
    pool = run("part", "add", "--family", "pump", "--from", "before records")
    assert pool.exit_code == 4
    assert "nobody said when the records begin" in pool.stderr


def test_a_change_says_old_and_new_and_changing_nothing_is_refused(run: Run) -> None:
    told = run("family", "change", "pump", "--unit-cost", "12.50", "--lead-time-days", "9").stdout
    assert "unit cost unknown to 12.50, lead time days unknown to 9" in told
    assert "unit cost 12.50 to 14.00" in run("family", "change", "pump", "--unit-cost", "14").stdout
    assert "depth (m) unknown to 1.5" in run("venue", "change", "mill", "--depth-m", "1.5").stdout
    assert "fits pump to standard servo" in run("position", "change", "halberd/pump", "--fits", "standard").stdout
    for words in (
        ("family", "change", "pump", "--unit-cost", "14"),
        ("family", "change", "pump"),
        ("venue", "change", "mill"),
    ):
        answer = run(*words)
        assert (answer.exit_code, answer.stdout) == (4, "")
    assert run("position", "change", "halberd/pump").exit_code == 4


def test_a_wrong_position_is_named_before_anybody_is_asked_how_it_failed(run: Run) -> None:
    assert "no position on Halberd" in run("swap", "halberd/turret").stderr
    assert "no part is installed" in run("swap", "halberd/pump").stderr
    assert "no part called" in run("failure", "log", "nothing").stderr


def test_a_scrapped_part_is_not_treated_but_what_was_done_before_may_be_told_late(run: Run) -> None:
    run("method", "add", "grease")
    run("part", "add", "--family", "pump", "--tag", "P1", "--from", "2026-05-01")
    run("part", "pull", "P1", "--to", "scrapped", "--until", "2026-05-20")
    answer = run("part", "treat", "P1", "grease")
    assert answer.exit_code == 4
    assert "P1 is scrapped since 2026-05-20" in answer.stderr
    assert run("part", "treat", "P1", "grease", "--done", "2026-05-10").exit_code == 0


def test_a_search_that_finds_nothing_does_not_ask_to_add_some(run: Run) -> None:
    for words in (("part", "list", "--place", "suspect"), ("position", "list", "--system", "gas", "--ship", "none")):
        assert "add" not in run(*words).stdout
    assert "Parts: none like that" in run("part", "list", "--place", "suspect").stdout


def test_a_long_list_says_on_the_screen_how_much_it_leaves_out_and_scripts_get_all(pond: Desk, run: Run) -> None:
    for number in range(1, 23):
        run("sortie", "log", "halberd=W0", "gannet=W0", "--number", str(number))
    assert "40 of 44; --limit for more" in run("sortie", "list").stdout
    assert len(run("sortie", "list", "--json").json["rows"]) == 44
    assert len(run("sortie", "list", "--csv").stdout.splitlines()) == 45
    assert run("sortie", "list", "--limit", "3", "--json").json["notes"] == ["3 of 44; --limit for more"]
