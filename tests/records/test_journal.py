"""Every write is journalled, and undoing it leaves the records as they were."""

from __future__ import annotations

import json
from collections.abc import Iterator
from datetime import date
from pathlib import Path
from typing import Any

import pytest
import sqlalchemy as sa
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from maintain.errors import NotFound
from maintain.records import journal
from maintain.records import tables as t
from maintain.records.engine import make_engine
from maintain.records.journal import Recorder


@pytest.fixture
def connection(club: Path) -> Iterator[sa.Connection]:
    with make_engine(str(club)).connect() as opened, opened.begin():
        yield opened


def _recorder(connection: sa.Connection, command: str = "test") -> Recorder:
    return Recorder(connection, "Avery", command)


def _records(connection: sa.Connection) -> dict[str, list[Any]]:
    """All rows of the records by uid, without the ids, which another row may get after an undo."""
    return {
        table.name: sorted(tuple(row) for row in connection.execute(sa.select(*[c for c in table.c if c.name != "id"])))
        for table in t.RECORDS
    }


def _undo_last(connection: sa.Connection) -> int:
    change = journal.last_change(connection)
    recorder = _recorder(connection, "undo")
    recorder.undoes_id = change.id
    return journal.undo(recorder, change.id)


def _notes(connection: sa.Connection) -> list[sa.Row[Any]]:
    newest = sa.select(sa.func.max(t.change.c.id)).scalar_subquery()
    query = sa.select(t.change_row).where(t.change_row.c.change_id == newest).order_by(t.change_row.c.step)
    return list(connection.execute(query))


def test_one_command_is_one_change_with_its_steps_in_order(connection: sa.Connection) -> None:
    recorder = _recorder(connection, "venue add")
    first = recorder.insert(t.venue, name="Quarry", water="fresh")
    recorder.update(t.venue, first, depth_m=1.5)
    recorder.insert(t.venue, name="Old Dock", water="salt")
    change = journal.last_change(connection)
    assert (change.who, change.command) == ("Avery", "venue add")
    assert [(note.step, note.action) for note in _notes(connection)] == [(1, "insert"), (2, "update"), (3, "insert")]


def test_a_note_holds_the_row_before_and_after(connection: sa.Connection) -> None:
    battle = _recorder(connection).insert(
        t.battle, name="May 1", from_on=date(2026, 5, 1), until_on=date(2026, 5, 2), state="planned", resupply=True
    )
    _recorder(connection).update(t.battle, battle, from_on=date(2026, 5, 2))
    (note,) = _notes(connection)
    before, after = json.loads(note.before), json.loads(note.after)
    assert (before["from_on"], after["from_on"]) == ("2026-05-01", "2026-05-02")
    assert {key for key in before if before[key] != after[key]} == {"from_on"}


def test_a_change_to_what_stands_there_already_leaves_no_trace(connection: sa.Connection) -> None:
    venue = _recorder(connection).insert(t.venue, name="Quarry", water="fresh")
    before = connection.execute(sa.select(sa.func.count()).select_from(t.change_row)).scalar()
    _recorder(connection).update(t.venue, venue, water="fresh")
    assert connection.execute(sa.select(sa.func.count()).select_from(t.change_row)).scalar() == before


def test_a_summary_is_kept_with_the_change(connection: sa.Connection) -> None:
    recorder = _recorder(connection)
    recorder.insert(t.venue, name="Quarry", water="fresh")
    recorder.summarise("added Quarry")
    assert journal.last_change(connection).summary == "added Quarry"


def test_many_rows_are_journalled_one_by_one(connection: sa.Connection) -> None:
    rows = [{"id": n, "uid": f"m-{n}", "name": f"member {n}"} for n in (1, 2, 3)]
    _recorder(connection).insert_many(t.member, rows)
    assert [note.row_uid for note in _notes(connection)] == ["m-1", "m-2", "m-3"]
    _undo_last(connection)
    assert _records(connection)["member"] == []


def test_an_undone_delete_brings_the_row_back_with_its_uid_and_its_dates(connection: sa.Connection) -> None:
    member = _recorder(connection).insert(t.member, name="Avery", left_on=date(2026, 5, 1))
    before = _records(connection)
    _recorder(connection).delete(t.member, member)
    assert _records(connection)["member"] == []
    assert _undo_last(connection) == 1
    assert _records(connection) == before


def test_undoing_twice_takes_back_the_two_last_changes(connection: sa.Connection) -> None:
    empty = _records(connection)
    _recorder(connection).insert(t.venue, name="Quarry", water="fresh")
    _recorder(connection).insert(t.venue, name="Old Dock", water="salt")
    _undo_last(connection)
    assert len(_records(connection)["venue"]) == 1
    _undo_last(connection)
    assert _records(connection) == empty


def test_the_making_of_the_club_is_not_taken_back(connection: sa.Connection) -> None:
    with pytest.raises(NotFound, match="nothing is left to undo"):
        journal.last_change(connection)


def test_the_journal_itself_is_never_taken_back(connection: sa.Connection) -> None:
    _recorder(connection).insert(t.venue, name="Quarry", water="fresh")
    before = connection.execute(sa.select(sa.func.count()).select_from(t.change_row)).scalar_one()
    _undo_last(connection)
    assert connection.execute(sa.select(sa.func.count()).select_from(t.change_row)).scalar_one() == before + 1


_STEPS = st.lists(
    st.tuples(st.sampled_from(["insert", "update", "delete"]), st.integers(0, 5), st.sampled_from(["fresh", "salt"])),
    min_size=1,
    max_size=12,
)


@given(changes=st.lists(_STEPS, min_size=1, max_size=4))
@settings(max_examples=30, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_undo_walks_back_through_every_state_the_records_were_in(
    connection: sa.Connection, changes: list[list[tuple[str, int, str]]]
) -> None:
    with connection.begin_nested() as savepoint:
        states = []
        for steps in changes:
            before, recorder = _records(connection), _recorder(connection)
            for number, (action, which, water) in enumerate(steps):
                _step(recorder, action, which, water, f"venue {len(states)}-{number}")
            if recorder._change_id is not None:
                states.append(before)
        for before in reversed(states):
            _undo_last(connection)
            assert _records(connection) == before
        savepoint.rollback()


def _step(recorder: Recorder, action: str, which: int, water: str, name: str) -> None:
    if action == "insert":
        recorder.insert(t.venue, name=name, water=water)
        return
    ids = list(recorder.connection.execute(sa.select(t.venue.c.id).order_by(t.venue.c.id)).scalars())
    if not ids:
        return
    if action == "update":
        recorder.update(t.venue, ids[which % len(ids)], water=water)
    else:
        recorder.delete(t.venue, ids[which % len(ids)])
