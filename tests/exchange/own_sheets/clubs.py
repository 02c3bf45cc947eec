"""Records to hold sheets against, and how a sheet is read with them."""

from __future__ import annotations

from datetime import date
from pathlib import Path

from maintain.exchange.labels import Records
from maintain.exchange.layout import SHEETS
from maintain.exchange.own_sheets.agreed import Told
from maintain.exchange.own_sheets.club import Club
from maintain.exchange.own_sheets.grid import read_grid
from maintain.exchange.own_sheets.shape import find_header
from maintain.exchange.own_sheets.understanding import Understood, understand

TODAY = date(2026, 6, 1)
SHIPS = ("Halberd", "Gannet", "Old Grenville")


def club(ships: tuple[str, ...] = SHIPS) -> Club:
    """A club of ships alone."""
    records: Records = {sheet.table: [] for sheet in SHEETS}
    facts = {"captain_id": None, "records_from": None}
    records["ship"] = [{"uid": f"{number:032x}", "name": name, **facts} for number, name in enumerate(ships)]
    return Club(records, TODAY, {})


def read(path: Path, told: Told | None = None, sheet: str | None = None) -> Understood:
    """A sheet as it is read with the records of `club`."""
    grid = read_grid(path, sheet)
    return understand(grid, find_header(grid), club(), told or Told())
