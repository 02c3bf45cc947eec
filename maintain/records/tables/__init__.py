"""All tables of the domain, in an order in which they can be filled."""

from __future__ import annotations

from maintain.records.tables.answers import fitted
from maintain.records.tables.base import metadata
from maintain.records.tables.checks import check_answer, check_step, prebattle_check, roll_call, roll_call_answer
from maintain.records.tables.failures import failure, retest, suspicion
from maintain.records.tables.fleet import club, family, member, position, position_family, ship
from maintain.records.tables.history import change, change_row
from maintain.records.tables.own_sheets import own_sheet
from maintain.records.tables.parts import method, part, placement, treatment
from maintain.records.tables.salvage import salvage, salvage_answer, salvage_step
from maintain.records.tables.stock import debt, discrepancy, loan, movement, purchase, shelf_limit, stocktake
from maintain.records.tables.upkeep import certificate, reading, reading_limit, task, task_completion, task_interval
from maintain.records.tables.water import battle, opening, sortie, venue

RECORDS = (
    club,
    member,
    ship,
    family,
    position,
    position_family,
    part,
    placement,
    method,
    treatment,
    venue,
    battle,
    sortie,
    opening,
    failure,
    suspicion,
    retest,
    loan,
    movement,
    debt,
    purchase,
    stocktake,
    discrepancy,
    shelf_limit,
    reading,
    reading_limit,
    task,
    task_interval,
    task_completion,
    certificate,
    prebattle_check,
    check_step,
    check_answer,
    roll_call,
    roll_call_answer,
    salvage,
    salvage_step,
    salvage_answer,
)

__all__ = [
    "RECORDS", "battle", "certificate", "change", "change_row", "check_answer", "check_step", "club", "debt",
    "discrepancy", "failure", "family", "fitted", "loan", "member", "metadata", "method", "movement", "opening",
    "own_sheet", "part", "placement", "position", "position_family", "prebattle_check", "purchase", "reading",
    "reading_limit", "retest", "roll_call", "roll_call_answer", "salvage", "salvage_answer", "salvage_step",
    "shelf_limit", "ship", "sortie", "stocktake", "suspicion", "task", "task_completion", "task_interval",
    "treatment", "venue",
]  # fmt: skip
