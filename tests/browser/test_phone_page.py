"""The phone's page in a real browser: tapped, killed, opened again, undone, handed over, taken in."""

from __future__ import annotations

import json
import re
import sqlite3
from pathlib import Path
from typing import Any

import pytest

from maintain.services.unit import Desk
from tests.conftest import Run
from tests.handovers import BATTLE, announce

pytestmark = pytest.mark.browser
_AFTER_A_DOUBLE_TAP = 700


@pytest.fixture
def page(pond: Desk, run: Run, tmp_path: Path) -> str:
    """Address of the page of a battle of two ships."""
    announce(run)
    out = tmp_path / "log.html"
    assert run("phone", "--battle", BATTLE, "--out", out).exit_code == 0
    return out.as_uri()


def _open(phone: Any, address: str) -> Any:
    opened = phone.new_page()
    opened.set_default_timeout(10_000)
    opened.goto(address)
    return opened


def _tap(opened: Any, ship: str, words: str) -> None:
    opened.get_by_role("button", name=f"{ship}: {words} (", exact=False).tap()
    opened.clock.run_for(_AFTER_A_DOUBLE_TAP)


def _save(opened: Any, path: Path) -> Any:
    with opened.expect_download() as waiting:
        opened.get_by_role("button", name="Save the file to hand over").tap()
    waiting.value.save_as(path)
    return json.loads(path.read_text(encoding="utf-8"))


def test_a_day_on_a_phone_survives_a_dead_battery_and_reaches_the_records(
    phone: Any, page: str, run: Run, club: Path, tmp_path: Path
) -> None:
    opened = _open(phone, page)
    opened.get_by_label("This phone is called").fill("Ana")
    _tap(opened, "Halberd", "splash")
    _tap(opened, "Halberd", "sank")
    _tap(opened, "Gannet", "dry")
    opened.get_by_role("group", name="Why did Halberd sink").get_by_role("button", name="damage").tap()
    halberd = opened.get_by_role("region", name="Halberd")
    halberd.get_by_text("Something is wrong with a part").tap()
    halberd.get_by_label("Which place on Halberd?").select_option("rudder-servo")
    halberd.get_by_role("button", name="erratic").tap()
    opened.close(run_before_unload=False)

    again = _open(phone, page)
    assert "4 records on this phone, 4 not handed over yet" in again.get_by_role("status").inner_text()
    assert again.get_by_label("This phone is called").input_value() == "Ana"
    _tap(again, "Gannet", "lost")
    again.get_by_role("button", name="Undo").tap()
    handed = _save(again, tmp_path / "ana.json")
    assert [(each["kind"], each["ship"]["name"]) for each in handed["records"]] == [
        ("sortie", "Halberd"),
        ("sortie", "Halberd"),
        ("sortie", "Gannet"),
        ("symptom", "Halberd"),
    ]
    assert all(each["at"].endswith("+02:00") for each in handed["records"])
    assert "4 records on this phone, 0 not handed over yet" in again.get_by_role("status").inner_text()

    assert "4 new" in run("import", tmp_path / "ana.json").stdout
    connection = sqlite3.connect(club)
    query = "SELECT ship.name, number, wetness, sinking_cause FROM sortie JOIN ship ON ship.id = ship_id ORDER BY 1, 2"
    assert connection.execute(query).fetchall() == [
        ("Gannet", 1, "W0", None),
        ("Halberd", 1, "W1", None),
        ("Halberd", 2, "W3", "damage"),
    ]
    assert connection.execute("SELECT mode FROM suspicion").fetchall() == [("erratic",)]
    connection.close()
    _save(again, tmp_path / "ana.json")
    assert "0 new, 4 known already" in run("import", tmp_path / "ana.json").stdout


def test_a_double_tap_counts_once_and_a_slip_can_be_mended(phone: Any, page: str, tmp_path: Path) -> None:
    opened = _open(phone, page)
    splash = opened.get_by_role("button", name="Halberd: splash (", exact=False)
    splash.tap()
    splash.tap()
    opened.clock.run_for(_AFTER_A_DOUBLE_TAP)
    opened.get_by_role("button", name="Halberd, Sortie 1: splash: change it").tap()
    _tap(opened, "Halberd", "sailed")
    records = _save(opened, tmp_path / "a.json")["records"]
    assert [(each["number"], each["wetness"]) for each in records] == [(1, None)]
    opened.get_by_role("button", name="Undo").tap()
    opened.get_by_role("button", name="Undo").tap()
    (taken_back,) = _save(opened, tmp_path / "a.json")["records"]
    assert taken_back["undone"] is True


def test_a_phone_that_keeps_nothing_says_so_and_still_hands_over(phone: Any, page: str) -> None:
    phone.add_init_script("Object.defineProperty(window, 'localStorage', { get() { throw new Error('refused'); } })")
    opened = _open(phone, page)
    _tap(opened, "Halberd", "dry")
    assert "hand over before you close it" in opened.get_by_role("status").inner_text()
    opened.get_by_text("The file does not save?").tap()
    text = opened.get_by_label("Send this text").input_value()
    assert json.loads(text)["records"][0]["wetness"] == "W0"


def test_every_target_is_large_named_and_reached_by_keyboard(phone: Any, page: str) -> None:
    opened = _open(phone, page)
    _tap(opened, "Halberd", "sank")
    opened.get_by_role("region", name="Halberd").locator("summary").tap()
    for control in opened.locator("button, select, input, summary").all():
        if control.is_visible():
            box = control.bounding_box()
            assert (box["height"] >= 48, box["width"] >= 48) == (True, True), control.inner_text()
    assert opened.evaluate("document.documentElement.scrollWidth <= window.innerWidth")
    opened.get_by_role("button", name="Gannet: dry (", exact=False).focus()
    opened.keyboard.press("Enter")
    assert opened.get_by_role("button", name="Gannet, Sortie 1: dry").is_visible()
    assert opened.evaluate("document.activeElement.id").endswith("-W0")


def _printed(browser: Any, path: Path) -> tuple[bytes, bool]:
    """A page as Chromium prints it, and whether anything on it is wider than the paper."""
    opened = browser.new_page()
    opened.goto(path.as_uri())
    opened.emulate_media(media="print")
    too_wide = opened.evaluate("document.documentElement.scrollWidth > window.innerWidth")
    made: bytes = opened.pdf(prefer_css_page_size=True)
    opened.close()
    assert made.startswith(b"%PDF")
    return made, too_wide


def _boxes(made: bytes) -> list[tuple[int, int]]:
    """Width and height of every page, in points."""
    found = re.findall(rb"/MediaBox \[0 0 ([0-9.]+) ([0-9.]+)\]", made)
    return [(round(float(width)), round(float(height))) for width, height in found]


@pytest.mark.parametrize(("paper", "points"), [("A4", (595, 842)), ("Letter", (612, 792))])
def test_a_printed_sheet_fits_its_paper(
    browser: Any, pond: Desk, run: Run, tmp_path: Path, paper: str, points: tuple[int, int]
) -> None:
    out = tmp_path / "pages.html"
    run("sheet", "--ship", "Halberd", "--paper", paper, "--out", out)
    made, too_wide = _printed(browser, out)
    assert _boxes(made) == [points] * 3  # the check on two, the card
    assert made.count(b"/Type /Page\n") == 3
    assert not too_wide


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_the_issue_sheet_of_a_full_crate_keeps_within_the_paper(
    browser: Any, pond: Desk, run: Run, tmp_path: Path, paper: str
) -> None:
    announced = ("battle", "add", "June Days", "--from", "2026-06-06", "--until", "2026-06-07")
    assert run(*announced).exit_code == 0
    run("part", "add", "--family", "pump", "--count", "40", "--origin", "new")
    out = tmp_path / "pages.html"
    assert run("sheet", "--meet", "June Days", "--paper", paper, "--out", out).exit_code == 0
    made, too_wide = _printed(browser, out)
    assert len(set(_boxes(made))) == 1
    assert len(_boxes(made)) >= 6 + 2  # two ships with three pages each, 40 lines and the blank ones
    assert not too_wide


def test_minutes_under_and_the_opened_box_are_a_tap_each_and_reach_the_records(
    phone: Any, page: str, run: Run, club: Path, tmp_path: Path
) -> None:
    opened = _open(phone, page)
    _tap(opened, "Halberd", "dry")
    halberd = opened.get_by_role("region", name="Halberd")
    assert halberd.get_by_role("group", name="How long was Halberd under").count() == 0
    _tap(opened, "Halberd", "sank")
    minutes = halberd.get_by_role("group", name="How long was Halberd under water in sortie 2?")
    box = halberd.get_by_role("group", name="Halberd's sealed box, opened after sortie 2")
    minutes.get_by_role("button", name="8 min").tap()
    minutes.get_by_role("button", name="3 min").tap()
    box.get_by_role("button", name="water").tap()
    box.get_by_role("button", name="water").tap()
    assert box.get_by_role("button", pressed=True).count() == 0
    box.get_by_role("button", name="damp").tap()
    assert minutes.get_by_role("button", pressed=True).inner_text() == "3 min"
    for button in (*minutes.get_by_role("button").all(), *box.get_by_role("button").all()):
        size = button.bounding_box()
        assert size["height"] >= 48
        assert size["width"] >= 48
    _save(opened, tmp_path / "a.json")
    assert run("import", tmp_path / "a.json").exit_code == 0
    connection = sqlite3.connect(club)
    sunk = "SELECT number, wetness, minutes_under, found FROM opening JOIN sortie ON sortie.id = sortie_id"
    assert connection.execute(sunk).fetchall() == [(2, "W3", 3.0, "damp")]
    connection.close()


def test_another_wetness_forgets_the_minutes_that_contradict_it(phone: Any, page: str, tmp_path: Path) -> None:
    opened = _open(phone, page)
    _tap(opened, "Halberd", "sank")
    opened.get_by_role("button", name="8 min").tap()
    opened.get_by_role("button", name="Halberd, Sortie 1: sank: change it").tap()
    _tap(opened, "Halberd", "sank, lay")
    assert opened.get_by_role("button", name="60 min").count() == 1
    (record,) = _save(opened, tmp_path / "a.json")["records"]
    assert (record["wetness"], record["minutes_under"]) == ("W4", None)


def test_a_clock_of_another_day_is_shown_and_the_chosen_day_counts(phone: Any, page: str, tmp_path: Path) -> None:
    phone.clock.set_system_time("2020-01-01T09:00:00+01:00")
    opened = _open(phone, page)
    assert "clock says 2020-01-01, no day of the battle" in opened.get_by_role("status").inner_text()
    _tap(opened, "Halberd", "dry")
    handed = _save(opened, tmp_path / "a.json")
    assert handed["handed_over_at"].startswith("2020-01-01")
    assert [each["day"] for each in handed["records"]] == ["2026-05-30"]
