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


@pytest.mark.parametrize(
    ("words", "said", "code"),
    [
        (("add", "x", "--every", "often"), "'often' does not say how often", 4),
        (("add", "x", "--every", "2 sorties", "--every", "3 sorties"), "two intervals count sorties", 4),
        (("add", "x", "--due", "2062-06-01"), "2062-06-01 is more than ten years ahead", 4),
        (("add", "x", "--due", "01.06.2026"), "is not a day", 4),
        (("add", " ", "--every", "2 sorties"), "is no title of a task", 4),
        (("add", "a\nb", "--every", "2 sorties"), "is no title of a task", 4),
        (("add", "OIL the pump", "--every", "2 sorties"), "there is an open task 'oil the pump' already", 4),
        (("add", "x", "--every", "2 sorties", "--ship", "nobody"), "no ship called 'nobody'", 3),
        (("done", "oil", "--day", "2026-06-02"), "2026-06-02 is to come", 4),
        (("done", "oil", "--by", "nobody"), "no member called 'nobody'", 3),
        (("done", "oil", "--ship", "gannet"), "'oil the pump' is not done on gannet", 3),
        (("change", "oil"), "nothing to change was named", 4),
        (("change", "oil", "--every", "5 sorties"), "is so already", 4),
        (("close", "oil", "--reason", " "), "why is 'oil the pump' to stop?", 4),
        (("close", "oil"), "Missing option '--reason'", 2),
        (("adopt",), "name titles, a --category, or --all", 2),
        (("adopt", "polish the bell"), "no usual work called 'polish the bell'", 3),
        (("adopt", "--category", "cannon"), "no family of cannon is known to do it on", 4),
        (("show", "polish"), "no task called 'polish'", 3),
    ],
)
def test_what_can_not_be_is_refused_in_a_sentence_and_changes_nothing(
    run: Run, words: tuple[str, ...], said: str, code: int
) -> None:
    assert run("task", "add", "oil the pump", "--every", "5 sorties", "--ship", "halberd").exit_code == 0
    before = run("task", "list", "--json").stdout
    told = " ".join(_refused(run("task", *words), code).replace("│", " ").split())
    assert said in told
    assert run("task", "list", "--json").stdout == before


def test_work_on_several_clocks_is_listed_shown_mended_and_stopped(run: Run) -> None:
    every = ("--every", "2 battle days", "--every", "1 immersion")
    assert run("task", "add", "re-grease", *every, "--ship", "halberd", "--work-minutes", "15").exit_code == 0
    assert run("sortie", "log", "halberd=W3", "--day", "2026-05-30").exit_code == 0
    [row] = run("task", "list", "--json").json["rows"]
    assert (row["state"], row["every"]) == ("not yet", "every 2 battle days or every immersion")
    assert run("sortie", "log", "halberd=W3", "--day", "2026-06-02", "--on", "2026-06-02").exit_code == 0
    [row] = run("task", "list", "--json", "--on", "2026-06-02").json["rows"]
    assert (row["state"], row["ship"], row["due_on"]) == ("due", "Halberd", None)
    assert run("task", "done", "re-g", "--ship", "halberd", "--by", "ana", "--on", "2026-06-02").exit_code == 0
    page = run("task", "show", "re-g", "--json", "--on", "2026-06-02").json
    assert [(each["done_on"], each["ship"], each["by"]) for each in page["times"]] == [("2026-06-02", "Halberd", "Ana")]
    assert (page["every"], page["work_minutes"], page["states"][0]["state"]) == (row["every"], 15, "done")
    changed = run("task", "change", "re-g", "--every", "3 sorties")
    assert changed.stdout.startswith("changed re-grease: every 2 battle days or every immersion to every 3 sorties")
    assert run("task", "close", "re-g", "--reason", "sealed bearings").stdout.startswith(
        "closed re-grease (Halberd): sealed bearings"
    )
    assert run("task", "list", "--json").json["rows"] == []
    page = run("task", "show", "re-g", "--json").json
    assert (page["closed_on"], page["why_closed"], page["states"]) == ("2026-06-01", "sealed bearings", [])
    assert run("undo").exit_code == 0
    assert len(run("task", "list", "--json").json["rows"]) == 1


def test_the_list_can_be_narrowed(run: Run) -> None:
    assert run("part", "add", "--family", "pump", "--into", "gannet/pump", "--from", "2026-05-01").exit_code == 0
    assert run("task", "add", "old promise", "--due", "2026-05-01", "--ship", "halberd").stdout.count("overdue") == 1
    assert run("task", "add", "oil", "--every", "1 year", "--category", "pump").exit_code == 0

    def titles(*words: str) -> list[str]:
        return [row["title"] for row in run("task", "list", *words, "--json").json["rows"]]

    assert titles() == ["old promise", "oil"]
    assert titles("--ship", "gannet") == ["oil"]
    assert titles("--category", "pump") == ["oil"]
    assert titles("--overdue") == ["old promise"]
    assert titles("--limit", "1") == ["old promise"]


def test_usual_work_is_offered_with_its_source_adopted_and_then_mended(run: Run) -> None:
    rows = run("task", "suggest", "--json").json["rows"]
    assert {row["source"] for row in rows} == {"common practice, no source"}
    assert {row["adopted"] for row in rows} == {"no"}
    assert len(run("task", "suggest", "--everything", "--json").json["rows"]) > len(rows)
    assert run("task", "adopt", "--all").stdout.startswith(f"adopted {len(rows)} tasks")
    assert "all of that is adopted already" in _refused(run("task", "adopt", "--all"))
    assert run("task", "change", "look at the impeller", "--every", "10 sorties").exit_code == 0
    assert {row["adopted"] for row in run("task", "suggest", "--json").json["rows"]} == {"adopted"}


def test_a_title_with_marks_of_a_page_is_shown_as_it_is(run: Run) -> None:
    title = "[red]grease[/red] <b>all</b>"
    assert run("task", "add", title, "--every", "1 year", "--ship", "halberd").exit_code == 0
    assert title in run("task", "list").stdout
    assert title in run("task", "show", title).stdout


def test_what_regulations_say_is_named_and_left_to_the_inspector(run: Run) -> None:
    answer = run("certificate", "rules", "--json").json
    assert {row["decider"] for row in answer["rows"]} == {"licensed cylinder inspector"}
    # 49 CFR 180.209, Table 1: DOT 3AL 5 or 12 years, the 12 of paragraph (m) not for carbon dioxide; foreign ones 5
    years = {row["of"]: row["years"] for row in answer["rows"] if row["rule"] == "49 CFR 180.209 Table 1"}
    assert years == {"DOT 3AL, carbon dioxide": 5, "foreign, in the United States": 5}
    assert {row["basis"] for row in answer["rows"]} == {"read", "from memory"}
    assert "decides" in answer["notes"][0]


def test_cylinders_without_a_date_on_record_are_named(run: Run) -> None:
    assert run("family", "add", "bottle", "--category", "cylinder").exit_code == 0
    assert run("part", "add", "--family", "bottle", "--tag", "B-1").exit_code == 0
    assert run("certificate", "list", "--json").json["notes"] == ["no date on record of the cylinders: B-1"]
    assert "no test date on record of B-1" in run("task", "suggest", "--json").json["notes"][-1]
    assert run("certificate", "add", "B-1", "--expires", "2027-01-01", "--source", "stamp").exit_code == 0
    assert run("certificate", "list", "--json").json["notes"] == []


@pytest.mark.parametrize(
    ("days", "said"),
    [
        (("--expires", "2126-01-01"), "more than 25 years ahead"),
        (("--expires", "2027-01-01", "--issued", "2062-01-01"), "is to come: nothing was issued then"),
        (("--expires", "2024-01-01", "--issued", "2025-01-01"), "it can't run out on 2024-01-01, before it was issued"),
    ],
)
def test_a_certificate_of_a_wrong_year_is_refused(run: Run, days: tuple[str, ...], said: str) -> None:
    assert run("part", "add", "--family", "pump", "--tag", "bottle-1").exit_code == 0
    assert said in _refused(run("certificate", "add", "bottle-1", "--source", "club rule", *days))
    assert run("certificate", "list", "--json").json["rows"] == []


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
