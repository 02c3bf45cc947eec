"""`life backtest`, `life renew` and what `due` keeps, on the demo club and on clubs with little to go by."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from maintain.services import demo
from tests.conftest import Run

ON = ("--on", demo.today().isoformat())


def test_a_backtest_scores_the_battles_asked_for_and_its_sums_agree(own: Path, run: Run, tmp_path: Path) -> None:
    picture = tmp_path / "trust.svg"
    answer = run("life", "backtest", "--last", "4", "--json", "--plot", picture, *ON, db=own).json
    assert len(answer["battles"]) == 3
    for each in ("n", "seen", "expected"):
        total = answer["whole"][each]
        for parts in ("battles", "categories"):
            assert sum(line[each] for line in answer[parts]) == pytest.approx(total)
    assert sum(line["n"] for line in answer["calibration"]) == answer["whole"]["n"]
    assert sum(line["failures"] for line in answer["calibration"]) == answer["whole"]["seen"]
    assert answer["allowed"]["lower"] <= answer["whole"]["expected"] <= answer["allowed"]["upper"]
    for rival in answer["rivals"]:
        gained = 1 - answer["whole"]["brier"] / rival["brier"]
        assert rival["skill"]["value"] == pytest.approx(gained)
        assert rival["skill"]["lower"] <= gained <= rival["skill"]["upper"]
    assert answer["verdict"].startswith(
        f"expected {answer['whole']['expected']:.0f} failures, saw {answer['whole']['seen']}"
    )
    assert picture.read_text(encoding="utf-8").startswith("<?xml")


def test_the_verdict_stands_below_what_is_due_in_one_plain_line_until_the_next_one(own: Path, run: Run) -> None:
    before = run("due", *ON, db=own).stdout
    verdict = run("life", "backtest", "--last", "5", "--json", *ON, db=own).json["verdict"]
    run("member", "add", "Newcomer", *ON, db=own)
    after = run("due", *ON, db=own).stdout
    believed = verdict.partition(";")[0]
    assert "4 past battles" not in before
    [line] = [each for each in after.splitlines() if believed in each]
    assert "4 past battles" in line
    assert "log score" not in line
    assert "the failures a day of its category so far" in line
    assert "a Weibull law of days alone" in line
    assert len(line) < 260


def test_a_look_at_the_last_few_battles_leaves_the_verdict_on_more_of_them(own: Path, run: Run) -> None:
    def note() -> str:
        return next(each for each in run("due", "--json", *ON, db=own).json["notes"] if "past battles" in each)

    fewer = run("life", "backtest", "--last", "3", "--json", *ON, db=own).json["battles"]
    few = note()
    battles = run("life", "backtest", "--last", "5", "--json", *ON, db=own).json["battles"]
    more = note()
    run("life", "backtest", "--last", "3", "--refit", *ON, db=own)
    assert len(fewer) < len(battles)
    assert f"against {len(fewer)} past battles" in few
    assert f"against {len(battles)} past battles" in more
    assert note() == more


def test_what_is_due_is_the_same_kept_and_worked_out_anew(own: Path, run: Run) -> None:
    first, kept, anew = (run("due", "--json", *more, *ON, db=own).stdout for more in ((), (), ("--refit",)))
    assert first == kept == anew
    assert run("due", *ON, db=own).stdout == run("due", "--refit", *ON, db=own).stdout


def test_what_was_recorded_since_is_in_what_is_due(own: Path, run: Run) -> None:
    line = next(each for each in run("due", "--json", *ON, db=own).json["lines"] if each["failing"])
    run("part", "pull", line["part"], "--until", demo.today().isoformat(), *ON, db=own)
    again = run("due", "--json", *ON, db=own).json["lines"]
    assert line["part"] not in [each["part"] for each in again if each["failing"]]


def test_no_battle_to_score_says_what_to_record(run: Run) -> None:
    answer = run("life", "backtest", *ON)
    assert answer.exit_code == 5
    assert "log battles" in answer.stderr


def test_groups_are_renewed_tested_or_left_and_dearer_failures_make_renewing_earlier(demo_club: Path, run: Run) -> None:
    """The truth of the demo club: motors' shape is well above 1, firing valves fail young."""
    answer = run("life", "renew", "--json", *ON, db=demo_club).json
    lines = {line["group"]: line for line in answer["lines"]}
    pump_motor = lines["pump motor 28 mm, bilge"]
    assert pump_motor["policy"] == "renew at an age"
    assert pump_motor["age"]["lower"] < pump_motor["age"]["value"] < pump_motor["age"]["upper"]
    assert pump_motor["renewing_cents"] + pump_motor["saving"]["cents"] == pytest.approx(
        pump_motor["running_cents"], abs=2
    )
    assert lines["firing valve, dry deck"]["policy"] != "renew at an age"
    tested = {line["family"] for line in answer["tests"]}
    assert "float switch" in tested
    assert not tested & {line["family"] for line in answer["lines"]}

    def asked(cost: str) -> dict[str, float]:
        (line,) = run(
            "life", "renew", "--family", "pump motor 28 mm", "--cost-of-failure", cost, "--json", *ON, db=demo_club
        ).json["lines"]
        return line

    dear, cheap, free = (asked(cost) for cost in ("400", "100", "1"))
    assert dear["age"]["value"] < cheap["age"]["value"]
    assert (free["policy"], free["age"]["value"]) == ("never on age", None)


def test_where_no_group_has_an_age_to_renew_it_at_there_is_no_table_of_nothing(demo_club: Path, run: Run) -> None:
    said = run("life", "renew", "--category", "pump", *ON, db=demo_club).stdout
    assert "0 of 1 group of parts is worth renewing" in said
    assert "can't tell yet of pump body 3.2 mm" in said
    assert "At days fitted" not in said
    never = run("life", "renew", "--category", "motor", "--cost-of-failure", "1", *ON, db=demo_club).stdout
    assert "never on age: drive motor 36 mm, pump motor 28 mm: failing costs no more than renewing" in never


def test_the_ages_to_renew_at_stay_a_table_on_a_screen_of_eighty_columns(demo_club: Path, run: Run) -> None:
    said = run("life", "renew", *ON, db=demo_club, columns=80).stdout.splitlines()
    assert max(map(len, said)) <= 80
    assert len(said) < 110
    [heading] = [line for line in said if "At days fitted" in line]
    assert "Advice" in heading


def test_the_screen_says_what_it_saves_and_what_was_assumed(demo_club: Path, run: Run) -> None:
    said = run("life", "renew", "--category", "motor", *ON, db=demo_club).stdout
    assert "worth renewing before they fail" in said
    assert "6 in a vital position" in said
    assert "legal date" in said


def test_a_lower_tolerance_asks_for_more_tests(demo_club: Path, run: Run) -> None:
    def every(tolerated: str) -> list[float]:
        answer = run("life", "renew", "--category", "switch", "--tolerate", tolerated, "--json", *ON, db=demo_club).json
        return [line["every"]["value"] for line in sorted(answer["tests"], key=lambda line: line["group"])]

    assert all(few < many for few, many in zip(every("0.05"), every("0.2"), strict=True))


@pytest.mark.parametrize("args", [("--category", "motor"), ("--family", "fuse")])
def test_nothing_fitted_says_so(run: Run, args: tuple[str, str]) -> None:
    answer = run("life", "renew", *args, *ON)
    assert answer.exit_code in (3, 5)
    assert "error" in answer.stderr


def test_the_verdict_is_kept_as_one_line(own: Path, run: Run) -> None:
    run("life", "backtest", "--last", "3", *ON, db=own)
    notes = json.loads(run("due", "--json", *ON, db=own).stdout)["notes"]
    assert len([note for note in notes if "past battles" in note]) == 1
