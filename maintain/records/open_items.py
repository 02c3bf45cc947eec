"""What is still open on a day: loans, debts in kind, orders, and what was issued uncounted."""

from __future__ import annotations

from datetime import date
from typing import Any

import sqlalchemy as sa

from maintain.records import tables as t

Row = sa.Row[Any]


def _open(since: sa.Column[Any], until: sa.Column[Any], day: date) -> sa.ColumnElement[bool]:
    return sa.and_(since <= day, sa.or_(until.is_(None), until > day))


def loans(connection: sa.Connection, day: date) -> list[Row]:
    """
    Loans open at the end of a day, the oldest first.

    Returns
    -------
    list of row
        The columns of `loan`, and `family`, `tag`, `lender`, `borrower`, `ship`: names, None is the pool.
    """
    lender, borrower = t.member.alias("lender"), t.member.alias("borrower")
    query = (
        sa.select(
            t.loan,
            t.family.c.name.label("family"),
            t.part.c.tag,
            lender.c.name.label("lender"),
            borrower.c.name.label("borrower"),
            t.ship.c.name.label("ship"),
        )
        .join(t.family, t.family.c.id == t.loan.c.family_id)
        .outerjoin(t.part, t.part.c.id == t.loan.c.part_id)
        .outerjoin(lender, lender.c.id == t.loan.c.lender_id)
        .outerjoin(borrower, borrower.c.id == t.loan.c.borrower_id)
        .outerjoin(t.ship, t.ship.c.id == t.loan.c.ship_id)
        .where(_open(t.loan.c.lent_on, t.loan.c.closed_on, day))
        .order_by(t.loan.c.lent_on, t.loan.c.id)
    )
    return list(connection.execute(query))


def debts(connection: sa.Connection, day: date) -> list[Row]:
    """
    Debts in kind open at the end of a day, the oldest first.

    Returns
    -------
    list of row
        The columns of `debt`, and `family`, `debtor`, `creditor`: names, None is the pool; of the loan `ship`, `tag`.
    """
    debtor, creditor = t.member.alias("debtor"), t.member.alias("creditor")
    query = (
        sa.select(
            t.debt,
            t.family.c.name.label("family"),
            debtor.c.name.label("debtor"),
            creditor.c.name.label("creditor"),
            t.ship.c.name.label("ship"),
            t.part.c.tag,
        )
        .join(t.family, t.family.c.id == t.debt.c.family_id)
        .outerjoin(debtor, debtor.c.id == t.debt.c.debtor_id)
        .outerjoin(creditor, creditor.c.id == t.debt.c.creditor_id)
        .outerjoin(t.loan, t.loan.c.id == t.debt.c.loan_id)
        .outerjoin(t.ship, t.ship.c.id == t.loan.c.ship_id)
        .outerjoin(t.part, t.part.c.id == t.loan.c.part_id)
        .where(_open(t.debt.c.since_on, t.debt.c.settled_on, day))
        .order_by(t.debt.c.since_on, t.debt.c.id)
    )
    return list(connection.execute(query))


def orders(connection: sa.Connection, day: date) -> list[Row]:
    """Orders not delivered at the end of a day, the oldest first: the columns of `purchase`, and `family`."""
    query = (
        sa.select(t.purchase, t.family.c.name.label("family"))
        .join(t.family, t.family.c.id == t.purchase.c.family_id)
        .where(_open(t.purchase.c.ordered_on, t.purchase.c.received_on, day))
        .order_by(t.purchase.c.ordered_on, t.purchase.c.id)
    )
    return list(connection.execute(query))


def discrepancies(connection: sa.Connection, day: date) -> list[Row]:
    """What was issued uncounted and not counted by the end of a day: columns of `discrepancy`, `family` and `tag`."""
    query = (
        sa.select(t.discrepancy, t.family.c.name.label("family"), t.part.c.tag)
        .join(t.family, t.family.c.id == t.discrepancy.c.family_id)
        .outerjoin(t.part, t.part.c.id == t.discrepancy.c.part_id)
        .outerjoin(t.stocktake, t.stocktake.c.id == t.discrepancy.c.stocktake_id)
        .where(_open(t.discrepancy.c.found_on, t.stocktake.c.counted_on, day))
        .order_by(t.discrepancy.c.found_on, t.discrepancy.c.id)
    )
    return list(connection.execute(query))


def last_counts(connection: sa.Connection, day: date) -> dict[int, date]:
    """When each family was last counted, by its id."""
    query = (
        sa.select(t.stocktake.c.family_id, sa.func.max(t.stocktake.c.counted_on).label("on"))
        .where(t.stocktake.c.counted_on <= day)
        .group_by(t.stocktake.c.family_id)
    )
    return {row.family_id: row.on for row in connection.execute(query)}
