"""Titles, headings, blocks, totals and notes: what is a record and what is none."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from maintain.exchange.own_sheets.agreed import Told, fingerprint
from maintain.exchange.own_sheets.becoming import MAKERS
from maintain.exchange.own_sheets.kinds import KINDS
from maintain.exchange.own_sheets.understanding import Understood
from maintain.vocabulary import SHEET_KINDS
from tests.exchange.own_sheets.clubs import read

Read = Callable[..., Understood]


@pytest.fixture
def sheet(tmp_path: Path) -> Read:
    """Read a sheet written as text."""

    def read_text(text: str, told: Told | None = None) -> Understood:
        path = tmp_path / "log.csv"
        path.write_text("\n".join(line.strip() for line in text.strip().splitlines()) + "\n", encoding="utf-8")
        return read(path, told)

    return read_text


def test_a_name_alone_in_a_row_heads_the_rows_below(sheet: Read) -> None:
    understood = sheet(
        """
        Ship,Date,Minutes
        HALBERD,,
        ,3 May 2026,25
        ,4 May 2026,20
        Gannet,,
        ,3 May 2026,30
        """
    )
    told = [(line.texts["ship"], line.texts["date"]) for line in understood.lines]
    assert told == [("Halberd", "2026-05-03"), ("Halberd", "2026-05-04"), ("Gannet", "2026-05-03")]
    assert [each.row for each in understood.body.left_out] == [2, 5]


def test_a_date_is_not_carried_on_to_another_ship_that_stands_left_of_it(sheet: Read) -> None:
    understood = sheet("Ship,Date,Minutes\nHalberd,3 May 2026,25\nGannet,,20\n,4 May 2026,30")
    assert [line.texts.get("date") for line in understood.lines] == ["2026-05-03", None, "2026-05-04"]
    assert understood.lines[2].texts["ship"] == "Gannet"


def test_units_in_a_row_of_their_own_belong_to_the_headings(sheet: Read) -> None:
    understood = sheet("Ship,Date,Afloat\n,,hrs\nHalberd,3 May 2026,0.5")
    assert understood.header.headings[2] == "Afloat hrs"
    assert understood.lines[0].texts["minutes"] == "30"


def test_headings_said_again_further_down_are_no_record(sheet: Read) -> None:
    understood = sheet("Ship,Date,Minutes\nHalberd,3 May 2026,25\nShip,Date,Minutes\nGannet,3 May 2026,20")
    assert [each.why for each in understood.body.left_out] == ["the headings again"]
    assert len(understood.lines) == 2


@pytest.mark.parametrize("word", ["Total", "TOTALS:", "Sum", "Grand total", "Total 2026", "average"])
def test_a_row_that_says_it_is_a_total_is_one(sheet: Read, word: str) -> None:
    understood = sheet(f"Ship,Date,Minutes\nHalberd,3 May 2026,25\nGannet,3 May 2026,20\n{word},,99")
    assert [each.why for each in understood.body.left_out] == ["a total"]


def test_sums_of_several_columns_are_a_total_without_saying_so(sheet: Read) -> None:
    understood = sheet("Ship,Date,Minutes,Shots\nHalberd,3 May 2026,25,50\nGannet,3 May 2026,20,75\n,,45,125")
    assert [each.why for each in understood.body.left_out] == ["a total: the sum of the rows above"]


def test_one_sum_that_might_be_a_record_is_neither_taken_nor_left_in_silence(sheet: Read) -> None:
    understood = sheet("Ship,Date,Minutes\nHalberd,3 May 2026,25\n,,20\n,,45")
    assert [bool(line.faults) for line in understood.lines] == [False, False, True]
    assert "may be a total or a record" in understood.lines[2].faults[0].what


def test_a_record_that_is_no_sum_is_carried_on_to_the_end(sheet: Read) -> None:
    understood = sheet("Ship,Date,Minutes\nHalberd,3 May 2026,25\n,,20\n,,44")
    assert [line.texts["minutes"] for line in understood.lines] == ["25", "20", "44"]


def test_columns_without_a_heading_can_still_be_named(sheet: Read) -> None:
    understood = sheet("Ship,Date,\nHalberd,3 May 2026,windy", Told(columns={"column c": "note"}))
    assert understood.lines[0].texts["note"] == "windy"


def test_two_columns_of_one_heading_are_asked_about(sheet: Read) -> None:
    understood = sheet("Ship,Date,Ship,Minutes\nHalberd,3 May 2026,Gannet,25", Told(kind="sorties"))
    assert [(each.about, each.subject) for each in understood.questions] == [("column", "Ship (2)")]


def test_a_column_of_unknown_heading_is_proposed_by_the_look_of_its_cells(sheet: Read) -> None:
    understood = sheet("Boot,Tag,Minuten\nHalberd,3 May 2026,25\nGannet,4 May 2026,20", Told(kind="sorties"))
    proposed = {each.heading: (each.key, each.sure) for each in understood.columns}
    assert proposed["Boot"] == ("ship", "doubtful")
    assert proposed["Tag"] == ("date", "doubtful")


def test_sheets_of_the_same_headings_are_known_again_in_any_order_and_case() -> None:
    assert fingerprint(("Ship", "Date")) == fingerprint(("date ", "SHIP"))
    assert fingerprint(("Ship", "Date")) != fingerprint(("Ship", "Day"))


def test_the_kinds_a_command_offers_are_those_that_can_be_read() -> None:
    assert tuple(kind.name for kind in KINDS) == SHEET_KINDS
    assert set(MAKERS) == set(SHEET_KINDS)
