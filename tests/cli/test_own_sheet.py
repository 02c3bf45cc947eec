"""maintain import of a club's own sheet: shown first, imported once agreed, remembered, forgotten."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from maintain.services.unit import Desk
from tests.conftest import Run
from tests.database import dump, rows

Write = Callable[..., Path]

LOG = """
    Our log of 2026
    ,,,Hits,,,
    Date,Ship,Afloat (mins),above,below,Sank,Remarks
    03/05/2026,Halberd,25,3,1,no,
    ,gannet,20,,2,yes,pump clogged
    17/05/2026,HALBERD,30,,,n/a,
    Total,,75,,,,
    * by stopwatch,,,,,,
    """


@pytest.fixture
def write(tmp_path: Path) -> Write:
    """Write a sheet, and return where it stands."""

    def write(text: str, name: str = "log.csv") -> Path:
        path = tmp_path / name
        path.write_text("\n".join(line.strip() for line in text.strip().splitlines()) + "\n", encoding="utf-8")
        return path

    return write


def test_a_sheet_is_shown_and_nothing_is_imported_until_somebody_agrees(pond: Desk, run: Run, write: Write) -> None:
    before = dump(Path(pond.db))
    shown = run("import", write(LOG), "--json").json
    assert dump(Path(pond.db)) == before
    assert (shown["kind"], shown["heading_rows"]) == ("sorties", [2, 3])
    read_as = {each["heading"]: each["read_as"] for each in shown["columns"]}
    assert read_as == {
        "Date": "date",
        "Ship": "ship",
        "Afloat (mins)": "minutes",
        "Hits above": "above",
        "Hits below": "below",
        "Sank": "sank",
        "Remarks": "note",
    }
    assert {each["sure"] for each in shown["columns"]} == {"sure"}
    assert [(each["row"], each["why"]) for each in shown["left_out"]] == [
        (1, "above the headings"),
        (7, "a total"),
        (8, "a note"),
    ]
    assert (shown["questions"], shown["unread"], shown["carried"]) == ([], [], 1)
    assert shown["writes"] == [{"file": "sorties", "new": 3, "changed": 0, "known": 0}]


def test_once_agreed_the_rows_are_records_in_one_change_that_undo_takes_back(
    pond: Desk, run: Run, write: Write, club: Path
) -> None:
    path = write(LOG)
    done = run("import", path, "--agree")
    assert done.exit_code == 0
    assert "imported log.csv as sorties: 3 new" in done.stdout
    assert rows(
        club, "SELECT sailed_on, number, minutes_afloat, hits_above, hits_below, wetness, ending FROM sortie"
    ) == [
        ("2026-05-03", 1, 25.0, 3, 1, None, None),
        ("2026-05-03", 1, 20.0, None, 2, "W3", "sank"),
        ("2026-05-17", 1, 30.0, None, None, None, None),
    ]
    assert run("undo").exit_code == 0
    assert rows(club, "SELECT count(*) FROM sortie") == [(0,)]
    assert "none yet" in run("import", "--remembered").stdout


def test_the_same_sheet_again_doubles_nothing_and_is_read_as_agreed(
    pond: Desk, run: Run, write: Write, club: Path
) -> None:
    path = write(LOG)
    run("import", path, "--agree")
    before = dump(club)
    again = run("import", path)
    assert "0 new, 3 known already" in again.stdout
    assert "read as agreed on 2026-06-01" in again.stdout
    assert dump(club) == before
    longer = write(LOG.replace("Total,,75", "18/05/2026,Halberd,12,,,,\n Total,,87"))
    assert "1 new" in run("import", longer).stdout
    assert run("import", "--remembered", "--json").json["rows"][0]["kind"] == "sorties"


def test_what_would_change_a_record_is_agreed_to_each_time(pond: Desk, run: Run, write: Write, club: Path) -> None:
    run("import", write(LOG), "--agree")
    before = dump(club)
    shown = run("import", write(LOG.replace("Halberd,25", "Halberd,26")), "--json").json
    assert shown["rows"][0]["becomes"] == ["changed sortie: Halberd, 2026-05-03, Number 1, Minutes afloat 26 (was 25)"]
    assert dump(club) == before


def test_a_forgotten_sheet_is_shown_again(pond: Desk, run: Run, write: Write) -> None:
    path = write(LOG)
    run("import", path, "--agree")
    assert "forgot how log.csv was read" in run("import", path, "--forget").stdout
    assert "Nothing was imported" in run("import", path).stdout
    again = run("import", "log.csv", "--forget")
    assert (again.exit_code, "nothing is remembered" in again.stderr) == (3, True)


def test_dates_that_can_be_read_in_two_orders_stop_the_import_until_it_is_said(
    pond: Desk, run: Run, write: Write, club: Path
) -> None:
    path = write("Date,Ship,Minutes\n03/05/2026,Halberd,25\n04/05/2026,Halberd,20")
    refused = run("import", path, "--agree")
    assert refused.exit_code == 8
    assert "--date-order day-first|month-first" in refused.stderr
    assert rows(club, "SELECT count(*) FROM sortie") == [(0,)]
    assert run("import", path, "--agree", "--date-order", "month-first").exit_code == 0
    assert rows(club, "SELECT sailed_on FROM sortie") == [("2026-03-05",), ("2026-04-05",)]
    later = write("Date,Ship,Minutes\n05/06/2026,Gannet,25")
    assert "1 new" in run("import", later).stdout
    assert rows(club, "SELECT sailed_on FROM sortie ORDER BY id DESC LIMIT 1") == [("2026-05-06",)]


def test_a_column_that_contradicts_the_order_said_is_not_read(pond: Desk, run: Run, write: Write) -> None:
    path = write("Date,Ship,Minutes\n03/05/2026,Halberd,25\n25/05/2026,Halberd,20")
    refused = run("import", path, "--agree", "--date-order", "month-first")
    assert refused.exit_code == 8
    assert "the column is written day-first" in refused.stderr


def test_a_name_that_is_nearly_another_is_asked_about_and_never_merged_in_silence(
    pond: Desk, run: Run, write: Write, club: Path
) -> None:
    path = write("Date,Ship,Minutes\n17/05/2026,Halbard,25")
    refused = run("import", path, "--agree")
    assert refused.exit_code == 8
    assert "Is 'Halbard' under 'Ship' Halberd?" in refused.stderr
    assert run("import", path, "--agree", "--means", "Halbard=Halberd").exit_code == 0
    assert rows(club, "SELECT ship.name FROM sortie JOIN ship ON ship.id = ship_id") == [("Halberd",)]


def test_rows_that_cannot_be_read_stop_the_import_unless_they_are_left(
    pond: Desk, run: Run, write: Write, club: Path
) -> None:
    path = write("Date,Ship,Minutes\n17/05/2026,Halberd,25\n31/02/2026,Halberd,20\n18/05/2026,Nobody,20\n,Gannet,many")
    refused = run("import", path, "--agree", "--json")
    assert refused.exit_code == 8
    assert [(each["row"], each["column"]) for each in refused.json["error"]["unread"]] == [
        (3, "Date"),
        (4, "Ship"),
        (5, "Minutes"),
    ]
    assert "1 new" in run("import", path, "--agree", "--skip-unread").stdout
    assert rows(club, "SELECT count(*) FROM sortie") == [(1,)]


def test_a_walk_asks_what_is_open_and_imports_at_the_end(pond: Desk, run: Run, write: Write, club: Path) -> None:
    path = write("Date,Shp,Minutes\n03/05/2026,Halbard,25")
    walked = run("import", path, "--ask", input="y\nm\nu\nd\ny\ny\n")
    assert walked.exit_code == 0, walked.stderr
    assert "Is column 'Shp' ship" in walked.stderr
    assert "taken back" in walked.stderr
    assert rows(club, "SELECT sailed_on FROM sortie") == [("2026-05-03",)]


def test_a_walk_that_is_left_imports_nothing(pond: Desk, run: Run, write: Write, club: Path) -> None:
    before = dump(club)
    walked = run("import", write(LOG), "--ask", input="q\n")
    assert (walked.exit_code, "nothing was imported" in walked.stderr) == (0, True)
    assert dump(club) == before


def test_parts_with_where_they_sit_are_entered_and_fitted_once(pond: Desk, run: Run, write: Write, club: Path) -> None:
    path = write(
        """
        Ship;Where fitted;Item;Tag;Make;Fitted
        Halberd;Rudder servo;Standard Servo;S-01;HS-1;27.04.2026
        ;pump;pump;;P4;Apr 2025
        ;;standard servo;S-02;;
        """,
        "fittings.csv",
    )
    shown = run("import", path, "--kind", "parts")
    assert "says on which ship, but not where on her" in shown.stdout
    assert run("import", path, "--kind", "parts", "--agree", "--skip-unread").exit_code == 0
    query = """SELECT part.model, placement.place, position.name, placement.from_on, placement.from_precision
               FROM part JOIN placement ON part_id = part.id JOIN position ON position.id = position_id
               ORDER BY part.id"""
    before = rows(club, query)
    assert before == [
        ("HS-1", "installed", "rudder-servo", "2026-04-27", "day"),
        ("P4", "installed", "pump", "2025-04-15", "month"),
    ]
    assert run("import", path, "--skip-unread").exit_code == 0
    assert rows(club, query) == before
    clash = write("Ship,Position,Family,Tag\nHalberd,pump,pump,P-99", "other.csv")
    assert "holds" in run("import", clash, "--kind", "parts").stdout


def test_a_stock_list_counts_the_pool_and_the_ledger_follows(pond: Desk, run: Run, write: Write, club: Path) -> None:
    path = write(
        """
        Item,In stock,Counted on
        Fuses,40,2026-05-20
        2x standard servo,,2026-05-20
        O-rings 3 mm,12,2026-05-20
        Total,54,
        """,
        "spares.csv",
    )
    said = ("--means", "Fuses=fuse", "--means", "O-rings 3 mm=O-rings 3 mm")
    assert run("import", path, "--agree", *said).exit_code == 0, run("import", path).stdout
    held = {row["family"]: row["on_hand"] for row in run("pool", "status", "--json").json["rows"]}
    assert (held["fuse"], held["standard servo"], held["O-rings 3 mm"]) == (40, 2, 12)
    before = dump(club)
    assert run("import", path).exit_code == 0
    assert dump(club) == before
    recount = write("Item,In stock,Counted on\nfuse,35,2026-05-28\nstandard servo,1,2026-05-28", "spares.csv")
    assert "which are gone?" in run("import", recount).stdout
    assert run("import", recount, "--agree", "--skip-unread").exit_code == 0
    held = {row["family"]: row["on_hand"] for row in run("pool", "status", "--json").json["rows"]}
    assert (held["fuse"], held["standard servo"]) == (35, 2)


def test_failures_find_the_part_that_sat_there(pond: Desk, run: Run, write: Write, club: Path) -> None:
    run("part", "add", "--family", "pump", "--tag", "P-1", "--into", "halberd/pump", "--from", "2026-04-01")
    path = write("Date,Ship,Part,Problem,Cause\n2026-05-17,Halberd,pump,not priming,worn out", "breakdowns.csv")
    assert run("import", path, "--agree").exit_code == 0, run("import", path).stdout
    query = "SELECT part.tag, found_on, mode, cause FROM failure JOIN part ON part.id = part_id"
    assert rows(club, query) == [("P-1", "2026-05-17", "won't prime", "wear")]
    assert "1 known" in run("import", path).stdout


def test_ships_with_captains_nobody_knows_bring_them_along(run: Run, write: Write, club: Path) -> None:
    path = write("Name,Skipper,Class\nHalberd,Ana,cruiser\nGannet,Ana,\nBastion,Bea,battleship", "fleet.csv")
    assert run("import", path, "--agree").exit_code == 0
    assert rows(club, "SELECT name FROM member ORDER BY name") == [("Ana",), ("Bea",)]
    assert rows(club, "SELECT ship.name, type FROM ship ORDER BY ship.id") == [
        ("Halberd", "cruiser"),
        ("Gannet", None),
        ("Bastion", "battleship"),
    ]


def test_a_sheet_nobody_can_place_asks_for_its_kind(pond: Desk, run: Run, write: Write) -> None:
    path = write("Colour,Size\nred,3\nblue,4", "paint.csv")
    assert "--kind" in run("import", path).stdout
    assert run("import", path, "--agree").exit_code == 8


@pytest.mark.parametrize(
    ("option", "what"),
    [
        (("--column", "Nothing=ship"), "has no column"),
        (("--column", "Ship=sail"), "has no field"),
        (("--column", "Ship"), "says nothing"),
        (("--means", "x="), "says nothing"),
    ],
)
def test_what_is_said_of_a_sheet_must_make_sense(
    pond: Desk, run: Run, write: Write, option: tuple[str, str], what: str
) -> None:
    refused = run("import", write(LOG), *option)
    assert refused.exit_code in (4, 8)
    assert what in refused.stderr


def test_hostile_texts_are_neither_formulas_nor_commands(pond: Desk, run: Run, write: Write, club: Path) -> None:
    path = write('Name,Captain\n"=HYPERLINK(""x"")",Ana\n--agree,Ana\na/b,Ana\n<b>x,Ana', "fleet.csv")
    shown = run("import", path, "--json").json
    assert [each["row"] for each in shown["unread"]] == [2, 3, 4]
    assert run("import", path, "--agree", "--skip-unread").exit_code == 0
    assert ("<b>x",) in rows(club, "SELECT name FROM ship")


def test_a_dry_run_of_an_agreed_sheet_only_shows(pond: Desk, run: Run, write: Write, club: Path) -> None:
    path = write(LOG)
    before = dump(club)
    assert "Nothing was imported" in run("import", path, "--agree", "--dry-run").stdout
    assert dump(club) == before


def test_no_file_named_is_wrong_usage(run: Run) -> None:
    assert run("import").exit_code == 2


def test_a_row_of_several_sorties_is_not_taken_for_one(pond: Desk, run: Run, write: Write) -> None:
    path = write("Date,Ship,Sorties,Sank\n17/05/2026,Halberd,3,yes\n18/05/2026,Halberd,1,no")
    shown = run("import", path, "--json").json
    assert [(each["row"], each["what"][:26]) for each in shown["unread"]] == [(2, "tells of 3 sorties at once")]


def test_a_running_number_is_not_the_number_of_a_sortie(pond: Desk, run: Run, write: Write) -> None:
    path = write("No,Date,Ship,Minutes\n156,17/05/2026,Halberd,20")
    assert {each["heading"]: each["read_as"] for each in run("import", path, "--json").json["columns"]}["No"] is None
    told = run("import", path, "--column", "No=number", "--json").json["unread"]
    assert "no number of a sortie" in told[0]["what"]


def test_a_sheet_that_says_both_that_she_sank_and_that_she_did_not_is_not_decided_for_it(
    pond: Desk, run: Run, write: Write
) -> None:
    path = write("Date,Ship,Sank,Wetness,Minutes under\n17/05/2026,Halberd,no,sank,4\n17/05/2026,Gannet,yes,,12")
    shown = run("import", path, "--json").json
    assert [each["row"] for each in shown["unread"]] == [2]
    assert "Wetness W4" in shown["rows"][0]["becomes"][0]


def test_an_empty_cell_empties_nothing_that_is_on_record(pond: Desk, run: Run, write: Write, club: Path) -> None:
    path = write("Name,Captain,Class\nHalberd,,battlecruiser", "fleet.csv")
    assert run("import", path, "--agree").exit_code == 0
    query = "SELECT member.name, ship.type FROM ship JOIN member ON member.id = captain_id WHERE ship.name = 'Halberd'"
    assert rows(club, query) == [("Ana", "battlecruiser")]


def test_sorties_bring_the_battle_they_name(pond: Desk, run: Run, write: Write, club: Path) -> None:
    path = write("Date,Event,Pond,Ship\n16/05/2026,Spring Meet,Mill Pond,Halberd\n17/05/2026,,,Halberd\n,,,Gannet")
    assert run("import", path, "--agree", "--kind", "sorties").exit_code == 0, run("import", path).stdout
    assert rows(club, "SELECT name, from_on, until_on, state FROM battle") == [
        ("Spring Meet", "2026-05-16", "2026-05-16", "fought")
    ]
    query = "SELECT sailed_on, battle_id FROM sortie ORDER BY id"
    assert rows(club, query) == [("2026-05-16", 1), ("2026-05-17", None), ("2026-05-17", None)]


def test_a_sheet_that_only_shares_a_name_with_one_of_ours_is_the_clubs_own(
    run: Run, write: Write, club: Path, tmp_path: Path
) -> None:
    import openpyxl

    assert (
        run("import", write("Vessel,Skipper,Class\nHalberd,Ana,cruiser", "ships.csv"), "--json").json["kind"] == "ships"
    )
    book = openpyxl.Workbook()
    book.active.title = "ships"
    for row in (["Vessel", "Skipper", "Class"], ["Halberd", "Ana", "cruiser"]):
        book.active.append(row)
    book.save(tmp_path / "fleet.xlsx")
    assert run("import", tmp_path / "fleet.xlsx", "--agree").exit_code == 0
    assert rows(club, "SELECT name FROM ship") == [("Halberd",)]
