"""The program on PostgreSQL: what the tests of the schema, which run on both databases, leave open."""

from __future__ import annotations

import threading
from collections.abc import Callable, Iterator
from typing import Any

import pytest
import sqlalchemy as sa

from maintain.records import migrate
from tests.conftest import Run
from tests.records.samples import insert, insert_before


@pytest.fixture
def postgresql(postgres: Callable[[], str]) -> str:
    """URL of an empty database."""
    return postgres()


@pytest.fixture
def engine(postgresql: str) -> Iterator[sa.Engine]:
    made = sa.create_engine(postgresql)
    yield made
    made.dispose()


def test_commands_record_list_and_undo(run: Run, postgresql: str) -> None:
    for words in (("init", "--club", "Mill Pond"), ("ship", "add", "Halberd", "--like", "cruiser")):
        assert run(*words, db=postgresql).exit_code == 0
    assert run("ship", "list", "--json", db=postgresql).json["rows"][0]["name"] == "Halberd"
    assert run("undo", db=postgresql).exit_code == 0
    assert run("ship", "list", "--json", db=postgresql).json["rows"] == []
    assert "Mill Pond" in run("db", "status", db=postgresql).stdout


def test_readings_their_limits_and_their_trend(run: Run, postgresql: str) -> None:
    limit = ("reading", "limit", "servo current", "--source", "club rule", "--at-most")
    made = (
        ("init",),
        ("ship", "add", "Halberd", "--like", "cruiser"),
        ("battle", "add", "May", "--from", "2026-06-05"),
    )
    for words in (*made, (*limit, "300")):
        assert run(*words, db=postgresql).exit_code == 0
    for day, value in (("2026-03-01", 250), ("2026-04-01", 270), ("2026-05-01", 288)):
        reading = ("halberd/rudder-servo", "servo current", value, "--on", day)
        assert run("reading", "add", *map(str, reading), db=postgresql).exit_code == 0
    (series,) = run("reading", "trend", "halberd", "--json", db=postgresql).json["series"]
    assert (series["verdict"], series["limit"]["source"]) == ("crossed", "club rule")
    assert (
        run("reading", "limit", "servo current", "--at-most", "200", "--source", "rule", db=postgresql).exit_code == 0
    )
    (line,) = run("due", "--json", db=postgresql).json["lines"]
    assert line["due_on"] == "2026-05-01"


def test_a_salvage_and_what_it_makes_due(run: Run, postgresql: str) -> None:
    servo = ("--family", "servo", "--tag", "S-01", "--into", "halberd/rudder-servo", "--from", "2026-01")
    for words in (
        ("init",),
        ("ship", "add", "Halberd", "--like", "cruiser"),
        ("family", "add", "servo", "--category", "servo"),
        ("part", "add", *servo),
        ("sortie", "log", "halberd=W3:damage:4min"),
    ):
        assert run(*words, db=postgresql).exit_code == 0
    page = run("salvage", "run", "halberd", "--json", db=postgresql, input="y\ny\ny\ny\ny\nd\ny\ny\nw o 3\np\ny\n")
    assert (page.exit_code, page.json["answered"], page.json["finished_on"]) == (0, page.json["asked"], "2026-06-01")
    (line,) = run("due", "--json", "--on", "2026-06-02", db=postgresql).json["lines"][:1]
    assert (line["part"], line["due_on"]) == ("S-01", "2026-06-02")
    assert run("reading", "add", "S-01", "demand test", "1", "--on", "2026-06-08", db=postgresql).exit_code == 0
    assert run("salvage", "show", "halberd", "--json", "--on", "2026-06-08", db=postgresql).json["retests"] == []
    assert run("undo", db=postgresql).exit_code == 0


def test_a_refused_record_exits_4_and_nothing_is_written(run: Run, postgresql: str) -> None:
    assert run("init", db=postgresql).exit_code == 0
    assert run("ship", "add", "Halberd", db=postgresql).exit_code == 0
    assert run("ship", "add", "HALBERD", db=postgresql).exit_code == 4
    assert len(run("journal", "--json", db=postgresql).json["rows"]) == 2


def test_an_empty_database_exits_11(run: Run, postgresql: str) -> None:
    assert run("ship", "list", db=postgresql).exit_code == 11


def test_a_server_that_does_not_answer_exits_11(run: Run, postgres: Any) -> None:
    answer = run("ship", "list", db="postgresql+psycopg://nobody@127.0.0.1:1/none")
    assert answer.exit_code == 11
    assert "nobody" not in answer.stdout


def test_yes_no_dates_and_quantities_have_their_own_types(engine: sa.Engine) -> None:
    migrate.upgrade(engine)
    columns = {each["name"]: str(each["type"]) for each in sa.inspect(engine).get_columns("family")}
    columns |= {each["name"]: str(each["type"]) for each in sa.inspect(engine).get_columns("placement")}
    assert (columns["hidden"], columns["weight_grams"], columns["from_on"]) == ("BOOLEAN", "DOUBLE PRECISION", "DATE")


def test_two_writers_at_once_cannot_put_one_part_in_two_places(engine: sa.Engine) -> None:
    migrate.upgrade(engine)
    with engine.begin() as connection:
        insert_before(connection, "placement")
        insert(connection, "position", id=2, uid="position-2", name="second")
    first = engine.connect()
    first.begin()
    insert(first, "placement")
    refused: list[str] = []

    def second() -> None:
        try:
            with engine.begin() as connection:
                insert(connection, "placement", id=2, uid="placement-2", position_id=2)
        except sa.exc.IntegrityError as error:
            refused.append(str(error.orig))

    other = threading.Thread(target=second)
    other.start()
    other.join(timeout=0.5)
    assert other.is_alive(), "the second writer waits for the first"
    first.commit()
    other.join(timeout=10)
    first.close()
    assert "one part, one place" in refused[0]
