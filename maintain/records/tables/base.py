"""What every table shares: names for all constraints, strict types, an id for joins and a uid that survives merging."""

from __future__ import annotations

from collections.abc import Iterable

import sqlalchemy as sa
from sqlalchemy.schema import SchemaItem

import maintain.records.types  # noqa: F401  (spells the types of strict tables)

metadata = sa.MetaData(
    naming_convention={
        "ix": "ix_%(table_name)s_%(column_0_N_name)s",
        "uq": "uq_%(table_name)s_%(column_0_N_name)s",
        "ck": "ck_%(table_name)s_%(constraint_name)s",
        "fk": "fk_%(table_name)s_%(column_0_name)s_%(referred_table_name)s",
        "pk": "pk_%(table_name)s",
    }
)


# A column and the rules it brings; rules stand on the table, so that migrations show and keep them by name.
Item = SchemaItem | tuple[SchemaItem, ...]


def table(name: str, *items: Item) -> sa.Table:
    """Define a table with its `id` and `uid`."""
    flat = [each for item in items for each in (item if isinstance(item, tuple) else (item,))]
    return sa.Table(
        name,
        metadata,
        sa.Column("id", sa.Integer, primary_key=True),
        sa.Column("uid", sa.String, nullable=False, unique=True),
        *flat,
        sqlite_strict=True,
    )


def text(name: str, *, null: bool = False) -> Item:
    """A text column; empty text is refused: unknown is NULL."""
    return sa.Column(name, sa.String, nullable=null), check(f"{name}_not_empty", f"{name} <> ''")


def word(name: str, words: Iterable[str], *, null: bool = False) -> Item:
    """A text column that holds one of `words`."""
    listed = ", ".join("'" + each.replace("'", "''") + "'" for each in words)
    return sa.Column(name, sa.String, nullable=null), check(f"{name}_known", f"{name} IN ({listed})")


def day(name: str, *, null: bool = False) -> Item:
    """An ISO day."""
    return sa.Column(name, sa.Date, nullable=null)


def number(name: str, *, null: bool = False, least: int = 0) -> Item:
    """A whole number of at least `least`."""
    return sa.Column(name, sa.Integer, nullable=null), check(f"{name}_at_least_{least}", f"{name} >= {least}")


def amount(name: str, *, null: bool = False) -> Item:
    """A measured quantity, not negative."""
    return sa.Column(name, sa.Double, nullable=null), check(f"{name}_not_negative", f"{name} >= 0")


def flag(name: str) -> Item:
    """Yes or no."""
    return sa.Column(name, sa.Boolean, nullable=False), check(f"{name}_yes_or_no", f"{name} IN (true, false)")


def ref(name: str, target: str, *, null: bool = False) -> Item:
    """A reference to the row of another table; that row can't be deleted while this one stands."""
    return sa.Column(name, sa.ForeignKey(f"{target}.id", ondelete="RESTRICT"), nullable=null, index=True)


def check(name: str, rule: str) -> sa.CheckConstraint:
    """A named rule over several columns."""
    return sa.CheckConstraint(rule, name=name)


def unique_folded(table_: sa.Table, column: str) -> sa.Index:
    """Names that differ only in case are the same name."""
    return sa.Index(f"uq_{table_.name}_{column}_folded", sa.func.lower(table_.c[column]), unique=True)
