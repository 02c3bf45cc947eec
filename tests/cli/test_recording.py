"""Ships, positions, families, members, venues, battles, sorties and openings, recorded through the program."""

from __future__ import annotations

import shlex

import pytest

from maintain.services.unit import Desk
from tests.conftest import Run


@pytest.fixture
def at_pond(pond: Desk, run: Run) -> Run:
    """The program on the small fleet: Halberd of Ana and Gannet, both laid out like cruisers."""
    return run


def says(run: Run, line: str) -> list[str]:
    answer = run(*shlex.split(line))
    assert answer.exit_code == 0, answer.stderr
    return answer.stdout.splitlines()


def refuses(run: Run, line: str, code: int = 4) -> str:
    before = run("journal", "--json").stdout
    answer = run(*shlex.split(line))
    assert answer.exit_code == code
    assert run("journal", "--json").stdout == before
    return answer.stderr


def rows(run: Run, line: str) -> list[dict[str, object]]:
    return run(*shlex.split(line), "--json").json["rows"]


def test_a_ship_is_laid_out_like_a_typical_one_and_then_edited(at_pond: Run) -> None:
    assert says(at_pond, "ship add Petrel --like 'convoy ship' --captain be")[0].startswith("added Petrel with")
    before = len(rows(at_pond, "position list --ship petrel"))
    says(at_pond, "position add petrel/searchlight --system radio --zone 'dry deck' --dependence nuisance")
    says(at_pond, "position change petrel/searchlight --zone bilge --fits standard")
    [light] = [row for row in rows(at_pond, "position list --ship petrel") if row["name"] == "searchlight"]
    assert light["zone"] == "bilge"
    says(at_pond, "position remove petrel/searchlight")
    assert len(rows(at_pond, "position list --ship petrel")) == before


def test_names_match_in_any_case_and_by_a_unique_beginning_and_a_miss_suggests_the_nearest(at_pond: Run) -> None:
    assert says(at_pond, "ship state HAL 'dry dock'")[0].startswith("Halberd:")
    assert "did you mean Gannet?" in refuses(at_pond, "ship state ganet 'dry dock'", code=3)
    assert "could be gun-1-servo or gun-2-servo" in refuses(at_pond, "position change gan/gun --zone bilge", code=3)


def test_two_ships_cannot_have_names_that_differ_only_in_case(at_pond: Run) -> None:
    assert "there is a ship Halberd already" in refuses(at_pond, "ship add HALBERD")


def test_a_position_that_held_a_part_stays(at_pond: Run) -> None:
    says(at_pond, "part add --family pump --into halberd/pump --from 2026-05-01")
    assert "history stays" in refuses(at_pond, "position remove halberd/pump")


def test_one_line_logs_the_sortie_of_the_whole_fleet(at_pond: Run) -> None:
    says(at_pond, "battle add 'May Fleet' --from 2026-05-03 --venue mill --planned-sorties 4")
    told = says(at_pond, "sortie log --battle may --minutes 30 halberd=W1 gannet=W3:pumping:8min")
    assert told[0] == "logged sortie 1 of 2026-05-03 (May Fleet): 2 ships, sunk: Gannet"
    assert any("disconnect every battery" in line for line in told)
    gannet, halberd = rows(at_pond, "sortie list")
    assert (gannet["ending"], gannet["sinking_cause"], gannet["sinking_system"]) == ("sank", "system", "pumping")
    assert (gannet["minutes_under"], gannet["minutes_afloat"], halberd["wetness"]) == (8.0, 30.0, "W1")
    assert says(at_pond, "sortie log --battle may halberd=dry gannet=?")[0].startswith("logged sortie 2")


@pytest.mark.parametrize(
    ("outcome", "why"),
    [
        ("halberd=W7", "is no wetness"),
        ("halberd", "is no outcome of a ship"),
        ("halberd=W1:8min", "did not sink"),
        ("halberd=W1:pumping", "did not sink"),
        ("halberd=W3:11min", "are W4"),
        ("halberd=W4:5min", "are W3"),
        ("halberd=W3:recall", "ended with that"),
        ("halberd=W1:20afloat:30afloat", "says minutes afloat twice"),
        ("halberd=W1:2.5shots", "whole numbers"),
        ("halberd=W1:soggy", "is not understood"),
        ("halberd=W1:601afloat", "minutes afloat of one sortie can't be 601"),
        ("halberd=W1:2001shots", "shots of one sortie can't be 2001"),
        ("halberd=W1 --minutes 601", "minutes afloat of one sortie can't be 601"),
    ],
)
def test_an_outcome_that_contradicts_itself_is_refused_with_the_mend(at_pond: Run, outcome: str, why: str) -> None:
    told = refuses(at_pond, f"sortie log {outcome}")
    assert why in told
    assert "hint:" in told


def test_one_bad_outcome_keeps_the_whole_line_from_being_written(at_pond: Run) -> None:
    assert "no ship called 'gul'" in refuses(at_pond, "sortie log halberd=W1 gul=W0", code=3)
    assert rows(at_pond, "sortie list") == []


def test_a_ship_in_dry_dock_does_not_sail_but_did_before(at_pond: Run) -> None:
    says(at_pond, "ship state gannet 'dry dock' --since 2026-05-20")
    assert "she is in dry dock since 2026-05-20" in refuses(at_pond, "sortie log gannet=W0 --day 2026-05-20")
    assert says(at_pond, "sortie log gannet=W0 --day 2026-05-19")


def test_a_sortie_before_the_records_of_a_ship_begin_is_kept_and_said(at_pond: Run) -> None:
    says(at_pond, "ship add Bare --since 2026-05-20")
    told = says(at_pond, "sortie log Bare=W1 --day 2025-05-21")
    assert "  check the year: Bare's records begin on 2026-05-20, and lives are counted from that day on" in told
    assert len(rows(at_pond, "sortie list --ship Bare")) == 1
    assert not any("check the year" in line for line in says(at_pond, "sortie log Bare=W1 --day 2026-05-20"))


def test_no_day_has_more_than_thirty_sorties(at_pond: Run) -> None:
    refuses(at_pond, "sortie log halberd=W0 --number 31", code=2)
    assert says(at_pond, "sortie log halberd=W0 --number 30")


def test_a_sortie_is_recorded_once_and_corrected_where_it_stands(at_pond: Run) -> None:
    says(at_pond, "sortie log halberd=W3:damage:4min --number 1")
    told = refuses(at_pond, "sortie log halberd=W1 --number 1")
    assert "sortie correct Halberd=W1 --day 2026-06-01 --number 1" in told
    says(at_pond, "sortie correct halberd=W1:40shots --number 1")
    [row] = rows(at_pond, "sortie list")
    assert (row["wetness"], row["ending"], row["sinking_cause"], row["minutes_under"], row["shots"]) == (
        "W1",
        None,
        None,
        None,
        40,
    )


@pytest.mark.parametrize(
    ("words", "why"),
    [
        ("--day 2026-06-02 halberd=W0", "in the future"),
        ("--day 3.5.2026 halberd=W0", "is not a day"),
        ("--day 2026-02-30 halberd=W0", "is no day of the calendar"),
        ("--battle may --day 2026-05-04 halberd=W0", "is no day of May Fleet"),
        ("halberd=W0 HALBERD=W1", "stands there twice"),
    ],
)
def test_a_day_or_line_that_makes_no_sense_is_refused(at_pond: Run, words: str, why: str) -> None:
    says(at_pond, "battle add 'May Fleet' --from 2026-05-03")
    assert why in refuses(at_pond, f"sortie log {words}")


def test_a_battle_called_off_takes_no_sorties_and_one_sailed_is_not_called_off(at_pond: Run) -> None:
    says(at_pond, "battle add Frozen --from 2026-05-03")
    says(at_pond, "battle state frozen 'called off'")
    assert "was called off" in refuses(at_pond, "sortie log --battle frozen halberd=W0")
    says(at_pond, "battle state frozen fought")
    says(at_pond, "sortie log --battle frozen halberd=W0")
    assert "can't be called off" in refuses(at_pond, "battle state frozen 'called off'")


def test_a_battle_that_ends_before_it_begins_is_refused(at_pond: Run) -> None:
    refuses(at_pond, "battle add Backwards --from 2026-07-03 --until 2026-07-01")


def test_a_dry_box_after_a_long_sinking_is_data(at_pond: Run) -> None:
    says(at_pond, "part add --family standard --origin new --into halberd/receiver --from 2026-05-01")
    says(at_pond, "sortie log halberd=W4:30min --day 2026-05-03")

    def immersions() -> object:
        lines = at_pond("show", "halberd", "--json").json["lines"]
        return next(line for line in lines if line["position"] == "receiver")["immersions"]

    assert immersions() == 1
    assert says(at_pond, "opening log halberd dry --day 2026-05-03")[0].endswith("opened on 2026-05-03: dry")
    assert immersions() == 0
    assert "retest" in says(at_pond, "opening log halberd/pump water --day 2026-05-03")[1]


def test_money_is_read_with_point_or_comma_and_nothing_else(at_pond: Run) -> None:
    says(at_pond, "family add 'micro servo' --category servo --unit-cost 9,50")
    [micro] = [row for row in rows(at_pond, "family list") if row["name"] == "micro servo"]
    assert micro["unit_cost"] == 9.5
    for bad in ("nine", "-3", "9.505", "1,000.00"):
        assert "not an amount of money" in refuses(at_pond, f"family change micro --unit-cost {bad}")


def test_a_lost_ship_takes_her_parts_down_and_undo_raises_both(at_pond: Run) -> None:
    says(at_pond, "part add --family pump --tag P1 --into halberd/pump --from 2026-05-01")
    assert says(at_pond, "ship state halberd lost")[1].strip() == "1 part lost with her"
    assert rows(at_pond, "part list --place lost")[0]["tag"] == "P1"
    says(at_pond, "undo")
    assert rows(at_pond, "part list --ship halberd")[0]["tag"] == "P1"


def test_show_gives_the_ship_as_her_captain_wants_to_see_her(at_pond: Run) -> None:
    says(at_pond, "part add --family standard --tag S1 --origin new --into halberd/rudder-servo --from 2026-05-01")
    says(at_pond, "method add grease")
    says(at_pond, "part treat S1 grease --done 2026-05-01")
    says(at_pond, "reading add halberd/rudder-servo 'servo current' 180")
    says(at_pond, "sortie log halberd=W3:damage:4min --day 2026-05-10")
    says(at_pond, "part add --family pump --tag P1 --into halberd/pump --from 2026-05-01")
    says(at_pond, "part pull P1 --reason suspect --mode erratic")
    page = at_pond("show", "halberd", "--json").json
    [servo] = [line for line in page["lines"] if line["tag"] == "S1"]
    assert (servo["days"], servo["sorties"], servo["wet_sorties"], servo["immersions"]) == (31, 1, 1, 1)
    assert "grease" in servo["treatment"]
    assert servo["reading"] == "servo current 180 mA (2026-06-01)"
    assert page["seasons"] == [[2026, 1, 1]]
    assert page["suspects"][0].startswith("P1 (was pump)")
