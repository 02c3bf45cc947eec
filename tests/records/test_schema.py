"""The tables of the models, those of the migrations, and the rules the database itself keeps."""

from __future__ import annotations

import shutil
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest
import sqlalchemy as sa
from alembic.script import ScriptDirectory

from maintain.records import migrate, tables
from maintain.records.engine import copy_file, make_engine, use_write_ahead_log
from maintain.records.schema_version import HEAD
from maintain.services.unit import schema_of
from tests.records.broken_rules import BROKEN_RULES
from tests.records.samples import SAMPLES, insert, insert_before
from tests.records.schema_shape import shape

SCRIPTS = ScriptDirectory.from_config(migrate.alembic_config())
REVISIONS = [each.revision for each in reversed(list(SCRIPTS.walk_revisions()))]

RULES = sorted(
    (table.name, str(each.name))
    for table in tables.metadata.sorted_tables
    for each in table.constraints
    if isinstance(each, sa.CheckConstraint)
)


def test_the_models_say_what_the_migrations_make(empty: sa.Engine, new_database: Any) -> None:
    modelled = make_engine(new_database(), "create")
    with modelled.connect() as connection, connection.begin():
        tables.metadata.create_all(connection)
    migrate.upgrade(empty)
    ours, theirs = shape(modelled), shape(empty)
    modelled.dispose()
    assert ours
    for name in ours.keys() | theirs.keys():
        assert ours.get(name) == theirs.get(name), name


def test_the_constant_names_the_newest_migration() -> None:
    assert SCRIPTS.get_heads() == [HEAD]


def test_every_table_is_strict(template: Path) -> None:
    with make_engine(str(template), "read").connect() as connection:
        listed = connection.exec_driver_sql("SELECT name, strict FROM pragma_table_list WHERE type = 'table'").all()
    ours = {name: strict for name, strict in listed if name in tables.metadata.tables}
    assert ours == dict.fromkeys(tables.metadata.tables, 1)


def test_every_table_has_a_sample_and_every_sample_is_accepted(connection: sa.Connection) -> None:
    assert set(SAMPLES) == set(tables.metadata.tables)
    for name in SAMPLES:
        insert(connection, name)
        stored = connection.execute(sa.select(tables.metadata.tables[name])).mappings().one()
        assert {*SAMPLES[name], "id", "uid"} == set(stored), "a sample fills every column"


@pytest.mark.parametrize("revision", ["base", *REVISIONS[:-1]])
def test_an_upgrade_keeps_every_row_of_an_earlier_schema(empty: sa.Engine, revision: str) -> None:
    if revision != "base":
        migrate.upgrade(empty, revision)
    with empty.connect() as connection, connection.begin():
        there = [name for name in SAMPLES if sa.inspect(connection).has_table(name)]
        for name in there:
            insert(connection, name)
        before = _rows(connection, there)
    migrate.upgrade(empty)
    with empty.connect() as connection:
        after = _rows(connection, there)
        assert schema_of(connection) == HEAD
    assert {name: _common(after[name], before[name]) for name in there} == before


@pytest.mark.parametrize("revision", ["base", *REVISIONS[:-1]])
def test_a_downgrade_from_a_filled_database_leaves_the_schema_of_then(
    empty: sa.Engine, new_database: Any, revision: str
) -> None:
    migrate.upgrade(empty)
    with empty.connect() as connection, connection.begin():
        for name in SAMPLES:
            insert(connection, name)
    migrate.downgrade(empty, revision)
    then = make_engine(new_database(), "create")
    if revision != "base":
        migrate.upgrade(then, revision)
    assert shape(empty) == shape(then)
    assert _routines(empty) == _routines(then)
    then.dispose()


def test_a_failing_migration_leaves_nothing(empty: sa.Engine, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    scripts = tmp_path / "migrations"
    shutil.copytree(migrate.script_location(), scripts, ignore=shutil.ignore_patterns("__pycache__"))
    (scripts / "versions" / "9999_fails.py").write_text(
        f"""
import sqlalchemy as sa
from alembic import op
revision, down_revision = "9999", {HEAD!r}
def upgrade():
    op.create_table("half_made", sa.Column("id", sa.Integer))
    op.execute("DELETE FROM member")
    op.execute("INSERT INTO no_such_table VALUES (1)")
"""
    )
    migrate.upgrade(empty, REVISIONS[0])
    with empty.connect() as connection, connection.begin():
        insert(connection, "member")
    before = shape(empty)
    monkeypatch.setattr(migrate, "script_location", lambda: scripts)
    with pytest.raises(sa.exc.DBAPIError, match="no_such_table"):
        migrate.upgrade(empty, "9999")
    assert shape(empty) == before
    with empty.connect() as connection:
        assert schema_of(connection) == REVISIONS[0]
        assert connection.execute(sa.text("SELECT name FROM member")).scalar() == "Avery"


def test_four_upgrades_at_once_do_the_work_once_and_keep_the_old_file(tmp_path: Path) -> None:
    path = tmp_path / "club.db"
    old = make_engine(str(path), "create")
    with old.connect() as connection:
        use_write_ahead_log(connection)
    migrate.upgrade(old, REVISIONS[0])
    with old.connect() as connection, connection.begin():
        insert(connection, "member")
    command = [Path(sys.executable).with_name("maintain"), "db", "upgrade", "--db", path]
    started = [subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True) for _ in range(4)]
    ended = [(each.communicate(timeout=120), each.returncode) for each in started]
    assert [code for _, code in ended] == [0] * 4, ended
    kept = tmp_path / f"club.db.schema-{REVISIONS[0]}"
    for file, revision in ((path, HEAD), (kept, REVISIONS[0])):
        with make_engine(str(file), "read").connect() as connection:
            assert schema_of(connection) == revision
            assert connection.execute(sa.text("SELECT name FROM member")).scalar() == "Avery"


def test_a_copy_holds_what_the_write_ahead_log_still_keeps(club: Path, tmp_path: Path) -> None:
    with make_engine(str(club)).connect() as connection:
        with connection.begin():
            insert(connection, "member")
        copy_file(club, tmp_path / "copy.db")
    with make_engine(str(tmp_path / "copy.db"), "read").connect() as copied:
        assert copied.execute(sa.text("SELECT name FROM member")).scalar() == "Avery"


def _simple_break(table: str, rule: str) -> dict[str, Any] | None:
    """Break a rule over one column, which its name tells."""
    rest = rule.removeprefix(f"ck_{table}_")
    for ending, bad in (
        ("_known", "nonsense"),
        ("_not_empty", ""),
        ("_not_negative", -0.5),
        ("_at_least_0", -1),
        ("_at_least_1", 0),
        ("_yes_or_no", 2),
    ):
        if rest.endswith(ending) and rest.removesuffix(ending) in SAMPLES[table]:
            return {rest.removesuffix(ending): bad}
    return None


@pytest.mark.parametrize(("table", "rule"), RULES, ids=[rule for _, rule in RULES])
def test_the_database_refuses_a_row_that_breaks_a_rule(connection: sa.Connection, table: str, rule: str) -> None:
    broken = BROKEN_RULES.get(rule) or _simple_break(table, rule)
    assert broken, f"say in BROKEN_RULES how a row breaks {rule}"
    # PostgreSQL has a type for yes and no, which refuses anything else before the rule is asked.
    typed = rule.endswith("_yes_or_no") and connection.dialect.name == "postgresql"
    insert_before(connection, table)
    with pytest.raises(sa.exc.DBAPIError, match="is of type boolean" if typed else rf"\b{rule}\b"):
        insert(connection, table, **broken)


@pytest.mark.parametrize(
    ("table", "column"),
    [(t.name, c.name) for t in tables.metadata.sorted_tables for c in t.columns if not c.nullable and c.name != "id"],
)
def test_the_database_refuses_a_row_that_lacks_what_it_needs(
    connection: sa.Connection, table: str, column: str
) -> None:
    insert_before(connection, table)
    with pytest.raises(sa.exc.IntegrityError, match=column):
        insert(connection, table, **{column: None})


@pytest.mark.parametrize(
    ("table", "column"),
    [(t.name, c.name) for t in tables.metadata.sorted_tables for c in t.columns if c.foreign_keys],
)
def test_the_database_refuses_a_reference_to_nothing(connection: sa.Connection, table: str, column: str) -> None:
    insert_before(connection, table)
    changed: dict[str, Any] = {column: 99}
    if (table, column) == ("placement", "member_id"):
        changed |= {"place": "captain", "position_id": None}
    if (table, column) == ("failure", "caused_by_id"):
        changed |= {"secondary": True}
    if table == "movement" and column in ("from_member_id", "to_member_id"):
        changed |= {column.replace("member_id", "place"): "captain"}
    if (table, column) == ("movement", "ship_id"):
        changed |= {"to_place": "ship"}
    with pytest.raises(sa.exc.IntegrityError, match=r"(?i)foreign key"):
        insert(connection, table, **changed)


def test_a_row_that_others_refer_to_cannot_be_deleted(connection: sa.Connection) -> None:
    insert_before(connection, "position")
    with pytest.raises(sa.exc.IntegrityError, match=r"(?i)foreign key"):
        connection.execute(sa.text("DELETE FROM member"))


@pytest.mark.parametrize(
    ("table", "column"),
    [("member", "name"), ("ship", "name"), ("family", "name"), ("part", "tag"), ("venue", "name"), ("battle", "name")],
)
def test_names_that_differ_in_case_only_are_the_same(connection: sa.Connection, table: str, column: str) -> None:
    insert_before(connection, table)
    insert(connection, table)
    again = {"id": 2, "uid": "another", column: SAMPLES[table][column].upper()}
    if table == "ship":
        again |= {"club_number": "8"}
    with pytest.raises(sa.exc.IntegrityError, match=rf"uq_{table}_{column}_folded"):
        insert(connection, table, **again)


def test_strict_tables_refuse_words_for_numbers(club: Path) -> None:
    with (
        make_engine(str(club)).connect() as connection,
        pytest.raises(sa.exc.IntegrityError, match="cannot store TEXT"),
    ):
        insert(connection, "venue", depth_m="deep")


def _rows(connection: sa.Connection, names: list[str]) -> dict[str, list[dict[str, Any]]]:
    return {
        name: [dict(row) for row in connection.execute(sa.text(f"SELECT * FROM {name} ORDER BY id")).mappings()]
        for name in names
    }


def _common(rows: list[dict[str, Any]], like: list[dict[str, Any]]) -> list[dict[str, Any]]:
    return [{key: row[key] for key in old} for row, old in zip(rows, like, strict=True)]


def _routines(engine: sa.Engine) -> set[str]:
    """Names of triggers and functions of ours, which no table of the inspector shows."""
    if engine.dialect.name == "sqlite":
        query = "SELECT name FROM sqlite_master WHERE type = 'trigger'"
    else:
        query = "SELECT proname FROM pg_proc WHERE pronamespace = 'public'::regnamespace"
    with engine.connect() as connection:
        return set(connection.execute(sa.text(query)).scalars())
