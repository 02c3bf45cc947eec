"""Rows that come with their own ids, in databases of both kinds."""

from __future__ import annotations

import sqlalchemy as sa

from maintain.records import migrate
from maintain.records import tables as t
from maintain.records.engine import make_engine
from maintain.records.journal import Recorder
from maintain.records.tables import RECORDS
from maintain.records.whole import read_all, write_table
from tests.records.conftest import NewDatabase

SHIP = {column.name: None for column in t.ship.columns if column.name != "id"}


def test_rows_refer_by_uid_and_recording_goes_on_behind_them(new_database: NewDatabase) -> None:
    db = new_database()
    migrate.upgrade(make_engine(db, "create"))
    with make_engine(db).connect() as connection, connection.begin():
        recorder = Recorder(connection, "tester", "import")
        _, ids = read_all(connection)
        write_table(recorder, t.member, [{"uid": "m1", "name": "Avery", "left_on": None, "note": None}], (), ids)
        ship = {**SHIP, "uid": "s1", "name": "Halberd", "captain_id": "m1", "state": "in commission"}
        write_table(recorder, t.ship, [ship], (), ids)
        assert recorder.insert(t.member, name="Bo") == 2
        rows, ids = read_all(connection)
        assert rows["ship"] == [ship]
        assert [row["name"] for row in rows["member"]] == ["Avery", "Bo"]
        write_table(recorder, t.ship, [], [("s1", {**ship, "captain_id": rows["member"][1]["uid"]})], ids)
        assert connection.execute(sa.select(t.ship.c.captain_id)).scalar_one() == 2


def test_a_row_written_before_the_one_it_refers_to_is_added_after_it(new_database: NewDatabase) -> None:
    db = new_database()
    migrate.upgrade(make_engine(db, "create"))
    known = {"system": "guns", "zone": "bilge", "dependence": "vital", "ship_id": "s1"}
    empty = {column.name: None for column in t.position.columns if column.name != "id"}
    with make_engine(db).connect() as connection, connection.begin():
        recorder = Recorder(connection, "tester", "import")
        ids = read_all(connection)[1]
        assert list(ids) == [table.name for table in RECORDS]
        ship = {**SHIP, "uid": "s1", "name": "Halberd", "state": "in commission"}
        write_table(recorder, t.ship, [ship], (), ids)
        chain = [
            {
                **empty,
                **known,
                "uid": f"p{step}",
                "name": f"p{step}",
                "powered_by_id": f"p{step + 1}" if step < 2 else None,
            }
            for step in range(3)
        ]
        write_table(recorder, t.position, chain, (), ids)
        assert sorted(read_all(connection)[0]["position"], key=lambda row: row["uid"]) == chain
