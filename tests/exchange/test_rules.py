"""The rules of the files refuse what the database would refuse, no more and no less: the database is the judge."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from pathlib import Path
from typing import Any

import pytest
import sqlalchemy as sa
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st

from maintain.exchange.between_rows import overlaps
from maintain.exchange.drafts import Draft, complete
from maintain.exchange.field import Field, Sheet
from maintain.exchange.labels import Row
from maintain.exchange.layout import BY_TABLE, SHEETS
from maintain.exchange.merge import Merged
from maintain.exchange.rules import RULES, broken_rules
from maintain.records.engine import enforce_foreign_keys, make_engine
from maintain.records.tables import metadata

_MANY = settings(
    max_examples=60,
    deadline=None,
    suppress_health_check=list(HealthCheck),
    phases=[Phase.generate, Phase.shrink],
)
_DAYS = st.sampled_from([date(2026, 5, 1), date(2026, 5, 2), date(2026, 5, 3)])
_OF_A_KIND: dict[str, Any] = {
    "text": st.sampled_from(["EUR", "a"]),
    "name": st.sampled_from(["EUR", "a"]),
    "tag": st.sampled_from(["EUR", "a"]),
    "day": _DAYS,
    "integer": st.integers(1, 3),
    "number": st.sampled_from([0.0, 9.5, 10.0, 1440.0, 1441.0]),
    "yes/no": st.booleans(),
    "money": st.integers(0, 3),
    "reference": st.sampled_from([1, 2]),
}


def _values(field: Field) -> st.SearchStrategy[tuple[Any, ...]]:
    """What the cells of a field may hold, a row of itself taken alone."""
    if field.kind == "fuzzy day":
        known = st.tuples(_DAYS, st.sampled_from(["day", "month", "before records"]))
    else:
        of_kind = st.sampled_from(field.words) if field.words else _OF_A_KIND[field.kind]
        known = of_kind.map(lambda value: (value,))
    always = field.needed or (field.default is not None and not field.beside)
    return known if always else known | st.just((None,) * len(field.columns))


@st.composite
def _row(draw: st.DrawFn, sheet: Sheet) -> Row:
    row: Row = {}
    for field in sheet.fields[:-1]:
        row.update(zip(field.columns, draw(_values(field)), strict=True))
    return complete(sheet, {**row, "uid": "0" * 32})


@pytest.fixture(scope="module")
def judge() -> Iterator[sa.Connection]:
    """A database with all constraints and no foreign keys; reference 1 is the row itself."""
    engine = sa.create_engine("sqlite://")
    metadata.create_all(engine)
    with engine.connect() as connection:
        yield connection


def _accepts(connection: sa.Connection, table: sa.Table, *rows: Row) -> bool:
    try:
        with connection.begin_nested():
            for number, row in enumerate(rows, 1):
                connection.execute(table.insert().values(id=number, **row))
            raise _Taken
    except sa.exc.IntegrityError:
        return False
    except _Taken:
        return True


class _Taken(Exception):
    """Leaves the savepoint without keeping what was tried."""


def _said_by_files(sheet: Sheet, row: Row) -> list[str]:
    """Reference 1 is the row itself, so that rules about itself are tried too."""
    own = {field.column: "0" * 32 for field in sheet.references if field.to == sheet.table and row[field.column] == 1}
    return [str(fault) for fault in broken_rules(Draft("file", 2, sheet), {**row, **own})]


@pytest.mark.parametrize("table", sorted(RULES))
@_MANY
@given(data=st.data())
def test_a_row_breaks_a_rule_exactly_if_the_database_refuses_it(
    judge: sa.Connection, table: str, data: st.DataObject
) -> None:
    sheet = BY_TABLE[table]
    row = data.draw(_row(sheet))
    assert (_said_by_files(sheet, row) == []) == _accepts(judge, metadata.tables[table], row)


@pytest.mark.parametrize("sheet", [sheet for sheet in SHEETS if sheet.table not in RULES], ids=lambda sheet: sheet.file)
@_MANY
@given(data=st.data())
def test_a_table_without_rules_takes_every_row_that_can_be_read(
    judge: sa.Connection, sheet: Sheet, data: st.DataObject
) -> None:
    assert _accepts(judge, metadata.tables[sheet.table], data.draw(_row(sheet)))


@pytest.fixture(scope="module")
def guarded(template: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[sa.Connection]:
    """A migrated database, whose triggers keep one part in one place; foreign keys are off."""
    path = tmp_path_factory.mktemp("guarded") / "club.db"
    path.write_bytes(template.read_bytes())
    with make_engine(str(path)).connect() as connection:
        enforce_foreign_keys(connection, on=False)
        yield connection


_MOMENTS = st.tuples(_DAYS, st.integers(0, 1))


@st.composite
def _placement(draw: st.DrawFn) -> Row:
    start, end = sorted([draw(_MOMENTS), draw(_MOMENTS)])
    open_ended = draw(st.booleans())
    position = draw(st.sampled_from([None, 1, 2]))
    return {
        "uid": draw(st.uuids()).hex,
        "part_id": draw(st.sampled_from([1, 2])),
        "place": "installed" if position else "pool",
        "position_id": position,
        "from_on": start[0],
        "from_sortie": start[1],
        "from_precision": "day",
        "until_on": None if open_ended else end[0],
        "until_sortie": None if open_ended else end[1],
        "until_precision": None if open_ended else "day",
    }


@_MANY
@given(rows=st.lists(_placement(), min_size=2, max_size=4, unique_by=lambda row: row["uid"]))
def test_placements_overlap_exactly_if_the_triggers_refuse_them(guarded: sa.Connection, rows: list[Row]) -> None:
    sheet = BY_TABLE["placement"]
    drafts = {row["uid"]: Draft("file", number, sheet) for number, row in enumerate(rows, 2)}
    found = list(overlaps(Merged(sheet, {row["uid"]: row for row in rows}, drafts)))
    assert (found == []) == _accepts(guarded, metadata.tables["placement"], *rows)
