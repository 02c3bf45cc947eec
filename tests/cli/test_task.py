"""maintain task and maintain certificate: recurring work, promises and legal dates, through the program."""

from __future__ import annotations

import pytest

from tests.conftest import Answer, Run

pytestmark = pytest.mark.usefixtures("pond")


def _refused(answer: Answer, code: int = 4) -> str:
    assert (answer.exit_code, answer.stdout) == (code, "")
    assert "hint: " in answer.stderr or code == 2
    return answer.stderr


def test_recurring_work_is_listed_until_it_is_closed_and_says_when_it_was_last_done(run: Run) -> None:
    assert run("task", "add", "grease the shafts", "--every", "5 sorties", "--ship", "hal").exit_code == 0
    done = run("task", "done", "GREASE", "--ship", "halberd", "--day", "2026-05-30")
    assert done.stdout.startswith("grease the shafts done on 2026-05-30")
    [row] = run("task", "list", "--json").json["rows"]
    assert (row["title"], row["on"], row["every"], row["state"], row["last_done"]) == (
        "grease the shafts",
        "Halberd",
        "every 5 sorties",
        "done",
        "2026-05-30",
    )


def test_a_promise_is_gone_from_the_list_once_it_is_kept(run: Run) -> None:
    assert run("task", "add", "new deck screws", "--due", "2026-06-20").exit_code == 0
    assert run("task", "list", "--json").json["rows"][0]["due_on"] == "2026-06-20"
    assert run("task", "done", "new deck").exit_code == 0
    assert run("task", "list", "--json").json["rows"] == []


def test_work_without_a_clock_or_a_day_is_refused(run: Run) -> None:
    assert "neither --every nor --due" in _refused(run("task", "add", "some time"))
    assert "no open task" in _refused(run("task", "done", "some time"), 3)
    assert run("task", "list", "--json").json["rows"] == []


def test_a_certificate_says_when_it_runs_out_and_who_decides(run: Run) -> None:
    assert run("part", "add", "--family", "pump", "--tag", "bottle-1").exit_code == 0
    told = run("certificate", "add", "bottle-1", "--expires", "2026-05-01", "--source", "club rule")
    assert "decides, not this record" in told.stdout
    [row] = run("certificate", "list", "--json").json["rows"]
    assert (row["tag"], row["expires_on"], row["expired"], row["decider"]) == (
        "bottle-1",
        "2026-05-01",
        True,
        "licensed cylinder inspector",
    )


def test_a_certificate_of_nothing_or_without_a_day_is_refused(run: Run) -> None:
    words = ("certificate", "add", "nothing", "--source", "club rule", "--expires")
    assert "no part called 'nothing'" in _refused(run(*words, "2026-05-01"), 3)
    assert "is not a day" in _refused(run(*words, "soon"))
