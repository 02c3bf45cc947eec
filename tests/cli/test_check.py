"""The check before a battle: the morning's order, answers kept one by one, and never a clearance."""

from __future__ import annotations

import re
import sqlite3
import time
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest

from maintain.services.unit import Desk
from tests.conftest import Run
from tests.terminal import ASKED, walked

GAS = ("pins", "bottle", "shut-off", "pressure", "creep", "gas leak", "gun")


@pytest.fixture
def eve(pond: Desk, run: Run) -> Run:
    """The small fleet before two battles, with a servo and a pump aboard Halberd."""
    since = ("--from", "2026-01-02")
    for line in (
        ("venue", "change", "Mill Pond", "--depth-m", "2"),
        ("battle", "add", "June Balls", "--from", "2026-06-01", "--venue", "Mill Pond", "--planned-sorties", "2"),
        ("battle", "add", "July Balls", "--from", "2026-07-05", "--planned-sorties", "2"),
        ("part", "add", "--family", "standard servo", "--tag", "S-01", "--into", "halberd/rudder-servo", *since),
        ("part", "add", "--family", "pump", "--tag", "P-01", "--into", "halberd/pump", *since),
    ):
        assert run(*line).exit_code == 0
    return run


def _page(run: Run, ship: str = "halberd", *more: str) -> Any:
    return run("check", "show", ship, "--json", *more).json


def _step(page: Any, topic: str) -> Any:
    return next(step for step in page["steps"] if step["topic"] == topic)


def _number(run: Run, topic: str) -> str:
    return str(_step(_page(run), topic)["step"])


def test_gas_comes_last(eve: Run) -> None:
    topics = [step["topic"] for step in _page(eve)["steps"]]
    first_gas = next(place for place, topic in enumerate(topics) if topic in GAS)
    assert topics[0] == "eye wear"
    assert set(topics[first_gas:]) <= set(GAS)
    assert topics.index("range") < topics.index("failsafe") < topics.index("rudder") < topics.index("pump")
    assert topics.index("pump") < topics.index("leak") < topics.index("box") < topics.index("line") < first_gas


def test_questions_come_from_her_own_positions(eve: Run) -> None:
    assert eve("ship", "add", "Tramp", "--like", "convoy ship").exit_code == 0
    topics = {step["topic"] for step in _page(eve, "tramp")["steps"]}
    assert not topics & set(GAS)
    guns = [step for step in _page(eve)["steps"] if step["topic"] == "gun"]
    assert [step["position"] for step in guns] == ["gun-1-servo", "gun-2-servo"]
    assert "1 of 2 guns must work" in guns[0]["question"]


def test_a_hidden_function_with_no_question_of_its_own_is_asked_for(eve: Run) -> None:
    eve("family", "add", "siren", "--category", "other", "--hidden")
    eve("position", "add", "halberd/siren", "--system", "hull", "--zone", "dry deck", "--fits", "siren")
    assert [step["topic"] for step in _page(eve)["steps"] if step["position"] == "siren"] == ["function"]


def test_a_ship_without_positions_is_asked_as_a_whole(eve: Run) -> None:
    eve("ship", "add", "Bare")
    page = _page(eve, "bare")
    assert all(step["position"] is None and step["measure"] is None for step in page["steps"])
    assert "positions are not recorded" in page["notes"][0]


def test_a_step_shows_its_figure_limit_and_the_last_time(eve: Run) -> None:
    eve("reading", "add", "halberd/pump", "pump seconds per litre", "21", "--on", "2026-05-01")
    step = _step(_page(eve), "pump")
    assert step["limit"] | {"source": ""} == {"bound": "at most", "value": 30.0, "unit": "s/L", "source": ""}
    assert "common practice" in step["limit"]["source"]
    assert step["last"] == {"value": 21.0, "taken_on": "2026-05-01"}
    assert "3 m at this pond" in _step(_page(eve), "line")["how"]


def test_a_figure_becomes_a_reading_and_one_beyond_its_limit_is_told(eve: Run) -> None:
    told = eve("check", "answer", "halberd", _number(eve, "pump"), "pass", "--figure", "41,5")
    assert told.exit_code == 0
    assert "41.5 s/L is not at most 30 s/L" in told.stdout
    readings = eve("reading", "list", "--ship", "halberd", "--json").json["rows"]
    assert {"measure": "pump seconds per litre", "value": 41.5, "part": "P-01"}.items() <= readings[-1].items()


@pytest.mark.parametrize("figure", ["abc", "-3", "nan", "1e9", "0.001", ""])
def test_a_figure_that_makes_no_sense_is_refused(eve: Run, figure: str) -> None:
    refused = eve("check", "answer", "halberd", _number(eve, "pump"), "pass", f"--figure={figure}")
    assert refused.exit_code == 4
    assert refused.stderr.startswith("error: ")
    assert _page(eve)["answered"] == 0


def test_a_figure_goes_with_a_test_that_gives_one(eve: Run) -> None:
    assert eve("check", "answer", "halberd", "1", "pass", "--figure", "3").exit_code == 4
    assert eve("check", "answer", "halberd", _number(eve, "pump"), "not done", "--figure", "20").exit_code == 4


def test_a_promise_becomes_a_task_due_by_the_battle_after_this_one(eve: Run) -> None:
    step = _number(eve, "skin")
    assert eve("check", "answer", "halberd", step, "promise", "--note", "re-skin the port side").exit_code == 0
    task = eve("task", "list", "--json").json["rows"][0]
    assert (task["title"], task["due_on"], task["on"]) == ("re-skin the port side (Halberd)", "2026-07-05", "Halberd")
    page = _page(eve, "halberd", "--battle", "july")
    assert [promise["what"] for promise in page["promises"]] == ["re-skin the port side (Halberd)"]
    assert _page(eve)["promises"] == []


def test_a_promise_on_safety_ends_by_the_battle_after_this_one_and_is_no_pass(eve: Run) -> None:
    late = ("promise", "--due", "2026-07-06")
    refused = eve("check", "answer", "halberd", _number(eve, "failsafe"), *late)
    assert (refused.exit_code, "can't wait until 2026-07-06, beyond July Balls, 2026-07-05" in refused.stderr) == (
        4,
        True,
    )
    kept = eve("check", "answer", "halberd", _number(eve, "failsafe"), "promise")
    assert "an open safety item until it is kept: the safety officer decides" in kept.stdout
    other = eve("check", "answer", "halberd", _number(eve, "rudder"), *late)
    assert (other.exit_code, "open safety item" in other.stdout) == (0, False)


def test_the_same_promise_twice_makes_two_tasks_that_can_be_told_apart(eve: Run) -> None:
    for topic in ("skin", "box"):
        eve("check", "answer", "halberd", _number(eve, topic), "promise", "--note", "new tape")
    titles = [row["title"] for row in eve("task", "list", "--json").json["rows"]]
    assert titles == ["new tape (Halberd)", "new tape (Halberd, June Balls)"]
    assert eve("task", "done", "new tape (Halberd)").exit_code == 0


def test_a_promise_kept_on_the_spot_is_closed(eve: Run) -> None:
    step = _number(eve, "skin")
    eve("check", "answer", "halberd", step, "promise")
    assert "kept: put right: skin" in eve("check", "answer", "halberd", step, "pass").stdout
    assert eve("task", "list", "--json").json["rows"] == []


def test_a_fail_opens_a_failure(eve: Run) -> None:
    answered = eve("check", "answer", "halberd", _number(eve, "rudder"), "fail", "--opens", "failure")
    assert "S-01 failed (erratic) and is out" in answered.stdout
    failure = eve("failure", "list", "--json").json["rows"][0]
    assert (failure["part"], failure["found_by"]) == ("S-01", "pre-battle check")


def test_a_fail_opens_a_suspect_which_the_next_check_shows(eve: Run) -> None:
    eve("check", "answer", "halberd", _number(eve, "rudder"), "fail", "--opens", "suspect", "--mode", "hard over")
    page = _page(eve, "halberd", "--battle", "july")
    assert "S-01 (was rudder-servo): hard over since 2026-06-01" in page["suspects"][0]
    assert _step(page, "rudder")["suspects"] == page["suspects"]
    assert eve("failure", "list", "--json").json["rows"] == []


def test_nothing_is_kept_of_an_answer_that_can_not_follow_through(eve: Run) -> None:
    refused = eve("check", "answer", "halberd", _number(eve, "box"), "fail", "--opens", "failure")
    assert refused.exit_code == 4
    assert _page(eve)["answered"] == 0
    assert eve("check", "answer", "halberd", "1", "pass", "--opens", "suspect").exit_code == 4


def test_a_check_begun_keeps_its_questions_when_positions_change(eve: Run) -> None:
    eve("check", "answer", "halberd", "1", "pass")
    before = [(step["step"], step["question"]) for step in _page(eve)["steps"]]
    eve("position", "add", "halberd/bow-servo", "--system", "steering", "--zone", "bilge")
    assert [(step["step"], step["question"]) for step in _page(eve)["steps"]] == before
    later = _page(eve, "halberd", "--battle", "july")
    assert any(step["position"] == "bow-servo" for step in later["steps"])


def test_a_walk_goes_on_where_it_was_left(eve: Run) -> None:
    eve("check", "run", "halberd", input="p\np\nq\n")
    assert _page(eve)["answered"] == 2
    walked = eve("check", "run", "halberd", input="n\n")
    assert "go on with: maintain check run halberd" in walked.stderr
    assert [step["given"]["answer"] for step in _page(eve)["steps"][:3]] == ["pass", "pass", "not done"]


def test_a_walk_takes_figures_notes_suspects_and_promises(eve: Run) -> None:
    steps = _page(eve)["steps"]
    keys = {"pump": "p 19.5 fine stream", "rudder": "f s jitters", "skin": "s re-skin"}
    lines = [keys.get(step["topic"], "p") for step in steps]
    walked = eve("check", "run", "halberd", "--by", "ana", input="\n".join(lines))
    page = _page(eve)
    given = {topic: _step(page, topic)["given"] for topic in keys}
    assert (given["pump"]["figure"], given["pump"]["note"], given["pump"]["by"]) == (19.5, "fine stream", "Ana")
    assert (given["rudder"]["answer"], given["rudder"]["note"]) == ("fail", "jitters")
    assert given["skin"]["promise"] == "re-skin (Halberd)"
    assert page["finished_on"] == "2026-06-01"
    assert f"all {len(steps)} answered: 1 failed, 1 promised: rudder-servo, skin; no open safety item" in walked.stderr


def test_the_last_answer_can_be_taken_back_with_all_that_followed(eve: Run) -> None:
    steps = [step["topic"] for step in _page(eve)["steps"]]
    keys = "p\n" * steps.index("rudder") + "f f\n"
    eve("check", "run", "halberd", input=keys)
    assert len(eve("failure", "list", "--json").json["rows"]) == 1
    eve("check", "run", "halberd", input="u\nq\n")
    assert eve("failure", "list", "--json").json["rows"] == []
    assert eve("show", "halberd").stdout.count("S-01") == 1
    assert _page(eve)["answered"] == steps.index("rudder")


def test_a_wrong_key_in_a_file_of_keys_stops_it_and_keeps_what_went_before(eve: Run) -> None:
    stopped = eve("check", "run", "halberd", input="p\nx\np\n")
    assert stopped.exit_code == 4
    assert "'x' is no answer" in stopped.stderr
    assert _page(eve)["answered"] == 1


def test_the_journal_takes_an_answer_back(eve: Run) -> None:
    eve("check", "answer", "halberd", "1", "pass")
    assert eve("undo", "--yes").exit_code == 0
    page = _page(eve)
    assert (page["begun_on"], page["answered"]) == (None, 0)


def test_it_never_says_safe_or_fit(eve: Run) -> None:
    eve("check", "run", "halberd", input="p\n" * len(_page(eve)["steps"]))
    said = eve("check", "show", "halberd").stdout + eve("check", "fleet").stdout
    assert "no open safety item is recorded" in said
    assert not re.search(r"\b(is safe|are safe|certified|cleared|fit to sail|safe to)\b", said)


def test_an_open_safety_item_and_an_old_bottle_are_listed(eve: Run) -> None:
    eve("family", "add", "bottle 100 g", "--category", "cylinder")
    eve("part", "add", "--family", "bottle 100 g", "--tag", "C-01", "--into", "halberd/bottle", "--from", "2026-01-02")
    eve("certificate", "add", "C-01", "--expires", "2026-05-01", "--source", "49 CFR 180.209")
    to_bottle = int(_number(eve, "bottle")) - 6
    eve("check", "run", "halberd", input="p\n" * 4 + "n\n" + "p\n" * to_bottle + "f\n" + "p\n" * 30)
    page = _page(eve)
    untested = [line for line in page["open_safety"] if line == "step 5, range, receiver: not done"]
    bottle = [line for line in page["open_safety"] if line.startswith("C-01")]
    assert (len(untested), len(bottle)) == (1, 1)
    assert "licensed cylinder inspector" in bottle[0]
    assert f"step {_number(eve, 'bottle')}, bottle, bottle: failed" in page["open_safety"]
    assert page["verdict"].startswith(
        "1 failed, 1 not done: bottle, receiver; 3 open safety items recorded; the safety officer"
    )


def test_the_board_says_who_has_not_checked(eve: Run) -> None:
    eve("check", "answer", "halberd", "1", "pass")
    board = eve("check", "fleet", "--json").json
    assert {row["ship"]: row["check"] for row in board["rows"]} == {"Gannet": "not begun", "Halberd": "begun"}
    assert "not checked: Gannet" in board["notes"]
    assert "begun, not finished: Halberd" in board["notes"]
    assert eve("check", "fleet", "--csv").stdout.startswith("Ship,Captain,Check")


@pytest.mark.parametrize("state", ["dry dock", "lost"])
def test_a_ship_out_of_service_is_not_checked(eve: Run, state: str) -> None:
    eve("ship", "state", "gannet", state, "--yes")
    for words in (("show", "gannet"), ("run", "gannet"), ("answer", "gannet", "1", "pass")):
        refused = eve("check", *words)
        assert (refused.exit_code, "does not sail" in refused.stderr) == (4, True)
    assert "Gannet" not in [row["ship"] for row in eve("check", "fleet", "--json").json["rows"]]


def test_a_battle_called_off_or_over_takes_no_answers(eve: Run) -> None:
    eve("battle", "add", "May Balls", "--from", "2026-05-02")
    eve("battle", "state", "july", "called off")
    for battle, why in (("may", "was over on 2026-05-02"), ("july", "was called off")):
        refused = eve("check", "answer", "halberd", "1", "pass", "--battle", battle)
        assert (refused.exit_code, why in refused.stderr) == (4, True)


@pytest.mark.parametrize(
    ("words", "code"),
    [
        (("answer", "halbrd", "1", "pass"), 3),
        (("answer", "halberd", "99", "pass"), 3),
        (("answer", "halberd", "-1", "pass"), 3),
        (("answer", "halberd", "1", "perhaps"), 2),
        (("answer", "halberd", "1", "pass", "--by", "Zoe"), 3),
        (("answer", "halberd", "1", "promise", "--due", "2026-05-01"), 4),
        (("answer", "halberd", "1", "pass", "--due", "2026-07-01"), 4),
        (("show", "halberd", "--battle", "never"), 3),
        (("fleet", "--battle", "never"), 3),
    ],
)
def test_bad_input_is_refused_and_nothing_is_written(eve: Run, words: tuple[str, ...], code: int) -> None:
    assert eve("check", *words).exit_code == code
    assert _page(eve)["begun_on"] is None


def test_without_a_battle_to_come_it_says_so(pond: Desk, run: Run) -> None:
    refused = run("check", "show", "halberd")
    assert (refused.exit_code, "no battle is planned" in refused.stderr) == (3, True)


def test_dated_work_stands_beside_its_question_and_a_forecast_when_one_is_kept(eve: Run) -> None:
    at_pump = ("--position", "halberd/pump")
    eve("task", "add", "oil the pump", "--every", "30 days", *at_pump, "--on", "2026-01-01")
    page = _page(eve)
    assert _step(page, "pump")["due"][0].startswith("oil the pump (every 30 days")
    assert "not forecast yet" in page["due_from"]
    eve("due", "--all", "--json")
    assert re.search(r"as maintain due gave them on \d{4}-\d\d-\d\d at \d\d:\d\d$", _page(eve)["due_from"])


@pytest.mark.parametrize(("zone", "told"), [("UTC0", "2026-05-30 at 22:30"), ("EST5", "2026-05-30 at 17:30")])
def test_a_forecast_is_told_by_the_clock_on_the_wall(
    eve: Run, club: Path, monkeypatch: pytest.MonkeyPatch, zone: str, told: str
) -> None:
    eve("due", "--all", "--json")
    with closing(sqlite3.connect(club)) as connection, connection:
        connection.execute("UPDATE fitted SET made_at = '2026-05-30T22:30:00+00:00'")
    with monkeypatch.context() as patch:
        patch.setenv("TZ", zone)
        time.tzset()
        assert f"gave them on {told}" in _page(eve)["due_from"]
    time.tzset()


def test_it_fits_a_narrow_window(eve: Run) -> None:
    assert max(map(len, eve("check", "show", "halberd", columns=40).stdout.splitlines())) <= 40


def test_a_person_answers_with_one_key(eve: Run, club: Path) -> None:
    code, said = walked(club, ("check", "run", "halberd"), ((ASKED, b"p"), (ASKED, b"q")))
    assert code == 0
    assert b"\x1b[" not in said
    assert _page(eve)["answered"] == 1


def test_a_forecast_older_than_the_records_says_as_of_when(eve: Run, club: Path) -> None:
    eve("due", "--all", "--json")
    connection = sqlite3.connect(club)
    with connection:
        connection.execute("UPDATE change SET made_at = '2026-01-01T08:00:00+00:00'")
    assert "recorded since" not in _page(eve)["due_from"]
    with connection:
        connection.execute("UPDATE fitted SET made_at = '2026-05-31T08:00:00+00:00'")
    connection.close()
    eve("check", "answer", "halberd", "1", "pass")
    assert "recorded since" not in _page(eve)["due_from"]
    eve("reading", "add", "halberd/pump", "other", "1")
    assert "before what was recorded since (reading add): ask maintain due anew" in _page(eve)["due_from"]


def test_an_emptied_position_can_not_pass_until_a_part_is_fitted(eve: Run) -> None:
    step = _number(eve, "rudder")
    eve("check", "answer", "halberd", step, "fail", "--opens", "failure")
    refused = eve("check", "answer", "halberd", step, "pass")
    assert (refused.exit_code, "S-01 came out and is scrapped since 2026-06-01" in refused.stderr) == (4, True)
    assert _step(_page(eve), "rudder")["given"]["answer"] == "fail"
    eve("part", "add", "--family", "standard servo", "--tag", "S-02", "--into", "halberd/rudder-servo")
    assert eve("check", "answer", "halberd", step, "pass").exit_code == 0
