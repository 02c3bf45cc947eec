"""Which files there are: one per table of the records, in an order in which they can be filled."""

from __future__ import annotations

from maintain.exchange import sheets_checks as checks
from maintain.exchange import sheets_fleet as fleet
from maintain.exchange import sheets_salvage as salvage
from maintain.exchange import sheets_stock as stock
from maintain.exchange import sheets_water as water

SHEETS = (
    fleet.CLUB,
    fleet.MEMBERS,
    fleet.SHIPS,
    fleet.FAMILIES,
    fleet.POSITIONS,
    fleet.FITS,
    fleet.PARTS,
    fleet.PLACEMENTS,
    fleet.METHODS,
    fleet.TREATMENTS,
    water.VENUES,
    water.BATTLES,
    water.SORTIES,
    water.OPENINGS,
    water.FAILURES,
    water.SUSPICIONS,
    water.RETESTS,
    stock.LOANS,
    stock.MOVEMENTS,
    stock.DEBTS,
    stock.PURCHASES,
    stock.STOCKTAKES,
    stock.DISCREPANCIES,
    stock.SHELF_LIMITS,
    stock.READINGS,
    stock.READING_LIMITS,
    stock.TASKS,
    stock.TASK_INTERVALS,
    stock.TASK_COMPLETIONS,
    stock.CERTIFICATES,
    checks.CHECKS,
    checks.CHECK_STEPS,
    checks.CHECK_ANSWERS,
    checks.ROLL_CALLS,
    checks.ROLL_CALL_ANSWERS,
    salvage.SALVAGES,
    salvage.SALVAGE_STEPS,
    salvage.SALVAGE_ANSWERS,
)
BY_TABLE = {sheet.table: sheet for sheet in SHEETS}
BY_FILE = {sheet.file: sheet for sheet in SHEETS}
