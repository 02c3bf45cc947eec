"""maintain sheet and maintain phone: what stands on the pages, and where they go."""

from __future__ import annotations

from pathlib import Path

import pytest

from maintain.services.unit import Desk
from maintain.vocabulary import MODES
from tests.conftest import Run


@pytest.fixture(autouse=True)
def fleet(pond: Desk, run: Run) -> None:
    """Two ships, a battle ahead, spares in the pool."""
    run("battle", "add", "June <1>", "--from", "2026-06-06", "--until", "2026-06-07", "--planned-sorties", "8")
    run("part", "add", "--family", "pump", "--tag", "P9", "--origin", "new", "--from", "2026-01-02")
    run("pool", "count", "fuse", "7")
    run("task", "add", "re-grease the shafts", "--due", "2026-06-05", "--ship", "Halberd")


def test_a_ships_pages_hold_her_check_what_is_due_and_the_log_card(run: Run) -> None:
    page = run("sheet", "--ship", "halberd").stdout
    assert page.startswith("<!DOCTYPE html>")
    for words in ("re-grease the shafts", "rudder-servo", "gas last", "The safety officer stops and clears", "splash"):
        assert words in page
    assert "Gannet" not in page
    assert "June &lt;1&gt;" in page
    assert page.count("<tr><td>8</td>") == 1
    assert all(mode.replace("'", "&#x27;") in page for mode in MODES)
    assert "What the pool issues" not in page


def test_a_meets_pages_hold_all_ships_and_what_the_pool_issues(run: Run) -> None:
    answer = run("sheet", "--meet", "June <1>", "--json").json
    assert [ship["ship"] for ship in answer["ships"]] == ["Gannet", "Halberd"]
    assert answer["stock"] == [
        {"what": "fuse", "tag": None, "on_hand": 7, "category": "other", "pack": None},
        {"what": "pump", "tag": "P9", "on_hand": 1, "category": "pump", "pack": None},
    ]
    assert "What the pool issues" in run("sheet", "--meet", "June <1>").stdout


def test_the_issue_sheet_has_a_line_to_sign_for_each_part_under_its_family(run: Run) -> None:
    page = run("sheet", "--meet", "June <1>").stdout
    issue = page.partition("What the pool issues")[2]
    assert 'pump <span class="small">(pump) · 1 in the pool</span>' in issue
    assert issue.index("fuse <span") < issue.index("7 in the pool") < issue.index("pump <span") < issue.index("P9")
    assert issue.count("&nbsp;suspect") == 2 + 6  # P9, the fuses, and blank lines for what nobody thought of


def test_the_issue_sheet_says_what_to_pack_when_asked(run: Run) -> None:
    stock = run("sheet", "--meet", "June <1>", "--pack", "--json").json["stock"]
    crate = run("spares", "--meet", "June <1>", "--json").json["packed"]
    packed = {line["family"]: line["pack"] for line in crate}
    assert {line["what"]: line["pack"] for line in stock} == {"fuse": 0, "pump": 0} | packed
    assert run("sheet", "--fleet", "--pack").exit_code == 2


def test_likely_failures_are_listed_once_due_was_asked_and_nothing_changed_since(run: Run) -> None:
    def notes() -> list[str]:
        found: list[str] = run("sheet", "--fleet", "--json").json["notes"]
        return found

    assert "run maintain due --battle 'June <1>' first" in notes()[0]
    assert run("due").exit_code == 0
    assert notes() == []
    run("ship", "add", "Petrel")
    assert notes() != []


def test_without_a_battle_ahead_the_pages_say_so(run: Run) -> None:
    run("battle", "state", "June <1>", "called off")
    answer = run("sheet", "--ship", "halberd", "--json").json
    assert answer["battle"] is None
    assert answer["notes"] == ["no battle is planned after 2026-06-01"]


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_the_pages_go_into_a_file_of_the_paper_asked_for(run: Run, tmp_path: Path, paper: str) -> None:
    out = tmp_path / "pages.html"
    answer = run("sheet", "--fleet", "--out", out, "--paper", paper.lower())
    assert answer.stdout.startswith(f"wrote {out}: The fleet: June <1>")
    assert f"size: {paper};" in out.read_text(encoding="utf-8")


@pytest.mark.parametrize(
    ("words", "exit_code"),
    [
        (("sheet",), 2),
        (("sheet", "--fleet", "--ship", "Halberd"), 2),
        (("sheet", "--ship", "Nobody"), 3),
        (("sheet", "--meet", "Nothing"), 3),
        (("sheet", "--fleet", "--paper", "A5"), 2),
        (("sheet", "--fleet", "--out", "pages.pdf"), 4),
        (("sheet", "--fleet", "--out", "no/such/folder/pages.html"), 11),
        (("phone", "--battle", "Nothing"), 3),
    ],
    ids=str,
)
def test_what_cannot_be_printed_is_refused(run: Run, words: tuple[str, ...], exit_code: int) -> None:
    assert run(*words).exit_code == exit_code


@pytest.mark.parametrize("state", ["lost", "paid off"])
def test_a_ship_that_is_gone_has_no_page(run: Run, state: str) -> None:
    assert run("ship", "state", "Halberd", state, "--yes").exit_code == 0
    refused = run("sheet", "--ship", "Halberd")
    assert (refused.exit_code, f"Halberd is {state}" in refused.stderr) == (4, True)
    assert run("sheet", "--ship", "Gannet").exit_code == 0


def test_a_page_for_a_battle_called_off_or_an_empty_club_is_refused(run: Run) -> None:
    run("battle", "state", "June <1>", "called off")
    assert run("phone", "--battle", "June <1>").exit_code == 4
    run("battle", "state", "June <1>", "planned")
    for ship in ("Halberd", "Gannet"):
        run("ship", "state", ship, "dry dock")
    assert run("phone", "--battle", "June <1>").exit_code == 4
    assert run("sheet", "--fleet").exit_code == 4


def test_the_phone_knows_ships_positions_and_days(run: Run) -> None:
    answer = run("phone", "--battle", "June <1>", "--json").json
    assert answer["days"] == ["2026-06-06", "2026-06-07"]
    assert [ship["name"] for ship in answer["ships"]] == ["Gannet", "Halberd"]
    assert "rudder-servo" in answer["ships"][1]["positions"]
    assert "Ana" not in run("phone", "--battle", "June <1>").stdout  # captains' names stay at home


def test_the_sheet_asks_what_the_check_asks_in_its_order(run: Run) -> None:
    asked = [step["what"] for step in run("sheet", "--ship", "Halberd", "--json").json["ships"][0]["steps"]]
    assert asked == [
        step["question"] for step in run("check", "show", "Halberd", "--battle", "June <1>", "--json").json["steps"]
    ]
