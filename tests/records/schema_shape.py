"""A database's schema as plain values, to hold two of them against each other."""

from __future__ import annotations

import warnings
from typing import Any

import sqlalchemy as sa

Shape = dict[str, dict[str, Any]]


def shape(engine: sa.Engine) -> Shape:
    """Tables with their columns, keys, rules and indexes, as the database itself tells them."""
    found = sa.inspect(engine)
    indexes = _indexes(engine)
    names = sorted(set(found.get_table_names()) - {"alembic_version"})
    with (
        warnings.catch_warnings()
    ):  # that the inspector leaves out SQLite's indexes on expressions; `_indexes` does not
        warnings.simplefilter("ignore", sa.exc.SAWarning)
        return {name: {**_table(found, name), "indexes": indexes.get(name)} for name in names}


def _table(found: sa.Inspector, name: str) -> dict[str, Any]:
    return {
        "columns": [
            (each["name"], str(each["type"]), each["nullable"], each.get("default")) for each in found.get_columns(name)
        ],
        "primary key": found.get_pk_constraint(name),
        "foreign keys": _by_name(found.get_foreign_keys(name)),
        "unique": _by_name(found.get_unique_constraints(name)),
        "rules": {each["name"]: each["sqltext"] for each in found.get_check_constraints(name)},
    }


def _by_name(found: Any) -> dict[str, Any]:
    return {each["name"]: each for each in found}


def _indexes(engine: sa.Engine) -> dict[str, set[str]]:
    """Definitions of the indexes of each table."""
    if engine.dialect.name == "sqlite":
        query = "SELECT tbl_name, sql FROM sqlite_master WHERE type = 'index' AND sql IS NOT NULL"
    else:
        query = "SELECT tablename, indexdef FROM pg_indexes WHERE schemaname = 'public'"
    indexes: dict[str, set[str]] = {}
    with engine.connect() as connection:
        for table, definition in connection.execute(sa.text(query)):
            indexes.setdefault(table, set()).add(definition)
    return indexes
