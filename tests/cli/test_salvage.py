"""After a sinking: steps in the order that keeps people whole, findings part by part, and never a clearance."""

from __future__ import annotations

import subprocess
import sys
import threading
from pathlib import Path
from typing import Any

import pytest

from maintain.services.unit import Desk
from tests.conftest import Run
from tests.terminal import ASKED, walked

ABOARD = {
    "S-01": ("standard servo", "halberd/rudder-servo"),
    "G-01": ("standard servo", "halberd/gun-1-servo"),
    "P-01": ("pump", "halberd/pump"),
    "R-01": ("receiver", "halberd/receiver"),
    "B-01": ("pack", "halberd/main-battery"),
    "C-01": ("bottle", "halberd/bottle"),
}


@pytest.fixture
def afloat(pond: Desk, run: Run) -> Run:
    """The small fleet with six parts aboard Halberd since January."""
    for family, category in (("receiver", "receiver"), ("pack", "battery"), ("bottle", "cylinder")):
        assert run("family", "add", family, "--category", category).exit_code == 0
    for tag, (family, where) in ABOARD.items():
        into = ("--into", where, "--from", "2026-01-02", "--origin", "new")
        assert run("part", "add", "--family", family, "--tag", tag, *into).exit_code == 0
    return run


@pytest.fixture
def sunk(afloat: Run) -> Run:
    """Halberd sank today and was lifted quickly; nobody knows why, or for how long she was under."""
    assert afloat("sortie", "log", "halberd=W3", "--venue", "Mill Pond").exit_code == 0
    return afloat


def _page(run: Run, *more: str) -> Any:
    return run("salvage", "show", "halberd", "--json", *more).json


def _numbers(page: Any) -> dict[tuple[str, str | None], str]:
    return {(step["topic"], step["part"]): str(step["step"]) for step in page["steps"]}


def _answer(run: Run, topic: str, part: str | None, *said: str) -> Any:
    on = said[said.index("--on") :][:2] if "--on" in said else ()
    return run("salvage", "answer", "halberd", _numbers(_page(run, *on))[topic, part], *said)


def _said(run: Run, topic: str, part: str | None, *said: str) -> str:
    told = _answer(run, topic, part, *said)
    assert told.exit_code == 0, told.stderr
    return str(told.stdout)


def _step(page: Any, topic: str, part: str | None = None) -> Any:
    return next(step for step in page["steps"] if (step["topic"], step["part"]) == (topic, part))


def test_people_pins_gas_and_power_come_before_anything_is_opened(sunk: Run) -> None:
    page = _page(sunk)
    topics = [step["topic"] for step in page["steps"]]
    first = ["people", "pins", "lift", "gas", "power", "minutes under", "box", "batteries"]
    assert topics[: len(first)] == first
    assert topics.index("batteries") < topics.index("look") < topics.index("bench") < topics.index("24 h")
    assert all(step["safety"] for step in page["steps"] if step["topic"] in ("people", "pins", "gas", "power"))


def test_what_can_hurt_is_cautioned_where_it_is_met(sunk: Run) -> None:
    page = _page(sunk)
    assert any("nobody wades alone" in line for line in _step(page, "people")["cautions"])
    assert any("under pressure" in line for line in _step(page, "gas")["cautions"])
    assert any("fire by itself" in line for line in _step(page, "pins")["cautions"])
    assert any("not charged again" in line for line in _step(page, "batteries")["cautions"])
    assert any("alcohol burns" in line for line in _step(page, "look", "S-01")["cautions"])


def test_steps_come_from_her_own_positions(sunk: Run) -> None:
    assert "bottle, regulator" in _step(_page(sunk), "gas")["question"]
    sunk("ship", "add", "Tramp", "--like", "convoy ship")
    sunk("ship", "add", "Bare")
    sunk("sortie", "log", "tramp=W3", "bare=W3:damage:4min")
    tramp, bare = (sunk("salvage", "show", ship, "--json").json for ship in ("tramp", "bare"))
    assert not {"gas", "pins"} & {step["topic"] for step in tramp["steps"]}
    assert "no part was recorded aboard" in tramp["notes"][0]
    assert {"people", "pins", "gas", "power", "box"} <= {step["topic"] for step in bare["steps"]}
    assert "positions are not recorded" in bare["notes"][0]


def test_salt_or_unknown_water_asks_for_a_rinse_and_a_clean_pond_does_not(sunk: Run) -> None:
    sunk("sortie", "log", "gannet=W3")
    gannet = sunk("salvage", "show", "gannet", "--json").json
    assert ("rinse" in {step["topic"] for step in gannet["steps"]}, gannet["water"]) == (True, "unknown")
    assert "rinse" not in {step["topic"] for step in _page(sunk)["steps"]}


def test_what_the_log_tells_already_is_not_asked(afloat: Run) -> None:
    afloat("sortie", "log", "halberd=W3:damage:4min")
    assert not {"minutes under", "cause"} & {step["topic"] for step in _page(afloat)["steps"]}


def test_a_time_that_makes_it_another_sinking_says_so(sunk: Run) -> None:
    assert "that makes it W4, not W3" in _said(sunk, "minutes under", None, "timed", "--figure", "25")
    row = sunk("sortie", "list", "--ship", "halberd", "--json").json["rows"][0]
    assert (row["wetness"], row["minutes_under"]) == ("W4", 25)


@pytest.mark.parametrize("figure", ["abc", "-3", "nan", "1e9", ""])
def test_minutes_that_make_no_sense_are_refused(sunk: Run, figure: str) -> None:
    assert _answer(sunk, "minutes under", None, "timed", f"--figure={figure}").exit_code == 4
    assert _page(sunk)["begun_on"] is None


def test_an_answer_in_json_names_the_sinking_and_the_part(sunk: Run) -> None:
    answered = _answer(sunk, "look", "S-01", "damp", "--json").json
    wanted = {"ship": "Halberd", "day": "2026-06-01", "number": 1, "answer": "damp", "part": "S-01"}
    assert wanted.items() <= answered["record"].items()


def test_the_cause_is_written_into_the_log(sunk: Run) -> None:
    _said(sunk, "cause", None, "system", "--system", "pumping")
    row = sunk("sortie", "list", "--ship", "halberd", "--json").json["rows"][0]
    assert (row["sinking_cause"], row["sinking_system"]) == ("system", "pumping")


def test_the_cause_is_not_asked_once_a_failure_that_sank_her_is_on_record(sunk: Run) -> None:
    _said(sunk, "people", None, "done")
    sunk("failure", "log", "P-01", "--mode", "won't prime", "--cause", "wear", "--effect", "sank", "--to", "stays")
    assert _step(_page(sunk), "cause")["stands"] == "a failure on record"


def test_a_box_found_dry_answers_for_what_is_in_it(sunk: Run) -> None:
    _said(sunk, "box", None, "dry")
    assert _step(_page(sunk), "look", "R-01")["stands"] == "dry, with its box"
    _said(sunk, "box", None, "damp")
    page = _page(sunk)
    assert (_step(page, "look", "R-01")["stands"], _step(page, "bench", "R-01")["stands"]) == (None, None)
    assert [row["found"] for row in sunk("opening", "list", "--json").json["rows"]] == ["damp"]


def test_an_opening_logged_by_hand_is_put_right_and_not_doubled(sunk: Run) -> None:
    sunk("opening", "log", "halberd", "dry")
    assert "in place of dry, logged on 2026-06-01" in _said(sunk, "box", None, "water", "--dried", "fan")
    assert [(row["found"], row["dried"]) for row in sunk("opening", "list", "--json").json["rows"]] == [("water", True)]


def test_only_what_was_wetted_is_tried_and_tried_again(sunk: Run) -> None:
    _said(sunk, "look", "S-01", "water", "--opened", "--dried", "alcohol rinse")
    _said(sunk, "look", "P-01", "dry")
    page = _page(sunk)
    given = _step(page, "look", "S-01")["given"]
    assert (given["answer"], given["opened"], given["dried"]) == ("water", True, "alcohol rinse")
    assert [_step(page, topic, "P-01")["stands"] for topic in ("bench", "24 h", "7 days")] == ["was not wetted"] * 3
    assert [_step(page, topic, "S-01")["due_on"] for topic in ("24 h", "7 days")] == ["2026-06-02", "2026-06-08"]
    assert ("bench", "C-01") not in _numbers(page)  # its date decides, not a test


def test_what_is_dead_when_it_is_opened_becomes_a_failure_with_one_more_word(sunk: Run) -> None:
    told = _said(sunk, "look", "P-01", "water", "--opens", "failure", "--mode", "broken", "--cause", "knock")
    assert "P-01 failed (broken) and is out" in told
    failure = sunk("failure", "list", "--json").json["rows"][0]
    assert (failure["part"], failure["found_by"], failure["cause"]) == ("P-01", "opened", "knock")
    assert _step(_page(sunk), "bench", "P-01")["stands"] == "no longer there"


def test_a_test_that_fails_makes_a_suspect_unless_more_is_said(sunk: Run) -> None:
    assert "S-01 is suspect (erratic) and is out" in _said(sunk, "bench", "S-01", "fail")
    assert sunk("failure", "list", "--json").json["rows"] == []
    assert "1 suspect open" in _page(sunk)["verdict"]


def test_the_walk_takes_one_key_an_answer_and_goes_on_after_a_break(sunk: Run) -> None:
    first = sunk("salvage", "run", "halberd", "--json", input="y\ny\ny\nn\ny after 3 min\nm 4\nq\n")
    assert (first.exit_code, first.json["answered"], first.json["minutes_under"]) == (0, 6, 4)
    assert "paused; nothing is lost: go on with: maintain salvage run halberd" in first.stderr
    second = sunk("salvage", "run", "halberd", "--json", input="m 1\ny\nw o 3 smells\nd\nm f burnt\n")
    looks = {step["part"]: step["given"] for step in second.json["steps"] if step["topic"] == "look"}
    assert (looks["R-01"]["answer"], looks["R-01"]["opened"], looks["R-01"]["dried"]) == (
        "water",
        True,
        "alcohol rinse",
    )
    assert (looks["R-01"]["note"], looks["G-01"]["answer"]) == ("smells", "dry")
    failed = sunk("failure", "list", "--json").json["rows"][0]
    assert (failed["part"], failed["note"]) == ("S-01", "burnt")
    assert second.json["open_safety"] == ["step 4, gas"]


def test_a_wrong_key_ends_a_piped_walk_with_the_keys_of_that_step(sunk: Run) -> None:
    refused = sunk("salvage", "run", "halberd", input="y\nd\n")
    assert refused.exit_code == 4
    assert "y done, n not done, u take back, q pause" in refused.stderr
    assert _page(sunk)["answered"] == 1


def test_a_person_answers_with_one_key(sunk: Run, club: Path) -> None:
    code, _ = walked(club, ("salvage", "run", "halberd"), ((ASKED, b"y"), (ASKED, b"q")))
    assert (code, _page(sunk)["answered"]) == (0, 1)


def test_a_person_is_asked_what_belongs_to_a_look(sunk: Run, club: Path) -> None:
    sunk("salvage", "run", "halberd", input="y\ny\ny\ny\ny\nn\nm 1\ny\n")
    keys = (
        (ASKED, b"w"),
        (b"its case is open", b"o"),
        (b"6 not dried", b"3"),
        (b"f log a failure", b"s"),
        (ASKED, b"q"),
    )
    code, said = walked(club, ("salvage", "run", "halberd"), keys)
    assert (code, b"R-01 is suspect" in said) == (0, True)
    given = _step(_page(sunk), "look", "R-01")["given"]
    assert (given["answer"], given["opened"], given["dried"]) == ("water", True, "alcohol rinse")


def test_an_answer_is_taken_back_with_all_that_followed(sunk: Run) -> None:
    before = sunk("part", "show", "S-01", "--json").json["where"]
    told = sunk("salvage", "run", "halberd", input="y\ny\ny\ny\ny\nn\nd\ny\nd\nw f\nu\nq\n")
    assert "took back: Halberd, step" in told.stderr
    assert sunk("failure", "list", "--json").json["rows"] == []
    assert [row["position"] for row in sunk("opening", "list", "--json").json["rows"]] == ["gun-1-servo", None]
    assert sunk("part", "show", "S-01", "--json").json["where"] == before


def test_undo_takes_back_one_answer_and_the_beginning_with_the_first(sunk: Run) -> None:
    _said(sunk, "box", None, "damp")
    _said(sunk, "look", "S-01", "water", "--opens", "failure")
    assert "Halberd, step" in sunk("undo").stdout
    assert (_page(sunk)["answered"], sunk("failure", "list", "--json").json["rows"]) == (1, [])
    sunk("undo")
    assert (_page(sunk)["begun_on"], sunk("opening", "list", "--json").json["rows"]) == (None, [])


def test_nothing_is_kept_of_an_answer_that_can_not_follow_through(sunk: Run) -> None:
    _said(sunk, "people", None, "done")
    sunk("part", "pull", "S-01", "--to", "scrapped")
    refused = _answer(sunk, "look", "S-01", "water", "--opens", "failure")
    assert (refused.exit_code, "S-01 is no longer in Halberd/rudder-servo" in refused.stderr) == (4, True)
    assert sunk("opening", "list", "--json").json["rows"] == []
    assert "no longer in" in _answer(sunk, "bench", "S-01", "pass").stderr
    _said(sunk, "look", "S-01", "water")  # how far the water came is still worth knowing


def test_two_members_answering_one_step_are_told_of_each_other(sunk: Run) -> None:
    _said(sunk, "box", None, "dry", "--by", "Ana")
    assert "in place of dry by Ana" in _said(sunk, "box", None, "damp", "--by", "Bea")
    given = _step(_page(sunk), "box")["given"]
    assert (given["answer"], given["by"]) == ("damp", "Bea")


def test_two_programs_at_once_lose_no_answer(sunk: Run, club: Path) -> None:
    program = Path(sys.executable).with_name("maintain")
    codes: list[int] = []

    def say(step: int) -> None:
        command = [program, "salvage", "answer", "halberd", str(step), "done", "--db", club, "--on", "2026-06-01"]
        codes.append(subprocess.run(command, capture_output=True, check=False, timeout=120).returncode)

    together = [threading.Thread(target=say, args=(step,)) for step in (1, 2, 3)]
    for each in together:
        each.start()
    for each in together:
        each.join()
    assert (codes, _page(sunk)["answered"]) == ([0, 0, 0], 3)


def test_answers_out_of_order_are_kept_and_what_is_open_before_them_is_said(sunk: Run) -> None:
    told = _said(sunk, "box", None, "dry")
    assert "still open before it: step 1 (people), step 2 (pins), step 4 (gas), step 5 (power)" in told


def test_a_finished_salvage_never_clears_the_ship(sunk: Run) -> None:
    keys = "y\n" * 5 + "n\nd\ny\n" + "d\n" * 5 + "y\nd\n"
    page = sunk("salvage", "run", "halberd", "--json", input=keys).json
    assert (page["finished_on"], page["answered"]) == ("2026-06-01", page["asked"])
    assert page["verdict"] == (
        "0 parts to be tried again; 0 suspects open; no open safety item is recorded; "
        "the club's safety officer decides, not this record"
    )
    again = sunk("salvage", "run", "halberd", input="")
    assert again.exit_code == 0
    shown = again.stdout.lower()
    assert not [word for word in ("certified", "is safe", "fit to sail") if word in shown]


def test_a_ship_that_never_sank_says_how_to_log_it(afloat: Run) -> None:
    nothing = afloat("salvage", "show", "halberd")
    assert (nothing.exit_code, "maintain sortie log Halberd=W3" in nothing.stderr) == (3, True)
    afloat("sortie", "log", "halberd=W1")
    dry = afloat("salvage", "run", "halberd")
    assert (dry.exit_code, "her last sortie was 1 of 2026-06-01" in dry.stderr) == (3, True)
    assert "sortie correct Halberd=W3 --day 2026-06-01 --number 1" in dry.stderr


def test_after_a_dry_sortie_the_sinking_before_is_named_and_not_taken(sunk: Run) -> None:
    sunk("sortie", "log", "halberd=W0")
    refused = sunk("salvage", "answer", "halberd", "1", "done")
    assert (refused.exit_code, "last sortie did not sink her" in refused.stderr) == (4, True)
    assert "--day 2026-06-01 --number 1" in refused.stderr
    meant = ("--day", "2026-06-01", "--number", "1")
    assert sunk("salvage", "answer", "halberd", "1", "done", *meant).exit_code == 0
    assert sunk("salvage", "answer", "halberd", "2", "done").exit_code == 0  # begun: no doubt which


@pytest.mark.parametrize(
    ("words", "code"),
    [
        (("answer", "halbrd", "1", "done"), 3),
        (("answer", "halberd", "99", "done"), 3),
        (("answer", "halberd", "-1", "done"), 3),
        (("answer", "halberd", "1", "perhaps"), 2),
        (("answer", "halberd", "1", "dry"), 4),
        (("answer", "halberd", "1", "done", "--figure", "3"), 4),
        (("answer", "halberd", "1", "done", "--opened"), 4),
        (("answer", "halberd", "6", "timed"), 4),
        (("answer", "halberd", "7", "dry", "--opens", "failure"), 4),
        (("answer", "halberd", "1", "done", "--by", "Zoe"), 3),
        (("run", "halberd", "--day", "2026-05-01"), 3),
        (("run", "halberd", "--number", "1", "--on", "2026-06-02"), 4),
        (("show", "halberd", "--day", "2026-06-01", "--number", "2"), 3),
        (("show", "halberd", "--on", "2025-06-01"), 3),
    ],
)
def test_bad_input_is_refused_and_nothing_is_written(sunk: Run, words: tuple[str, ...], code: int) -> None:
    refused = sunk("salvage", *words)
    assert (refused.exit_code, "Traceback" in refused.stderr) == (code, False)
    assert _page(sunk)["begun_on"] is None


def test_a_clock_in_the_wrong_year_is_noticed(sunk: Run) -> None:
    assert "she did later" in sunk("salvage", "run", "halberd", "--on", "2025-06-01").stderr
    assert "if the clock is wrong" in _page(sunk, "--on", "2027-06-01")["notes"][0]
    _said(sunk, "people", None, "done", "--on", "2026-06-03")
    early = sunk("salvage", "answer", "halberd", "2", "done", "--on", "2026-06-02")
    assert (early.exit_code, "begun on 2026-06-03" in early.stderr) == (4, True)


def test_a_sinking_that_was_none_after_all_leaves_nothing_to_do(sunk: Run) -> None:
    _said(sunk, "look", "S-01", "dry")
    assert sunk("sortie", "correct", "halberd=W1", "--day", "2026-06-01", "--number", "1").exit_code == 0
    assert "no open safety item" in _page(sunk)["verdict"]
    lines = sunk("due", "--json", "--on", "2026-06-09").json["lines"]
    assert not [line for line in lines if line["advice"] == "task"]


def test_hostile_names_are_shown_as_they_are(sunk: Run) -> None:
    note = "[bold]wet[/bold] <script>alert(1)</script>"
    _said(sunk, "box", None, "damp", "--note", note)
    assert note in sunk("salvage", "show", "halberd").stdout
    assert _step(_page(sunk), "box")["given"]["note"] == note


def test_it_fits_a_narrow_window_and_a_table(sunk: Run) -> None:
    assert max(map(len, sunk("salvage", "show", "halberd", columns=40).stdout.splitlines())) <= 40
    assert sunk("salvage", "show", "halberd", "--csv").stdout.startswith("Step,Question,Position,Part,Due on,Answer")


def test_what_is_not_answered_keeps_its_cautions_whatever_else_is(sunk: Run) -> None:
    _said(sunk, "people", None, "done")
    _said(sunk, "power", None, "not done")
    shown = " ".join(sunk("salvage", "show", "halberd").stdout.split())
    assert "nobody wades alone" not in shown
    assert "caution: current through water eats tracks" in shown
    assert "caution: lithium that leaked, swelled, smelled or lay in salt water is not charged again" in shown
    assert "decides: safety officer" in shown
