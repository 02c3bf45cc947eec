"""Loans, debts and orders are closed whole or in part."""

from __future__ import annotations

from typing import Any

import sqlalchemy as sa

from maintain.records.journal import Recorder

Row = sa.Row[Any]


def close(recorder: Recorder, table: sa.Table, row: Row, taken: int, **closing: Any) -> None:
    """
    Close `taken` pieces of an open row; what is left of it stays open.

    Parameters
    ----------
    recorder : Recorder
    table : sqlalchemy.Table
        One with a quantity: loan, debt, purchase.
    row : row
        As read, with all columns of the table.
    taken : int
        From 1 to the row's quantity.
    **closing
        The columns that close it.
    """
    if taken == row.quantity:
        recorder.update(table, row.id, **closing)
        return
    same = {each.name: getattr(row, each.name) for each in table.c if each.name not in ("id", "uid", "quantity")}
    recorder.update(table, row.id, quantity=row.quantity - taken)
    recorder.insert(table, **{**same, "quantity": taken, **closing})
