"""The files and the tables hold the same columns; neither can gain one without the other."""

from __future__ import annotations

import re

import pytest
import sqlalchemy as sa

from maintain.exchange.field import Field, Sheet
from maintain.exchange.layout import SHEETS
from maintain.records.tables import RECORDS

PAIRS = list(zip(SHEETS, RECORDS, strict=True))
FIELDS = [
    pytest.param(sheet, field, table, id=f"{sheet.file}:{field.heading}")
    for sheet, table in PAIRS
    for field in sheet.fields
]


@pytest.mark.parametrize(("sheet", "table"), PAIRS, ids=[sheet.file for sheet in SHEETS])
def test_a_file_holds_every_column_of_its_table_once_and_no_database_id(sheet: Sheet, table: sa.Table) -> None:
    assert sheet.table == table.name
    held = [column for field in sheet.fields for column in field.columns]
    assert sorted(held) == sorted(set(table.c.keys()) - {"id"})
    headings = [field.heading.lower() for field in sheet.fields]
    assert len(set(headings)) == len(headings)
    assert sheet.fields[-1].heading == "Uid"
    assert set(sheet.identity) <= set(held)
    assert set(re.findall(r"{(\w+)}", sheet.label)) <= set(held)


@pytest.mark.parametrize(("sheet", "field", "table"), FIELDS)
def test_an_empty_cell_is_refused_or_stands_for_something_exactly_where_the_table_allows_no_null(
    sheet: Sheet, field: Field, table: sa.Table
) -> None:
    given_with = next((each for each in sheet.fields if each.heading == field.beside), None)
    always = field.needed or (field.default is not None and (given_with is None or given_with.needed))
    if field.column != "uid":  # made when it is not given
        assert {table.c[column].nullable for column in field.columns} == {not always}


@pytest.mark.parametrize(("sheet", "field", "table"), [p for p in FIELDS if p.values[1].kind == "reference"])
def test_a_reference_points_where_the_foreign_key_points(sheet: Sheet, field: Field, table: sa.Table) -> None:
    (key,) = table.c[field.column].foreign_keys
    assert key.column.table.name == field.to
    assert next(each for each in SHEETS if each.table == field.to).label


@pytest.mark.parametrize(("sheet", "field", "table"), [p for p in FIELDS if p.values[1].kind in ("word", "integer")])
def test_a_field_allows_what_the_constraint_allows(sheet: Sheet, field: Field, table: sa.Table) -> None:
    rules = {str(c.name): str(c.sqltext) for c in table.constraints if isinstance(c, sa.CheckConstraint)}
    prefix = f"ck_{table.name}_{field.column}_"
    if field.kind == "word":
        listed = re.findall(r"'((?:[^']|'')*)'", rules[f"{prefix}known"])
        assert tuple(word.replace("''", "'") for word in listed) == field.words
    else:
        assert f"{prefix}at_least_{field.least}" in rules


def test_files_come_in_an_order_in_which_each_refers_only_to_earlier_ones_or_itself() -> None:
    seen: set[str] = set()
    for sheet in SHEETS:
        seen.add(sheet.table)
        assert {field.to for field in sheet.references} <= seen
