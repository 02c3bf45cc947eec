"""maintain part: parts are entered, fitted, taken out, treated, shown and listed."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from typing import Any

import pytest

from maintain.services import ships
from maintain.services.unit import Desk
from tests.conftest import Answer, Run
from tests.pond import SERVO, sail

pytestmark = pytest.mark.usefixtures("pond")


def _done(answer: Answer) -> str:
    assert answer.exit_code == 0, answer.stderr
    return answer.stdout


def _refused(answer: Answer, code: int = 4) -> str:
    assert (answer.exit_code, answer.stdout) == (code, ""), answer.stdout
    assert answer.stderr.startswith("error: ") and len(answer.stderr.splitlines()) <= 2
    return answer.stderr


def _parts(run: Run, *options: str) -> list[Any]:
    return run("part", "list", *options, "--json").json["rows"]


def test_a_part_without_a_tag_gets_one_and_the_pool_keeps_it(run: Run) -> None:
    assert "added kimi (standard servo), in the pool" in _done(run("part", "add", "--family", "standard"))
    (row,) = _parts(run)
    assert row == {
        "tag": "kimi",
        "family": "standard servo",
        "model": None,
        "where": "in the pool",
        "since": "2026-06-01",
        "owner": "pool",
        "waterproofing": None,
        "prior_use": "unknown",
    }


def test_several_parts_get_a_tag_each(run: Run) -> None:
    answer = run("part", "add", "--family", "standard servo", "--count", "3", "--origin", "new", "--json")
    assert len(set(answer.json["record"]["tags"])) == 3
    assert {row["prior_use"] for row in _parts(run)} == {"none"}


def test_a_part_of_a_member_lies_with_the_member_from_the_day_it_was_bought(run: Run) -> None:
    _done(run("part", "add", "--family", "pump", "--tag", "dilo", "--owner", "bea", "--acquired", "2025-04"))
    (row,) = _parts(run)
    assert (row["where"], row["since"], row["owner"]) == ("with Bea", "2025-04", "Bea")


def test_a_part_can_be_entered_as_lying_in_the_pool_for_some_time(run: Run) -> None:
    _done(run("part", "add", "--family", "pump", "--tag", "dilo", "--from", "2026-01-02"))
    assert _parts(run)[0]["since"] == "2026-01-02"


def test_a_part_can_be_entered_where_it_is_fitted(run: Run) -> None:
    told = _done(run("part", "add", "--family", "standard", "--into", SERVO, "--from", "before 2024-03-01"))
    assert f"fitted to {SERVO} from before 2024-03-01" in told
    assert _parts(run, "--ship", "halberd")[0]["since"] == "before 2024-03-01"


def test_a_part_bought_before_it_was_fitted_has_both_places(run: Run) -> None:
    bought = ("--acquired", "2026-01-10", "--into", SERVO, "--from", "2026-05-01", "--origin", "new")
    told = _done(run("part", "add", "--family", "standard", "--tag", "kobu", *bought))
    assert "kobu was in the pool from 2026-01-10 to 2026-05-01" in told
    sheet = run("part", "show", "kobu", "--json").json
    assert [each["where"] for each in sheet["places"]] == ["in the pool", SERVO]
    assert sheet["use"]["days"] == 31  # in the ship, 1 May to 1 June 2026; a servo does not age in the pool


@pytest.mark.parametrize(
    ("options", "code", "told"),
    [
        (("--family", "standart servo"), 3, "did you mean standard servo?"),
        (("--family", "fuse"), 4, "counted"),
        (("--family", "pump", "--tag", "a/b"), 4, "can't name a part"),
        (("--family", "pump", "--tag", "7"), 4, "can't name a part"),
        (("--family", "pump", "--prior-use", "none"), 4, "--origin new"),
        (("--family", "pump", "--cost", "twelve"), 4, "amount of money"),
        (("--family", "pump", "--acquired", "2026-07-01"), 4, "in the future"),
        (("--family", "pump", "--acquired", "1.5.2026"), 4, "is not a day"),
        (("--family", "pump", "--made", "2027-01-01"), 4, "2027-01-01 is in the future"),
        (("--family", "pump", "--owner", "Zoe"), 3, "no member"),
        (("--family", "pump", "--into", SERVO), 4, "takes: standard servo"),
        (("--family", "pump", "--into", "halberd/turret"), 3, "no position"),
        (("--family", "pump", "--count", "2", "--tag", "kobu"), 4, "can't share"),
        (("--family", "pump", "--model", ""), 4, "model"),
    ],
)
def test_bad_input_is_refused_in_a_sentence_and_nothing_is_written(
    run: Run, options: tuple[str, ...], code: int, told: str
) -> None:
    assert told in _refused(run("part", "add", *options), code)
    assert _parts(run) == []


def test_a_tag_is_used_once_whatever_its_case(run: Run) -> None:
    _done(run("part", "add", "--family", "pump", "--tag", "Kobu"))
    assert "there is a part Kobu already" in _refused(run("part", "add", "--family", "pump", "--tag", "kobu"))


def test_fitting_ends_the_earlier_place_and_says_so(run: Run) -> None:
    _done(run("part", "add", "--family", "standard", "--tag", "kobu", "--into", SERVO, "--from", "2026-04-01"))
    told = _done(run("part", "install", "kobu", "gannet/rudder-servo", "--from", "2026-05-01"))
    assert told.splitlines() == [
        "fitted kobu to Gannet/rudder-servo from 2026-05-01",
        "  kobu was in Halberd/rudder-servo from 2026-04-01 to 2026-05-01",
    ]


def test_a_part_that_does_not_fit_is_refused_unless_reworked(run: Run) -> None:
    _done(run("part", "add", "--family", "pump", "--tag", "pomp"))
    assert "--anyway" in _refused(run("part", "install", "pomp", SERVO))
    _done(run("part", "install", "pomp", SERVO, "--anyway"))


def test_an_occupied_position_names_the_part_and_the_mend(run: Run) -> None:
    _done(run("part", "add", "--family", "standard", "--tag", "kobu", "--into", SERVO))
    _done(run("part", "add", "--family", "standard", "--tag", "dilo"))
    told = _refused(run("part", "install", "dilo", SERVO))
    assert "holds kobu" in told and "maintain part pull" in told
    assert [row["where"] for row in _parts(run)] == ["in the pool", SERVO]


def test_nothing_is_fitted_to_a_ship_that_is_gone(run: Run, pond: Desk) -> None:
    ships.change_state(pond, ship="Halberd", state="lost", since=None)
    _done(run("part", "add", "--family", "standard", "--tag", "dilo"))
    assert "Halberd is lost" in _refused(run("part", "install", "dilo", SERVO))


def test_a_working_part_goes_home_after_the_sorties_of_the_day(run: Run, pond: Desk) -> None:
    _done(run("part", "add", "--family", "standard", "--tag", "kobu", "--into", SERVO, "--owner", "Ana"))
    sail(pond, "halberd=W1")
    told = _done(run("part", "pull", SERVO))
    assert told.splitlines()[0] == "kobu is now with Ana from 2026-06-01 after sortie 1 (working)"
    use = run("part", "show", "kobu", "--json").json["use"]
    assert (use["sorties"], use["wet_sorties"], use["immersions"]) == (1, 1, 0)


def test_a_suspect_part_needs_a_symptom_and_then_a_retest(run: Run) -> None:
    _done(run("part", "add", "--family", "standard", "--tag", "kobu", "--into", SERVO))
    asked = run("part", "pull", "kobu", "--reason", "suspect")
    assert asked.exit_code == 2 and "--mode" in asked.stderr
    assert "maintain retest kobu" in _done(run("part", "pull", "kobu", "--reason", "suspect", "--mode", "slow"))
    assert "is suspect" in _refused(run("part", "install", "kobu", SERVO))
    assert "is suspect" in _refused(run("part", "pull", "kobu", "--to", "pool"))


@pytest.mark.parametrize(
    ("options", "told"),
    [
        (("--reason", "failed"), "maintain swap"),
        (("--reason", "suspect", "--mode", "slow", "--to", "pool"), "can't go to pool"),
        (("--until", "2026-04-30"), "can't have been moved"),
        (("--until", "2026-06-02"), "in the future"),
    ],
)
def test_a_pull_that_makes_no_sense_is_refused(run: Run, options: tuple[str, ...], told: str) -> None:
    _done(run("part", "add", "--family", "standard", "--tag", "kobu", "--into", SERVO, "--from", "2026-05-01"))
    assert told in _refused(run("part", "pull", "kobu", *options))
    assert _parts(run)[0]["where"] == SERVO


def test_a_part_in_the_pool_is_moved_only_with_a_goal(run: Run) -> None:
    _done(run("part", "add", "--family", "standard", "--tag", "kobu"))
    assert "--to" in _refused(run("part", "pull", "kobu"))
    _done(run("part", "pull", "kobu", "--to", "scrapped"))
    assert "scrapped since" in _refused(run("part", "install", "kobu", SERVO))


def test_the_sheet_tells_treatments_and_use_since_last_opened(run: Run, pond: Desk) -> None:
    into = ("--into", SERVO, "--from", "2026-05-01", "--origin", "new")
    _done(run("part", "add", "--family", "standard", "--tag", "kobu", *into))
    _done(run("method", "add", "grease"))
    _done(run("part", "treat", "kobu", "grease", "--done", "2026-05"))
    may = replace(pond, today=date(2026, 5, 3))
    sail(may, "halberd=W3:damage:5min")
    _done(run("opening", "log", SERVO, "water", "--day", "2026-05-03"))
    sail(replace(pond, today=date(2026, 5, 9)), "halberd=W1")
    sheet = run("part", "show", "kobu", "--json").json
    assert sheet["use"] == {"days": 31, "sorties": 2, "wet_sorties": 2, "immersions": 1, "unknown_wetness": 0}
    assert sheet["use_known"] is True
    assert sheet["opened_on"] == "2026-05-03"
    assert sheet["use_since_opened"]["immersions"] == 0 and sheet["use_since_opened"]["sorties"] == 1
    assert [(each["method"], each["kind"], each["on"]) for each in sheet["treatments"]] == [
        ("grease", "applied", "2026-05")
    ]
    shown = _done(run("part", "show", "kobu"))
    assert "Use: 31 days, 2 sorties, 2 wet, 1 immersion" in shown and "grease" in shown
    assert run("part", "show", "kobu", "--csv").stdout.startswith("Where,From,Until,Why it left\n")


def test_a_removed_waterproofing_no_longer_stands_in_the_list(run: Run) -> None:
    _done(run("part", "add", "--family", "standard", "--tag", "kobu"))
    _done(run("method", "add", "oil"))
    _done(run("part", "treat", "kobu", "oil", "--done", "2026-05-01"))
    assert _parts(run)[0]["waterproofing"] == "oil"
    _done(run("part", "treat", "kobu", "oil", "--removed"))
    assert _parts(run)[0]["waterproofing"] is None
    assert run("part", "treat", "kobu", "oil", "--removed", "--renewed").exit_code == 2
    assert [row["name"] for row in run("method", "list", "--json").json["rows"]] == ["oil"]


def test_the_list_can_be_narrowed(run: Run) -> None:
    _done(run("part", "add", "--family", "standard", "--tag", "kobu", "--into", SERVO))
    _done(run("part", "add", "--family", "pump", "--tag", "pomp"))
    assert [row["tag"] for row in _parts(run, "--ship", "halberd")] == ["kobu"]
    assert [row["tag"] for row in _parts(run, "--family", "pump")] == ["pomp"]
    assert [row["tag"] for row in _parts(run, "--place", "pool")] == ["pomp"]


def test_a_part_nobody_has_is_answered_with_the_nearest_tag(run: Run) -> None:
    _done(run("part", "add", "--family", "pump", "--tag", "kobu"))
    assert "did you mean kobu?" in _refused(run("part", "show", "kubo"), 3)
